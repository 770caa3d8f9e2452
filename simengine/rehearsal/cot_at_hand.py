"""The cot at hand of who plays alone: the part that is looked at, and what hands keep closed.

Rules of this file:

- What a hand keeps closed and which part is open is the page's own and in no log; a server that was
  started again has let go of it.
- What a part shows, and what hands can do to it, is told once it has been looked at, and then as
  it is now: a gauge's unit tells of its part as much as its figure.
- Nobody calls a part not as it should be, or puts it right, who has not looked at it. Which parts
  were looked at is kept as what hands keep closed is: whoever comes back looks again.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.desk.scene import Scene
from simengine.quantities.formatting import capitalised
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
    cot_of,
    drifted,
    heard,
    is_put_right,
    parts_of,
    places_of,
    shown,
    worked,
)
from simengine.rehearsal.rehearsal_sentences import say
from simengine.session.fold import Fold

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
    """The cot of one session, with the hands that are on it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._parts = {part.name: part for part in parts_of(bench)}
        self.held: tuple[Hold, ...] = ()
        self.open = ""
        self.looked: set[str] = set()
        """The parts that were looked at."""

    def now(self, fold: Fold) -> Cot:
        """Return the cot as a session leaves it, with the hands that are on it."""
        return cot_of(self.bench, fold, self.held)

    def work(
        self, scene: Scene, part: str, control: str, value: float | str | bool | None
    ) -> Worked:
        """Return what comes of a touch; what hands hold follows it. Raises ``NotWorkedError``."""
        known = self._part(part)
        if part not in self.looked and (control == NOT_RIGHT or is_put_right(control)):
            raise NotWorkedError(say("look_first", label=known.label))
        done = worked(self.now(scene.fold), known, control, value, scene.now)
        self.held = done.held
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

    @property
    def source(self) -> str:
        """The published set-up after which pressures follow the flow, and where it is from."""
        return say("set_up", title=self.bench.set_up.title, source=self.bench.set_up.source)

    def unmarked(self) -> frozenset[str]:
        """Return the settings that no mark shows: they are read off a needle, by who looks."""
        parts = self.bench.file.parts
        return frozenset(
            parts[part.name].controls[handle.name].turns
            for part in self._parts.values()
            for handle in part.handles
            if handle.kind == "turn"
        )

    def by_hand(self) -> frozenset[str]:
        """Return the actions that are done by working the cot, and so by no button of their own."""
        vocabulary = self.bench.scenario.vocabulary
        rows = vocabulary.equipment.rows.values() if vocabulary.equipment is not None else ()
        done = {row.check for row in rows}
        for part in self.bench.file.parts.values():
            for control in part.controls.values():
                done |= {control.does, control.off, control.runs, control.reads}
        turned = {
            control.turns
            for part in self.bench.file.parts.values()
            for control in part.controls.values()
        }
        done |= {
            action.name
            for action in vocabulary.actions.values()
            if action.settings and not action.on_baby and turned.issuperset(action.settings)
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
