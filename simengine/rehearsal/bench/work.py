"""A hand on the cot → what a facilitator's console would write down of it.

Rules of this file:

- Nothing is changed here: what follows from a touch is entries for the log, and the cot is what the
  log makes of it. A hand that keeps something closed is in no log, and is given back.
- Looking writes the action that looks, with every figure as it stood. Where a touch is what reads
  (outlet, tubing), closing it writes the action, if there is gas or suction to read.
- Pressures that followed the flow are written as well, once they differ from what the log has of
  them by what the manometer tells apart (``drifted``): in force is what the manometer shows.
- Calling a part not as it should be is a note in the same words whatever is planted there; what is
  planted there is found by it.
- What puts a row right is written down alike whether or not anything is planted there: as the
  action that it is, else as a note. What is planted there and is put right by it, is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from simengine.quantities.formatting import format_quantity, listed
from simengine.rehearsal.bench.bench_model import DIALS, Control, Dial, Hold
from simengine.rehearsal.bench.bench_sentences import say
from simengine.rehearsal.bench.dial_figures import (
    dial_of,
    figure_of,
    regulator_figure,
    suction_works,
    valve_figure,
)
from simengine.rehearsal.bench.parts import (
    LOOK,
    NOT_RIGHT,
    Handle,
    Part,
    put_right_words,
    row_of,
    words_of,
)
from simengine.rehearsal.bench.stand import Cot, closed_up, digits, effect_of, number_of
from simengine.rehearsal.bench.what_a_part_shows import needle_words, shown
from simengine.scenario.model import Fault
from simengine.scenario.wanted import Value

EntryKind = Literal["action", "set", "fault", "note"]
Given = float | str | bool | None
"""What a control is given: a figure, how far it is turned, a word, whether it is held, nothing."""


class NotWorkedError(ValueError):
    """What can't be done to a cot, in words for a person."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry for the log: the kind and data of an event."""

    kind: EntryKind
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Worked:
    """What came of a touch. ``held``: what hands keep closed now; ``words``: what answers."""

    held: tuple[Hold, ...]
    entries: tuple[Entry, ...] = ()
    words: str = ""


def worked(cot: Cot, part: Part, name: str, value: Given, at_ms: int) -> Worked:
    """Return what comes of working one control of a part. Raises ``NotWorkedError``."""
    handle = next((each for each in part.handles if each.name == name), None)
    if handle is None:
        raise NotWorkedError(say("no_control", name=f"'{name}'", label=part.label))
    if name == LOOK:
        return Worked(cot.held, tuple(_looked(cot, part, at_ms)), shown(cot, part, at_ms).words)
    if name == NOT_RIGHT:
        return Worked(cot.held, tuple(_called(cot, part)))
    control = cot.bench.file.parts[part.name].controls.get(name)
    if control is None:
        return Worked(cot.held, tuple(_put_right(cot, part, name)))
    if handle.holds is not None:
        return _held(cot, control, handle.holds, _flag(handle, value), at_ms)
    if control.runs:
        return Worked(cot.held, (_switched(cot, control, handle, value),))
    if control.does:
        return _done(cot, control, at_ms)
    if any(effect_of(cot.bench, fault).stuck == control.turns for fault in cot.faults):
        return Worked(cot.held, (), say("stuck"))
    return _turned(cot, control, handle, value, at_ms)


def drifted(cot: Cot) -> tuple[Entry, ...]:
    """Return the pressures that stand elsewhere than the log has them, since the flow moved them.

    What was read through a leak is left as it was read, until the leak is mended.
    """
    if cot.flow <= 0.0:
        return ()
    bench, entries = cot.bench, []
    tight = closed_up(bench, cot.places, cot.flow)
    leaking = closed_up(bench, cot.places, cot.flow, cot.gas_kept)
    for dial in DIALS:
        setting = bench.file.t_piece.setting_of(dial)
        pressure = digits(bench, tight.of(dial))
        in_log = digits(bench, number_of(cot.value(setting)))
        if in_log not in (pressure, digits(bench, leaking.of(dial))):
            entries.append(_set(cot, setting, pressure))
    return tuple(entries)


