"""Settings and parts of a dose as they were read, beside what the marking guide asks.

Rules of this file:

- A value is told with its unit, as it was read; a range as the marking guide wrote it.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import floor, log10

from simengine.quantities.formatting import in_a_sentence, value_words
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import OneOf, Value
from simengine.scenario.words import range_words
from simengine.scoring.card import Compared
from simengine.scoring.parts import PartCredit
from simengine.scoring.resample import Resample
from simengine.session.entry_words import reading_words
from simengine.session.record import Performance, Reading

_TWO_FIGURES = 10.0
_DOSE_LABELS = {
    "amount": "Dose",
    "route": "Route",
    "strength": "Strength",
    "flush": "Flush",
    "over": "Given over",
}


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
        read = _value(part.value, unit)
        given: Mapping[str, Reading] = performance.dose if performance is not None else {}
        if recorded and part.name == "amount":
            volume = given.get("amount") or given.get("volume")
            if volume is not None and volume.unit != unit:
                worked_out = _value(part.value, unit, rounded=True)
                read = f"{reading_words(volume)}, which is {worked_out}"
        elif recorded and part.name in given and part.name not in ("route", "over"):
            read = reading_words(given[part.name])
        elif recorded and part.name == "route":
            read = _route_label(vocabulary, str(part.value), performance)
    else:
        assert setting is not None
        label, unit = setting.label, setting.unit
        read = _value(part.value, unit)
        as_read = performance.as_read.get(part.name) if performance is not None else None
        step = resample.step_at(part.name, at) or resample.first_step_after(part.name, at, settle)
        if as_read is None and step is not None:
            as_read = step.change.as_read
        if as_read is not None and as_read.unit is not None and as_read.unit != unit:
            read = f"{reading_words(as_read)}, which is {_value(part.value, unit, rounded=True)}"
    return Compared(
        name=part.name,
        label=label,
        read=read,
        asked=_asked(vocabulary, part, unit, performance),
        credit=part.credit,
        recorded=recorded,
        tenfold=part.tenfold,
    )


def _value(value: Value | None, unit: str | None, *, rounded: bool = False) -> str:
    """Tell a value; ``rounded``: it was worked out, and has two figures, as people say it."""
    if value is None:
        return "not recorded"
    if rounded and not isinstance(value, str) and 0 < abs(value) < _TWO_FIGURES:
        value = round(value, 1 - floor(log10(abs(value))))
    return value_words(value, unit)


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
    return in_a_sentence(label)


def _dose_unit(vocabulary: Vocabulary, name: str, performance: Performance | None) -> str | None:
    dose = vocabulary.actions[performance.action].dose if performance is not None else None
    if dose is None:
        return None
    units = {"amount": dose.unit, "strength": dose.strength_unit, "flush": dose.flush_unit}
    return (units | {"over": dose.over_unit}).get(name)
