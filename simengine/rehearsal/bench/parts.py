"""The parts of a cot, and what hands can do to each.

Rules of this file:

- Parts are the rows of the cot's catalogue, in its order, by place (the drawers and sides of it).
- Each can be looked at, and called not as it should be. What puts a row right is offered for every
  fault that the row could have, whether one is planted or not: no list names what is wrong.
- A dial takes the figure to which it is turned. A valve and the suction have no marks: they take
  how far they are turned, up or down, by what their gauge tells apart. A switch takes one of its
  words, a hold true or false, a press nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from simengine.quantities.formatting import capitalised
from simengine.rehearsal.bench.bench_model import DIALS, PRESSURE, Control, Hold, Scale, scale_of
from simengine.rehearsal.bench.bench_sentences import say
from simengine.rehearsal.bench.read import Bench
from simengine.rehearsal.bench.stand import gauge_unit
from simengine.scenario.equipment import Row
from simengine.scenario.model import Fault

Kind = Literal["dial", "turn", "switch", "hold", "press"]
LOOK = "look"
NOT_RIGHT = "not_right"
_PUT_RIGHT = "put_right_"


@dataclass(frozen=True, slots=True)
class Handle:
    """One control of a part, for the page. ``scale``: of a dial and a valve; ``words``: a switch's.

    ``holds``: what a hand keeps closed by it, if it is a hold.
    """

    name: str
    label: str
    kind: Kind
    scale: Scale | None = None
    words: tuple[str, ...] = ()
    holds: Hold | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the cot. ``place`` is where: a name, whose label is the catalogue's."""

    name: str
    label: str
    place: str
    handles: tuple[Handle, ...]


def parts_of(bench: Bench) -> tuple[Part, ...]:
    """Return every part of the cot of a scenario, in the order of its catalogue."""
    cot = bench.scenario.vocabulary.equipment
    assert cot is not None
    return tuple(_part(bench, row) for row in cot.rows.values())


def places_of(bench: Bench) -> dict[str, str]:
    """Return the places of the cot, name and label, in order."""
    cot = bench.scenario.vocabulary.equipment
    assert cot is not None
    return dict(cot.places)


def row_of(bench: Bench, fault: Fault) -> str:
    """Return the row that a fault is met in: its own, else the one that it leaves wrong.

    A fault of the scenario's own is met where its dial is, or where what puts it right is done.
    """
    cot = bench.scenario.vocabulary.equipment
    assert cot is not None
    if fault.row:
        return fault.row
    supplies = bench.scenario.vocabulary.supplies
    gauges = {
        gauge.setting for name in fault.supplies if (gauge := supplies[name].gauge) is not None
    }
    left = {*fault.settings, *gauges}
    puts_right = words_of(bench, fault)
    for row in cot.rows.values():
        turned = {control.turns for control in bench.file.parts[row.name].controls.values()}
        if left & {*row.reads, *turned}:
            return row.name
    for row in cot.rows.values():
        if puts_right in {known.put_right for known in row.faults.values()}:
            return row.name
    return next(iter(cot.rows))


def words_of(bench: Bench, fault: Fault) -> str:
    """Return what puts a fault right, in words; empty where a dial does."""
    if fault.put_right:
        return fault.put_right
    if isinstance(fault.mended_by, str):
        return bench.scenario.vocabulary.actions[fault.mended_by].do
    return ""


def put_right_words(bench: Bench, row: Row) -> dict[str, str]:
    """Return what can put a row right, by the name of its control: of every fault it could have."""
    own = (
        words_of(bench, fault)
        for fault in bench.scenario.start.faults.values()
        if not fault.row and row_of(bench, fault) == row.name
    )
    known = (fault.put_right for fault in row.faults.values())
    controls = bench.file.parts[row.name].controls.values()
    actions = bench.scenario.vocabulary.actions
    done = [action for control in controls for action in (control.off, control.does) if action]
    by_hand = {actions[action].do for action in done}
    words = [each for each in dict.fromkeys((*known, *own)) if each and each not in by_hand]
    return {f"{_PUT_RIGHT}{number}": each for number, each in enumerate(words, 1)}


def is_put_right(control: str) -> bool:
    """Whether a control is one that puts a part right."""
    return control.startswith(_PUT_RIGHT)


def _part(bench: Bench, row: Row) -> Part:
    part = bench.file.parts[row.name]
    handles = (
        Handle(LOOK, say("look"), "press"),
        *(_handle(bench, control) for control in part.controls.values()),
        *_put_right(bench, row),
        Handle(NOT_RIGHT, say("not_right"), "press"),
    )
    return Part(row.name, row.label, row.place, handles)


def _put_right(bench: Bench, row: Row) -> Iterator[Handle]:
    for name, words in put_right_words(bench, row).items():
        yield Handle(name, capitalised(words), "press")


def _handle(bench: Bench, control: Control) -> Handle:
    vocabulary, file = bench.scenario.vocabulary, bench.file
    if control.turns:
        setting = vocabulary.settings[control.turns]
        label = control.label or setting.label
        if setting.unit is None:
            return Handle(control.name, label, "switch", words=setting.words)
        if setting.name in {file.t_piece.setting_of(dial) for dial in DIALS}:
            needle = file.t_piece.manometer
            scale = Scale(PRESSURE, -needle.most, needle.most, needle.reads_to)
            return Handle(control.name, label, "turn", scale)
        if setting.name == file.suction.pressure:
            gauge = file.suction.gauges.get(gauge_unit(bench)) or scale_of(setting)
            scale = Scale(gauge.unit, -gauge.most, gauge.most, gauge.step)
            return Handle(control.name, label, "turn", scale)
        return Handle(control.name, label, "dial", scale_of(setting, control.most))
    if control.runs:
        label = control.label or vocabulary.actions[control.runs].label
        return Handle(control.name, label, "switch", words=(say("turn_on"), say("turn_off")))
    if control.holds is not None:
        return Handle(control.name, control.label, "hold", holds=control.holds)
    label = control.label or capitalised(vocabulary.actions[control.does].do)
    return Handle(control.name, label, "press")