# --- looking, calling, putting right ----------------------------------------------------------


def _looked(cot: Cot, part: Part, at_ms: int) -> Iterator[Entry]:
    row = _row(cot, part)
    touched = {
        action
        for each in cot.bench.file.parts.values()
        for control in each.controls.values()
        for action in (control.does, control.reads)
    }
    if row.check not in touched:
        yield _action(cot, row.check, at_ms)


def _called(cot: Cot, part: Part) -> Iterator[Entry]:
    yield Entry("note", {"text": called_words(part.label)})
    for fault in _faults(cot, part):
        if cot.faults[fault.name] == "planted":
            yield Entry("fault", {"fault": fault.name, "status": "found"})


def called_words(label: str) -> str:
    """Return how it is written down that a part was called not as it should be."""
    return say("called", label=label)


def _put_right(cot: Cot, part: Part, name: str) -> Iterator[Entry]:
    words = put_right_words(cot.bench, _row(cot, part))[name]
    actions = cot.bench.scenario.vocabulary.actions.values()
    action = next((each.name for each in actions if each.do == words), None)
    if action is not None:
        yield Entry("action", {"action": action, "phase": "done"})
    else:
        yield Entry("note", {"text": say("chosen", label=part.label, words=words)})
    for fault in _faults(cot, part):
        by_the_action = action is not None and fault.mended_by == action
        if words_of(cot.bench, fault) == words and not by_the_action:
            yield Entry("fault", {"fault": fault.name, "status": "mended"})


def _faults(cot: Cot, part: Part) -> Iterator[Fault]:
    """Go through what is planted in a part and not put right."""
    for name in cot.faults:
        fault = cot.bench.scenario.start.faults[name]
        if row_of(cot.bench, fault) == part.name:
            yield fault


# --- touching ---------------------------------------------------------------------------------


def _held(cot: Cot, control: Control, hold: Hold, closed: bool, at_ms: int) -> Worked:
    if hold == "outlet" and closed:
        _off_the_face(cot)
    others = tuple(each for each in cot.held if each != hold)
    held = (*others, hold) if closed else others
    after = replace(cot, held=held)
    if hold == "tubing":
        setting = cot.bench.scenario.vocabulary.settings[cot.bench.file.suction.pressure]
        words = say("gauge", figure=figure_of(after, setting, at_ms).words)
        reads = closed and suction_works(after, at_ms)
    else:
        words = say("needle", figure=needle_words(after, at_ms))
        reads = closed and after.outlet_closed and after.flow_at(at_ms) > 0.0
    entries = (_action(after, control.reads, at_ms),) if control.reads and reads else ()
    return Worked(held, entries, words)


def _off_the_face(cot: Cot) -> None:
    """Pressures are tried with no baby at the other end. Raises ``NotWorkedError``."""
    if cot.on_face:
        raise NotWorkedError(say("on_face"))


def _switched(cot: Cot, control: Control, handle: Handle, value: Given) -> Entry:
    on = _word(handle, value) == handle.words[0]
    if on:
        return Entry("action", {"action": control.runs, "phase": "start"})
    if control.off:
        return Entry("action", {"action": control.off, "phase": "done"})
    return Entry("action", {"action": control.runs, "phase": "stop"})


def _done(cot: Cot, control: Control, at_ms: int) -> Worked:
    if not control.needs_gas:
        return Worked(cot.held, (_action(cot, control.does, at_ms, control.sets),))
    _off_the_face(cot)
    relief = valve_figure(cot, "relief", at_ms)
    if not relief.value:
        return Worked(cot.held, (), say("nothing_to_read", figure=relief.words))
    entry = _action(cot, control.does, at_ms, control.sets)
    return Worked(cot.held, (entry,), say("tried", figure=relief.words))


