"""Times, values and ranges as the sentences of the score card tell them.

Rules of this file:

- Times are m:ss on the team's clock, the seconds that have been completed; before time zero
  "0:20 before birth"; without a clock, from the start of the session. Where that would make two
  different times look the same, tenths (or ms) are told.
- A value is told with its unit, as it was read; a range as the marking guide wrote it.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from simengine.quantities import Range, format_quantity
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import OneOf, Value
from simengine.scenario.words import wanted_words
from simengine.scoring.card import Compared
from simengine.scoring.parts import PartCredit
from simengine.scoring.resample import Resample
from simengine.session.record import Performance, Reading

_DOSE_LABELS = {"amount": "Dose", "route": "Route", "strength": "Strength", "flush": "Flush"}


def span_words(ms: int, digits: int = 0) -> str:
    """Tell a span of time as m:ss, with ``digits`` after the point, cut off and not rounded."""
    minutes, rest = divmod(abs(ms), 60_000)
    seconds, left = divmod(rest, 1000)
    tail = f".{left:03d}"[: digits + 1] if digits else ""
    return f"{minutes}:{seconds:02d}{tail}"


def clock_words(instant: int, zero: int | None, event: str, *, unlike: int | None = None) -> str:
    """Tell an instant (ms) on the team's clock; ``unlike``: another that it must not read like."""
    since = instant - (zero or 0)
    digits = 0
    if unlike is not None and unlike != instant and abs(unlike - instant) < 1000:
        other = unlike - (zero or 0)
        while digits < 3 and span_words(since, digits) == span_words(other, digits):
            digits += 1
    said = span_words(since, digits)
    if since < 0:
        return f"{said} before {event or 'the start'}"
    return said


def range_words(wanted: Range | OneOf, unit: str | None) -> str:
    """Tell what is asked: as written, a bare value with the tolerance on either side of it."""
    if isinstance(wanted, OneOf):
        return " or ".join(word.replace("_", " ") for word in wanted.words)
    if not wanted.text:
        return wanted_words(wanted, unit)
    half = round((wanted.high - wanted.low) / 2, 9)
    if 0.0 < half < inf and wanted.bare:
        return f"{wanted.text} (give or take {format_quantity(half, unit or '')})"
    return wanted.text


def value_words(value: Value | None, unit: str | None) -> str:
    """Tell a value in the vocabulary's unit, or a word."""
    if value is None:
        return "not recorded"
    if isinstance(value, str):
        return value.replace("_", " ")
    return format_quantity(value, unit or "")


def reading_words(reading: Reading) -> str:
    """Tell a value with the unit that it was read in."""
    if isinstance(reading.value, str):
        return reading.value.replace("_", " ")
    return format_quantity(reading.value, reading.unit or "")


def compared(
    resample: Resample,
    parts: tuple[PartCredit, ...],
    at: int,
    settle: int,
    performance: Performance | None,
) -> tuple[Compared, ...]:
    """Tell each setting (or part of a dose) as read beside what was asked."""
    vocabulary = resample.plan.session.scenario.vocabulary
    return tuple(_one(resample, vocabulary, part, at, settle, performance) for part in parts)


def _one(
    resample: Resample,
    vocabulary: Vocabulary,
    part: PartCredit,
    at: int,
    settle: int,
    performance: Performance | None,
) -> Compared:
    recorded = part.value is not None
    setting = vocabulary.settings.get(part.name)
    if part.name in _DOSE_LABELS and (setting is None or performance is not None):
        label, unit = _DOSE_LABELS[part.name], _dose_unit(vocabulary, part.name, performance)
        read = value_words(part.value, unit)
        given: Mapping[str, Reading] = performance.dose if performance is not None else {}
        if recorded and part.name == "amount":
            volume = given.get("amount") or given.get("volume")
            if volume is not None and volume.unit != unit:
                read = f"{reading_words(volume)}, which is {read}"
        elif recorded and part.name in given and part.name != "route":
            read = reading_words(given[part.name])
        elif recorded and part.name == "route":
            read = _route_label(vocabulary, str(part.value), performance)
    else:
        assert setting is not None
        label, unit = setting.label, setting.unit
        read = value_words(part.value, unit)
        step = resample.step_at(part.name, at) or resample.first_step_after(part.name, at, settle)
        if step is not None and step.change.as_read is not None:
            as_read = step.change.as_read
            if as_read.unit is not None and as_read.unit != unit:
                read = reading_words(as_read)
    return Compared(
        name=part.name,
        label=label,
        read=read,
        asked=_asked(vocabulary, part, unit, performance),
        credit=part.credit,
        recorded=recorded,
        tenfold=part.tenfold,
    )


def _asked(
    vocabulary: Vocabulary, part: PartCredit, unit: str | None, performance: Performance | None
) -> str:
    if part.name == "route" and isinstance(part.wanted, OneOf):
        return " or ".join(
            _route_label(vocabulary, word, performance) for word in part.wanted.words
        )
    return range_words(part.wanted, unit)


def _route_label(vocabulary: Vocabulary, word: str, performance: Performance | None) -> str:
    dose = vocabulary.actions[performance.action].dose if performance is not None else None
    label = dose.routes.get(word, word.replace("_", " ")) if dose is not None else word
    return label[:1].lower() + label[1:]


def _dose_unit(vocabulary: Vocabulary, name: str, performance: Performance | None) -> str | None:
    dose = vocabulary.actions[performance.action].dose if performance is not None else None
    if dose is None:
        return None
    return {"amount": dose.unit, "strength": dose.strength_unit, "flush": dose.flush_unit}.get(name)
