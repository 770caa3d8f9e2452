"""What a practice check found: from the fields of its form to plain values. Pure.

Rules of this file:

- A row is as it should be, not as it should be, not there, or not looked at. A fault that is ticked
  and a reading that is outside say that it is not as it should be, whatever else was touched. Where
  nothing was, a few words about what is wrong say so too, and a reading says that it was looked at.
- That nothing wrong was found is told only of what was looked at.
- Nothing here is scored, and nobody is named.
- A figure that can't be read is a problem to be told, and nothing is kept until it is put right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from simengine.practice_check.practice_sentences import say
from simengine.quantities import format_quantity
from simengine.scenario.cot_check import CheckRow, CotCheck, Dial
from simengine.scenario.equipment import KnownFault
from simengine.scenario.wanted import OneOf, Steps
from simengine.scenario.words import range_words
from simengine.session.reading import Unreadable, in_units_of, reading_of

Standing = Literal["right", "wrong", "away", ""]
WORDS: Mapping[Standing, str] = {
    "right": say("as_it_should"),
    "wrong": say("not_as_it_should"),
    "away": say("not_there"),
    "": say("not_seen"),
}
_MOST_WORDS = 200


@dataclass(frozen=True, slots=True)
class ReadFigure:
    """What was read on a dial, in words and with its own unit. ``off``: it is outside."""

    dial: str
    words: str
    should: str
    off: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """One row as it was found. ``faults``: what was ticked; ``note``: what was typed."""

    row: str
    label: str
    place: str
    should_be: str
    kind: str
    standing: Standing
    faults: tuple[str, ...] = ()
    readings: tuple[ReadFigure, ...] = ()
    note: str = ""

    @property
    def found(self) -> str:
        """What is not as it should be, in a line; empty where nothing is."""
        if self.standing not in ("wrong", "away"):
            return ""
        parts = [
            *self.faults,
            *(_off(reading) for reading in self.readings if reading.off),
            self.note,
        ]
        what = "; ".join(part for part in parts if part)
        plain = say("missing") if self.standing == "away" else say("not_right")
        return say("threat_words", row=self.label, what=what or plain)


def _off(reading: ReadFigure) -> str:
    return say("threat_read", dial=reading.dial, reading=reading.words, should=reading.should)


def none_found(told: Sequence[Answer]) -> str:
    """Tell that nothing wrong was found, and of how much of the cot that is known."""
    seen = sum(answer.standing != "" for answer in told)
    if seen == 0:
        return say("nothing_seen")
    key = "found_none" if seen == len(told) else "found_none_in_part"
    return say(key, seen=seen, all=len(told))


def list_words(unit: str) -> str:
    """Tell on whose list of threats stands what was found; ``unit``: empty where it has none."""
    return say("threats_kept", unit=unit) if unit else say("threats_kept_no_unit")


def shown(fault: KnownFault) -> str:
    """Tell what is wrong, without the figure that a scenario would plant, which follows a comma."""
    return fault.shows.split(",")[0] if "{figure}" in fault.shows else fault.shows


def should_words(dial: Dial) -> str:
    """Tell what a dial should show: ``30 to 40 cmH2O``; empty where nothing is said."""
    wanted = dial.wanted
    if wanted is None or isinstance(wanted, Steps):
        return ""
    return range_words(wanted, dial.setting.unit)


def answers(check: CotCheck, form: Mapping[str, str], problems: list[str]) -> tuple[Answer, ...]:
    """Return each row as the form has it; what can't be read goes to ``problems``."""
    return tuple(_answer(row, form, problems) for row in check.rows)


def _answer(one: CheckRow, form: Mapping[str, str], problems: list[str]) -> Answer:
    row = one.row
    readings = []
    for dial in one.dials:
        reading = _reading(one, dial, form, problems)
        if reading is not None:
            readings.append(reading)
    faults = tuple(
        shown(fault) for name, fault in row.faults.items() if form.get(f"fault.{row.name}.{name}")
    )
    chosen = form.get(f"row.{row.name}", "")
    standing: Standing = chosen if chosen in ("right", "wrong", "away") else ""  # type: ignore[assignment]
    if standing != "away" and (faults or any(reading.off for reading in readings)):
        standing = "wrong"
    note = " ".join(form.get(f"note.{row.name}", "").split())[:_MOST_WORDS]
    if standing == "" and (note or readings):
        standing = "wrong" if note else "right"
    return Answer(
        row.name,
        row.label,
        row.place,
        row.should_be,
        row.kind,
        standing,
        faults,
        tuple(readings),
        note,
    )


def _reading(
    row: CheckRow, dial: Dial, form: Mapping[str, str], problems: list[str]
) -> ReadFigure | None:
    setting, name = dial.setting, f"{row.row.name}.{dial.setting.name}"
    typed = form.get(f"read.{name}", "").strip().replace(",", ".")
    if not typed:
        return None
    unit = form.get(f"unit.{name}", "") or setting.unit
    raw: dict[str, object] = {"value": typed}
    if setting.unit is not None:
        try:
            raw = {"value": float(typed), "unit": unit}
        except ValueError:
            raw = {"value": typed, "unit": unit}
    value = in_units_of(setting, reading_of(raw))
    if isinstance(value, Unreadable):
        problems.append(say("unreadable", row=row.row.label, words=value.words))
        return None
    number = raw["value"]
    words = typed if setting.unit is None else format_quantity(float(number), str(unit))  # type: ignore[arg-type]
    return ReadFigure(setting.label, words, should_words(dial), _is_off(dial, value))


def _is_off(dial: Dial, value: float | str) -> bool:
    wanted = dial.wanted
    if wanted is None or isinstance(wanted, Steps):
        return False
    if isinstance(wanted, OneOf):
        return value not in wanted.words
    return isinstance(value, str) or not wanted.contains(value)