def _turned(cot: Cot, control: Control, handle: Handle, value: Given, at_ms: int) -> Worked:
    if handle.kind == "switch":
        word = {"setting": control.turns, "value": _word(handle, value)}
        return Worked(cot.held, (Entry("set", word),))
    figure = _figure(handle, value)
    dial = dial_of(cot, control.turns)
    if dial is not None:
        pressure = _pressure_after(cot, dial, figure)
        if pressure is None:
            return Worked(cot.held, (), say("at_stop"))
        return Worked(cot.held, (_set(cot, control.turns, pressure),))
    assert handle.scale is not None
    if handle.kind == "turn":
        stands = regulator_figure(cot)
        reached = min(max(number_of(stands.value) + figure, 0.0), handle.scale.most)
        if reached == stands.value:
            return Worked(cot.held, (), say("at_stop"))
        figure = round(reached, stands.decimals)
    data = {"setting": control.turns, "value": figure, "unit": handle.scale.unit}
    return Worked(cot.held, (Entry("set", data),))


def _pressure_after(cot: Cot, dial: Dial, turns: float) -> float | None:
    """Return what a valve makes once turned by so much; ``None`` where it goes no further.

    What the next valve lets through is where it ends: beyond it no needle shows that it turns.
    """
    bench = cot.bench
    now = closed_up(bench, cot.places, cot.flow)
    at = digits(bench, now.of(dial))
    setting = bench.scenario.vocabulary.settings[bench.file.t_piece.setting_of(dial)]
    plausible = setting.plausible
    least, most = (plausible.low, plausible.high) if plausible is not None else (0.0, at)
    bound = {"relief": most, "peak": now.relief, "end": now.peak}[dial]
    # What flow has moved beyond either end can still be turned back.
    wanted = at + turns
    wanted = min(wanted, max(bound, 0.0)) if turns > 0 else max(wanted, min(least, at))
    pressure = digits(bench, wanted)
    further = pressure > at if turns > 0 else pressure < at
    return pressure if further else None


# --- entries ----------------------------------------------------------------------------------


def _action(cot: Cot, name: str, at_ms: int, sets: Mapping[str, Value] | None = None) -> Entry:
    """Return an action done, with each setting that it carries as it stands or is left."""
    vocabulary = cot.bench.scenario.vocabulary
    readings: dict[str, dict[str, Value]] = {}
    for setting in vocabulary.actions[name].settings:
        known = vocabulary.settings[setting]
        left = (sets or {}).get(setting)
        if left is not None:
            readings[setting] = {"value": left}
            if known.unit:
                readings[setting]["unit"] = known.unit
        else:
            readings[setting] = figure_of(cot, known, at_ms).reading
    data: dict[str, Any] = {"action": name, "phase": "done"}
    return Entry("action", {**data, "settings": readings} if readings else data)


def _set(cot: Cot, setting: str, pressure: float) -> Entry:
    unit = cot.bench.scenario.vocabulary.settings[setting].unit
    return Entry("set", {"setting": setting, "value": pressure, "unit": unit})


def _row(cot: Cot, part: Part) -> Any:
    equipment = cot.bench.scenario.vocabulary.equipment
    assert equipment is not None
    return equipment.rows[part.name]


# --- what a control is given ------------------------------------------------------------------


def _figure(handle: Handle, value: Given) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise NotWorkedError(say("no_number", label=handle.label))
    scale = handle.scale
    if scale is not None and not scale.least <= value <= scale.most:
        least, most, wanted = (
            format_quantity(each, scale.unit) for each in (scale.least, scale.most, value)
        )
        words = say("out_of_scale", label=handle.label, least=least, most=most, figure=wanted)
        raise NotWorkedError(words)
    return float(value)


def _word(handle: Handle, value: Given) -> str:
    if not isinstance(value, str) or value not in handle.words:
        words = listed(list(handle.words), "or")
        raise NotWorkedError(say("no_word", label=handle.label, words=words, found=f"'{value}'"))
    return value


def _flag(handle: Handle, value: Given) -> bool:
    if not isinstance(value, bool):
        words = "true or false"
        raise NotWorkedError(say("no_word", label=handle.label, words=words, found=f"'{value}'"))
    return value
