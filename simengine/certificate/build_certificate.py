"""From what a person attended to the certificate's blocks: one pure function.

Rules of this file:

- It says what was attended, when, where and for how long, and who issues it. No score, outcome or
  verdict is given to it, so that none can stand on it.
- Where no name is kept, or nobody is set who issues, there is a line to write it on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from simengine.certificate.certificate_sentences import say
from simengine.quantities.formatting import count
from simengine.quantities.formatting import day as day_words
from simengine.report.blocks import (
    Block,
    Fact,
    Facts,
    Group,
    Report,
    Signature,
    Table,
    map_text,
)
from simengine.report.printable import clean


@dataclass(frozen=True, slots=True)
class Attended:
    """A training that a person attended: when, what, for how many seconds, and where."""

    day: date
    what: str
    length_s: float
    place: str


@dataclass(frozen=True, slots=True)
class Certificate:
    """What a certificate is made of. ``issued``: the day; ``issuer``: empty where none is set."""

    code: str
    name: str
    about: str
    issued: date
    issuer: str
    attended: tuple[Attended, ...]


def certificate_report(certificate: Certificate) -> Report:
    """Return the certificate as blocks. There is at least one training."""
    attended = sorted(certificate.attended, key=lambda session: (session.day, session.what))
    facts = [
        Fact(say("name"), certificate.name),
        Fact(say("code"), certificate.code),
        Fact(say("about"), certificate.about),
        Fact(say("period"), _period(attended)),
        Fact(
            say("altogether"),
            say(
                "altogether_words",
                trainings=count(len(attended), "training"),
                length=length_words(sum(session.length_s for session in attended)),
            ),
        ),
        Fact(say("issuer"), certificate.issuer),
        Fact(say("issued"), day_words(certificate.issued)),
    ]
    table = Table(
        say("attended_title"),
        (say("column_day"), say("column_what"), say("column_length"), say("column_where")),
        tuple(
            (
                day_words(session.day),
                session.what,
                length_words(session.length_s),
                session.place or say("nowhere"),
            )
            for session in attended
        ),
        note=say("lengths_note"),
    )
    lines: list[Block] = [] if certificate.name else [Signature(say("sign_person"))]
    if not certificate.issuer:
        lines.append(Signature(say("sign_issuer")))
    lines.append(Signature(say("sign_day")))
    report = Report(
        lang="en-GB",
        day=(certificate.issued.year, certificate.issued.month, certificate.issued.day),
        banner=say("banner"),
        title=say("title"),
        subtitle=say("subtitle"),
        caution=say("caution"),
        notices=(),
        blocks=(
            Group((Facts(tuple(fact for fact in facts if fact.text)),), "card"),
            table,
            *lines,
        ),
    )
    return map_text(report, clean)


def length_words(seconds: float) -> str:
    """Tell how long a training was, to the minute: ``1 min``, ``45 min``, ``1 h 30 min``."""
    minutes = max(1, round(seconds / 60))
    hours, rest = divmod(minutes, 60)
    parts = [f"{hours} h"] if hours else []
    if rest or not hours:
        parts.append(f"{rest} min")
    return " ".join(parts)


def _period(attended: Sequence[Attended]) -> str:
    first, last = attended[0].day, attended[-1].day
    if first == last:
        return day_words(first)
    return say("period_words", first=day_words(first), last=day_words(last))
