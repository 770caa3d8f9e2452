"""The cot as a log leaves it: where each dial stands, what flows, what is wrong, what runs.

Rules of this file:

- All of it follows from the log: a session that is resumed, or tried again from an earlier state,
  has the cot that it had. Only what a hand keeps closed at the moment is given besides.
- A valve stands where it was turned to. It was turned when the log has another pressure than the
  valve, untouched, would show at the flow of then; without gas, when the log has another than it
  would show at the flow at which a cot is found.
- What nobody has touched stands as the scenario says, else as the file of the bench does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

from simengine.rehearsal.bench.bench_model import DIALS, Dial, Effect, Hold
from simengine.rehearsal.bench.read import Bench
from simengine.rehearsal.bench.t_piece import (
    Breaths,
    Places,
    Pressures,
    place_for,
    place_meant,
    pressures,
)
from simengine.scenario.wanted import Value
from simengine.session.account import Account
from simengine.session.dynamics import level_at
from simengine.session.fold import Fold
from simengine.session.truth import FaultStatus

_NOTHING_WRONG = Effect()


@dataclass(frozen=True, slots=True)
class Cot:
    """A cot as it stands now. ``held``: what a hand keeps closed; ``breaths``: those given.

    ``values``: settings as the log has them, in their own units. ``flow``: what is let through, in
    L/min. ``faults``: the planted ones that nobody has put right, each with how far the team is.
    """

    bench: Bench
    fold: Fold
    values: Mapping[str, Value]
    flow: float
    places: Places
    faults: Mapping[str, FaultStatus]
    held: tuple[Hold, ...]
    on_face: bool
    breaths: Breaths | None

    def value(self, setting: str) -> Value | None:
        """Return a setting as it stands: of the log, else as a cot is found."""
        value = self.values.get(setting)
        return value if value is not None else self.bench.file.found.get(setting)

    def number(self, setting: str) -> float:
        """Return a setting that is a number; 0 where nothing is known of it."""
        return number_of(self.value(setting))

    @property
    def gas_kept(self) -> float:
        """The share of the flow that no fault lets out."""
        return kept_by(self.bench, self.faults)

    @property
    def outlet_closed(self) -> bool:
        """Whether the outlet of the T-piece is closed, by a hand or by what is wrong with it."""
        blocked = any(effect_of(self.bench, name).outlet_closed for name in self.faults)
        return blocked or "outlet" in self.held

    def left(self, supply: str, at_ms: int) -> float | None:
        """Return what is left of a supply; ``None`` where it is not followed."""
        levels = self.fold.timeline.supplies.get(supply)
        return level_at(levels[-1], at_ms) if levels else None

    def flow_at(self, at_ms: int) -> float:
        """Return what flows: nothing once every gas that could flow has run out."""
        gases = self.gases(at_ms)
        run_out = gases.keys() >= {"oxygen", "air"} and not any(gases.values())
        return 0.0 if run_out else self.flow

    def gases(self, at_ms: int) -> dict[str, float]:
        """Return what is left of each gas whose supply is followed: ``oxygen``, ``air``."""
        flow = self.bench.file.t_piece.flow
        contents: dict[str, float] = {}
        for supply in self.bench.scenario.vocabulary.supplies.values():
            left = self.left(supply.name, at_ms)
            for drain in supply.drains:
                if left is not None and drain.flow == flow and drain.part != "all":
                    contents[drain.part] = left
        return contents


def cot_of(bench: Bench, fold: Fold, held: Sequence[Hold] = ()) -> Cot:
    """Return the cot as the log of a session leaves it. ``held``: what a hand keeps closed."""
    file, account = bench.file, fold.account
    t_piece, values = file.t_piece, account.values
    faults = {
        name: steps[-1][1]
        for name, steps in account.fault_steps.items()
        if steps and steps[-1][1] != "mended"
    }
    on_face = any(name in account.running for name in t_piece.on_face) and all(
        values.get(setting, value) == value for setting, value in t_piece.in_use.items()
    )
    since = [
        account.performances[account.running[name]].start_ms
        for name in t_piece.breaths
        if name in account.running
    ]
    stands: dict[str, Value] = {**file.found, **values}
    breaths = None
    if on_face and since:
        rate, inflation = number_of(stands.get(t_piece.rate)), stands.get(t_piece.inflation)
        breaths = Breaths(max(since), rate, number_of(inflation))
    return Cot(
        bench,
        fold,
        values,
        number_of(stands.get(t_piece.flow)),
        _places(bench, fold),
        faults,
        tuple(held),
        on_face,
        breaths,
    )


def number_of(value: Value | None) -> float:
    """Return a value that is a number; 0 where it is a word, or nothing."""
    return 0.0 if value is None or isinstance(value, str) else value


def effect_of(bench: Bench, fault: str) -> Effect:
    """Return what a fault does to what is met of its part."""
    return bench.file.faults.get(fault, _NOTHING_WRONG)


def kept_by(bench: Bench, faults: Mapping[str, FaultStatus]) -> float:
    """Return the share of the flow that is left by faults."""
    kept = 1.0
    for name in faults:
        kept *= effect_of(bench, name).gas_kept
    return kept


def digits(bench: Bench, pressure: float) -> float:
    """Return a pressure as it is read off the manometer, to what its needle tells apart."""
    to = bench.file.t_piece.manometer.reads_to
    return round(pressure / to) * to


def closed_up(bench: Bench, places: Places, flow: float, kept: float = 1.0) -> Pressures:
    """Return the three pressures with everything closed up; without gas as the cot was found."""
    at = flow if flow > 0.0 else bench.file.t_piece.found_at
    return pressures(bench.set_up, places, at * kept)


def gauge_unit(bench: Bench) -> str:
    """Return the unit of the suction's gauge: as the cot is found, else the setting's own."""
    suction = bench.file.suction
    stands = bench.scenario.start.as_found.get(suction.pressure)
    if stands is not None and stands.unit in suction.gauges:
        return stands.unit
    return bench.scenario.vocabulary.settings[suction.pressure].unit or ""


_known: WeakKeyDictionary[Account, tuple[Bench, tuple[int, ...], Places]] = WeakKeyDictionary()
"""Where valves stood when last asked for an account, and how much it held then."""


def _places(bench: Bench, fold: Fold) -> Places:
    """Return where each valve stands: followed anew only once the log has more of them."""
    account, t_piece = fold.account, bench.file.t_piece
    names = (t_piece.flow, *(t_piece.setting_of(dial) for dial in DIALS))
    size = (
        *(len(account.steps.get(name, ())) for name in names),
        sum(len(steps) for steps in account.fault_steps.values()),
    )
    known = _known.get(account)
    if known is None or known[0] is not bench or known[1] != size:
        known = _known[account] = (bench, size, _followed(bench, fold))
    return known[2]


def _followed(bench: Bench, fold: Fold) -> Places:
    """Follow the log to where each valve stands."""
    t_piece, start, in_catalogue = (
        bench.file.t_piece,
        bench.scenario.start.settings,
        bench.file.found,
    )
    as_found: dict[str, Value] = {**in_catalogue, **start}
    places: dict[Dial, float] = {
        dial: place_meant(
            bench.set_up, dial, number_of(as_found.get(t_piece.setting_of(dial))), t_piece.found_at
        )
        for dial in DIALS
    }
    flow = number_of(as_found.get(t_piece.flow))
    for at_ms, dial, value in _turned(bench, fold):
        if dial is None:
            flow = value
            continue
        read = digits(bench, value)
        if read == digits(bench, closed_up(bench, places, flow).of(dial)):
            continue
        kept = kept_by(bench, _wrong_at(fold, at_ms))
        if kept == 1.0 or read != digits(bench, closed_up(bench, places, flow, kept).of(dial)):
            at = flow if flow > 0.0 else t_piece.found_at
            places[dial] = place_for(bench.set_up, dial, value, at)
    return places


def _turned(bench: Bench, fold: Fold) -> Iterator[tuple[int, Dial | None, float]]:
    """Go through what the log has of flow (``None``) and valves: the flow first at an instant."""
    t_piece, start = bench.file.t_piece, bench.scenario.start.settings
    order: tuple[Dial | None, ...] = (None, *DIALS)
    entries = []
    for place, dial in enumerate(order):
        setting = t_piece.flow if dial is None else t_piece.setting_of(dial)
        steps = fold.account.steps.get(setting, [])
        for number, (at_ms, value) in enumerate(steps[1 if setting in start else 0 :]):
            entries.append((at_ms, place, number, dial, number_of(value)))
    for at_ms, _, _, dial, value in sorted(entries, key=lambda entry: entry[:3]):
        yield at_ms, dial, value


def _wrong_at(fold: Fold, at_ms: int) -> dict[str, FaultStatus]:
    """Return the faults that nobody had put right by an instant."""
    wrong: dict[str, FaultStatus] = {}
    for name, steps in fold.account.fault_steps.items():
        status = next((status for at, status in reversed(steps) if at <= at_ms), None)
        if status is not None and status != "mended":
            wrong[name] = status
    return wrong
