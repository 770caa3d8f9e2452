"""The cot at hand of who plays alone: the part that is looked at, and what hands keep closed.

Rules of this file:

- What a hand keeps closed, which hand was at the cot last and which part is open is the page's own
  and in no log; a server that was started again has let go of it.
- Outlet and cap are closed by one hand, and the hand that has the T-piece takes it to the face.
- What a part shows, and what hands can do to it, is told once it has been looked at, and then as
  it is now: a gauge's unit tells of its part as much as its figure.
- Nobody calls a part not as it should be, or puts it right, who has not looked at it. Which parts
  were looked at is kept as what hands keep closed is: whoever comes back looks again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass
from functools import cached_property

from simengine.desk.scene import Scene
from simengine.quantities.formatting import (
    capitalised,
    format_duration,
    format_quantity,
    listed,
)
from simengine.rehearsal.cot import (
    LOOK,
    NOT_RIGHT,
    Bench,
    Cot,
    Entry,
    Handle,
    Hold,
    Needle,
    NotWorkedError,
    Part,
    Reading,
    Worked,
    arrival_of,
    cot_of,
    drifted,
    heard,
    is_put_right,
    manometer,
    parts_of,
    places_of,
    shown,
    worked,
)
from simengine.rehearsal.rehearsal_sentences import say
from simengine.session.fold import Fold
from simengine.session.record import NEVER

Given = float | str | bool | None
_SOON_MS, _LATER_MS = 2_000, 12_000
"""How soon what moves by itself (gas on its way, a gauge that falls) is told anew."""


@dataclass(frozen=True, slots=True)
class CotHandle:
    """A control of a part. ``kind``: dial, turn, switch, hold or press; a number is in ``unit``."""

    name: str
    label: str
    kind: str
    unit: str
    least: float
    most: float
    step: float
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CotDial:
    """A dial of the cot that has to do with what is done to a baby, and where it is.

    ``usual``: figures that are offered for one touch, of a dial that takes figures.
    """

    setting: str
    part: str
    handle: CotHandle
    usual: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CotPart:
    """A part of the cot, which is looked at by a touch."""

    name: str
    label: str


@dataclass(frozen=True, slots=True)
class CotPlace:
    """A side or a drawer of the cot, with its parts."""

    name: str
    label: str
    parts: tuple[CotPart, ...]


@dataclass(frozen=True, slots=True)
class CotShown:
    """The part that is looked at now (empty: none), what it shows, and what stands how.

    ``handles``: what hands can do to it. ``stands``: for each control its value as it shows.
    ``heard``: what anybody hears without looking.
    """

    part: str
    words: str
    needles: tuple[Needle, ...]
    handles: tuple[CotHandle, ...]
    stands: dict[str, float | str | bool]
    heard: tuple[str, ...]


class CotAtHand:
    """The cot of one session, with the hands that are on it.

    What follows from its bench alone is worked out once: each view asks for it.
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._parts = {part.name: part for part in parts_of(bench)}
        self._part_held = {
            handle.holds: part.name
            for part in self._parts.values()
            for handle in part.handles
            if handle.holds is not None
        }
        self._held_by: dict[Hold, str] = {}
        self._last_ms: dict[str, int] = {}
        """When somebody's hand was last at the cot, scenario time."""
        self.open = ""
        self.looked: set[str] = set()
        """The parts that were looked at."""

    def now(self, fold: Fold) -> Cot:
        """Return the cot as a session leaves it, with the hands that are on it."""
        cot = cot_of(self.bench, fold, self.held)
        if not cot.on_face or self._part_held.get("outlet") not in self._parts_held():
            return cot
        self._held_by = self.without_outlet()._held_by
        return cot_of(self.bench, fold, self.held)

    @property
    def held(self) -> tuple[Hold, ...]:
        """What hands keep closed."""
        return tuple(self._held_by)

    # --- hands ----------------------------------------------------------------------------------

    def needs_a_hand(self, part: str, control: str, value: Given, by: str) -> bool:
        """Whether a touch takes a hand of somebody that is not on that part already.

        ``by``: the action that called them; empty for whoever plays.
        """
        handle = next(
            (each for each in self._part(part).handles if each.name == control),
            None,
        )
        if handle is None or control == NOT_RIGHT:
            return False
        if control == LOOK:
            return not self.bench.file.parts[part].in_sight
        if handle.holds is not None:
            return value is True and by not in self._parts_held().get(part, ())
        return True

    def hands_on(self, scene: Scene, takes_ms: int) -> Iterator[tuple[str, str, str, int]]:
        """Go through the hands on the cot: whose, doing what, what frees it, until when.

        ``takes_ms``: how long a hand is at the cot for one thing done there.
        """
        self.now(scene.fold)
        for part, people in self._parts_held().items():
            for by in people:
                holds = [
                    hold
                    for hold, holder in self._held_by.items()
                    if holder == by and self._part_held[hold] == part
                ]
                closed = say("keeps_closed", what=listed([_closed(hold) for hold in holds]))
                yield by, closed, listed([_let_go(hold) for hold in holds]), NEVER
        for by, at_ms in self._last_ms.items():
            if scene.now < at_ms + takes_ms:
                yield by, say("at_the_cot"), "", at_ms + takes_ms

    def goes_to_the_face(self, action: str) -> bool:
        """Whether the T-piece is on the face while an action is done."""
        return action in self.bench.file.t_piece.on_face

    def without_outlet(self) -> CotAtHand:
        """Return the cot with no hand on the T-piece."""
        there = copy(self)
        part = self._part_held.get("outlet")
        there._held_by = {
            hold: by for hold, by in self._held_by.items() if self._part_held[hold] != part
        }
        return there

    def _parts_held(self) -> dict[str, tuple[str, ...]]:
        """Return the parts that a hand keeps closed, and whose."""
        held: dict[str, tuple[str, ...]] = {}
        for hold, by in self._held_by.items():
            part = self._part_held[hold]
            held[part] = tuple(dict.fromkeys((*held.get(part, ()), by)))
        return held

    # --- working it -----------------------------------------------------------------------------

    def work(self, scene: Scene, part: str, control: str, value: Given, by: str = "") -> Worked:
        """Return what comes of a touch; what hands hold follows it. Raises ``NotWorkedError``."""
        known = self._part(part)
        if part not in self.looked and (control == NOT_RIGHT or is_put_right(control)):
            raise NotWorkedError(say("look_first", label=known.label))
        done = worked(self.now(scene.fold), known, control, value, scene.now)
        if set(done.held) - self._held_by.keys():
            self._last_ms.pop(by, None)  # it is that hand which stays there
        elif self.needs_a_hand(part, control, value, by):
            self._last_ms[by] = scene.now
        self._held_by = {hold: self._held_by.get(hold, by) for hold in done.held}
        if control == LOOK:
            self.open = part
            self.looked.add(part)
        return done

    def drifted(self, fold: Fold) -> tuple[Entry, ...]:
        """Return what moved by itself after a touch, to be written down as well."""
        return drifted(self.now(fold))

    def has(self, part: str) -> bool:
        """Whether the cot has a part of this name."""
        return part in self._parts

    def seen(self, scene: Scene, part: str) -> str:
        """Return what is seen of a part that a hand is at, in words."""
        return shown(self.now(scene.fold), self._part(part), scene.now).words

    def manometer(self, scene: Scene) -> Needle:
        """Return the needle that shows the pressure at the T-piece."""
        return manometer(self.now(scene.fold), scene.now)

    def show(self, scene: Scene) -> CotShown:
        """Return what is to be seen of the cot now."""
        cot = self.now(scene.fold)
        if not self.open:
            return CotShown("", "", (), (), {}, heard(cot))
        part = self._part(self.open)
        reading: Reading = shown(cot, part, scene.now)
        soon = shown(cot, part, scene.now + _SOON_MS)
        scene.changes_at(scene.now + (_SOON_MS if soon.words != reading.words else _LATER_MS))
        stands = {stand.control: stand.value for stand in reading.stands}
        handles = tuple(_handle(handle) for handle in part.handles if handle.name != LOOK)
        words, needles = reading.words, reading.needles
        return CotShown(self.open, words, needles, handles, stands, heard(cot))

    def places(self) -> tuple[CotPlace, ...]:
        """Return the whole cot, place by place."""
        return tuple(
            CotPlace(
                name,
                label,
                tuple(
                    CotPart(part.name, part.label)
                    for part in self._parts.values()
                    if part.place == name
                ),
            )
            for name, label in places_of(self.bench).items()
            if any(part.place == name for part in self._parts.values())
        )

    @cached_property
    def turned(self) -> Mapping[str, tuple[str, Handle]]:
        """The settings that are turned at the cot: each with its part and control."""
        return {
            control.turns: (part.name, handle)
            for part in self._parts.values()
            for handle in part.handles
            if (control := self.bench.file.parts[part.name].controls.get(handle.name)) is not None
            and control.turns
        }

    def dials(self, settings: Iterable[str]) -> tuple[CotDial, ...]:
        """Return those of some settings that are turned where the breaths are given.

        What a suction reaches is read at the suction, and turned there.
        """
        vocabulary, turned = self.bench.scenario.vocabulary, self.turned
        return tuple(
            CotDial(
                name,
                turned[name][0],
                _handle(turned[name][1]),
                tuple(sorted(vocabulary.settings[name].usual))
                if turned[name][1].kind == "dial"
                else (),
            )
            for name in settings
            if name in turned and name != self.bench.file.suction.pressure
        )

    def source(self, fold: Fold, *, baby: bool) -> str:
        """Return what pressures and oxygen follow, in which published set-up.

        ``baby``: whether there is one. Oxygen goes by the opening of the log, and so does what is
        told of it; its source is told only where the bench still has those figures.
        """
        set_up, blender = self.bench.set_up, self.bench.file.blender
        sentences = [f"{say('set_up', title=set_up.title, source=set_up.source)}."]
        arrival = fold.account.arrivals.get(blender.oxygen)
        if arrival is not None:
            unit = self.bench.scenario.vocabulary.settings[arrival.flow].unit or ""
            delays = [
                say("delay", span=format_duration(delay_ms), flow=format_quantity(flow, unit))
                for flow, delay_ms in arrival.delays
            ]
            measured = arrival.delays == arrival_of(self.bench).delays
            where = say("arrives_both" if baby else "arrives_analyser")
            sentences += [
                say("arrives", where=where, delays=listed(delays)),
                *([say("arrives_source", source=blender.source)] if measured else []),
                say("arrives_marked"),
            ]
        return " ".join(sentences)

    @cached_property
    def unmarked(self) -> frozenset[str]:
        """The settings that no mark shows: they are read off a needle, by who looks."""
        return frozenset(
            setting for setting, (_, handle) in self.turned.items() if handle.kind == "turn"
        )

    @cached_property
    def by_hand(self) -> frozenset[str]:
        """The actions that are done by working the cot, and so by no button of their own."""
        vocabulary = self.bench.scenario.vocabulary
        rows = vocabulary.equipment.rows.values() if vocabulary.equipment is not None else ()
        done = {row.check for row in rows}
        for part in self.bench.file.parts.values():
            for control in part.controls.values():
                done |= {control.does, control.off, control.runs, control.reads}
        done |= {
            action.name
            for action in vocabulary.actions.values()
            if action.settings and not action.on_baby and self.turned.keys() >= set(action.settings)
        }
        labels = {handle.label for part in self._parts.values() for handle in part.handles}
        done |= {
            action.name
            for action in vocabulary.actions.values()
            if capitalised(action.do) in labels
        }
        return frozenset(name for name in done if name)

    def _part(self, name: str) -> Part:
        return self._parts[name]


def _handle(handle: Handle) -> CotHandle:
    scale = handle.scale
    return CotHandle(
        handle.name,
        handle.label,
        handle.kind,
        scale.unit if scale is not None else "",
        scale.least if scale is not None else 0.0,
        scale.most if scale is not None else 0.0,
        scale.step if scale is not None else 1.0,
        handle.words,
    )


def _closed(hold: Hold) -> str:
    """Return what a hand keeps closed, in words."""
    if hold == "outlet":
        return say("hold_outlet")
    return say("hold_cap") if hold == "cap" else say("hold_tubing")


def _let_go(hold: Hold) -> str:
    """Return what frees a hand that keeps something closed, in words."""
    if hold == "outlet":
        return say("let_go_outlet")
    return say("let_go_cap") if hold == "cap" else say("let_go_tubing")
