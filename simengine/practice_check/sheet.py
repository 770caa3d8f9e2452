"""The sheet of a practice check: from what was found to blocks. Pure.

Rules of this file:

- It is headed as what it is, a practice check, and says of no cot that it may be used.
- Who checked it and who was told is written by hand: no name is kept.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from simengine.practice_check.answers import (
    WORDS,
    Answer,
    ReadFigure,
    list_words,
    none_found,
)
from simengine.practice_check.practice_sentences import say
from simengine.quantities.formatting import capitalised, minute
from simengine.report.blocks import (
    Bullets,
    Fact,
    Facts,
    Group,
    Paragraph,
    Report,
    Section,
    Signature,
    Table,
    map_text,
)
from simengine.report.printable import clean


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that stands on a sheet. ``notices``: of the protocol; ``when``: ISO 8601."""

    unit: str
    cot: str
    when: str
    infant: str
    protocol: str
    source: str
    caution: str
    notices: tuple[str, ...]
    answers: tuple[Answer, ...]

    def as_values(self) -> dict[str, Any]:
        """Return it as JSON values, for a process of its own to draw."""
        return asdict(self)


def sheet_of(values: dict[str, Any]) -> Sheet:
    """Return the sheet that ``as_values`` tells."""
    answers = tuple(
        Answer(
            **{
                **answer,
                "faults": tuple(answer["faults"]),
                "readings": tuple(ReadFigure(**each) for each in answer["readings"]),
            }
        )
        for answer in values["answers"]
    )
    return Sheet(**{**values, "notices": tuple(values["notices"]), "answers": answers})


def sheet_report(sheet: Sheet) -> Report:
    """Return the sheet as blocks."""
    when = datetime.fromisoformat(sheet.when)
    faults_found = [answer.found for answer in sheet.answers if answer.found]
    seen = sum(answer.standing != "" for answer in sheet.answers)
    facts = (
        Fact(say("fact_unit"), sheet.unit),
        Fact(say("fact_where"), sheet.cot),
        Fact(say("fact_day"), minute(when)),
        Fact(say("fact_for"), sheet.infant),
        Fact(say("fact_protocol"), sheet.protocol),
        Fact(say("fact_seen"), say("fact_seen_words", seen=seen, all=len(sheet.answers))),
        Fact(say("fact_wrong"), str(len(faults_found))),
    )
    rows = tuple(
        (
            answer.label,
            answer.should_be,
            capitalised(WORDS[answer.standing]),
            "; ".join(_read(reading) for reading in answer.readings) or "–",
        )
        for answer in sheet.answers
    )
    report = Report(
        lang="en-GB",
        day=(when.year, when.month, when.day),
        banner=say("banner"),
        title=say("title"),
        subtitle=say("subtitle", protocol=sheet.protocol),
        caution=" ".join(
            (
                sheet.caution,
                say(
                    "caution_more",
                    protocol=sheet.protocol,
                    infant=sheet.infant,
                    source=sheet.source,
                ),
            )
        ),
        notices=sheet.notices,
        blocks=(
            Group((Facts(tuple(fact for fact in facts if fact.text)),), "card"),
            Section(
                say("found_title"),
                (
                    (Bullets(tuple(faults_found)), Paragraph(list_words(sheet.unit), "soft"))
                    if faults_found
                    else (Paragraph(none_found(sheet.answers)),)
                ),
            ),
            Table(
                say("rows_title"),
                (
                    say("column_row"),
                    say("column_should"),
                    say("column_seen"),
                    say("column_read"),
                ),
                rows,
            ),
            Signature(say("sign_checked")),
            Signature(say("sign_told")),
        ),
        dense=True,
    )
    return map_text(report, clean)


def _read(figure: ReadFigure) -> str:
    reading = say("read_of", dial=figure.dial, reading=figure.words)
    return say("read_off", reading=reading, should=figure.should) if figure.off else reading
