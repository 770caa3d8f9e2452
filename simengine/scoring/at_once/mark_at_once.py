"""Marking all redraws at once: the array form of ``marking``.

Rules of this file:

- A kind's array form stands beside it in ``kinds``: ``occasions_of`` finds the occasions of what is
  asked within a window, ``mark`` marks any other. An item of a kind that has none, and whatever an
  array form can't do, is marked one by one, with all that want the same performances.
- What no recorded time can change is taken as it was marked in the record.
- What looks at what became of others (``last``) comes last; then the deductions.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType

import numpy as np

from simengine.scenario.key import Item
from simengine.scenario.kinds import CLASSES
from simengine.scoring.at_once.matching import share_out
from simengine.scoring.at_once.occasions import Occasions
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.stretches import Flags, Ints
from simengine.scoring.at_once.table import MarkedRedraws
from simengine.scoring.kinds import KINDS, window_arrays
from simengine.scoring.marking import mark
from simengine.scoring.plan import ItemPlan, Plan
from simengine.scoring.redrawn_times import RedrawnTimes
from simengine.scoring.resample import Resample

_Opened = Callable[[Resamples, ItemPlan], tuple[list[Occasions], Flags]]
_Marked = Callable[[Resamples, MarkedRedraws, ItemPlan], bool]


def _arrays() -> Mapping[type[Item], ModuleType]:
    """The array form of each kind that has one."""
    names = {owner: f"simengine.scoring.kinds.{kind}_arrays" for kind, owner in CLASSES.items()}
    return {owner: import_module(name) for owner, name in names.items() if find_spec(name)}


_ARRAYS = _arrays()
OPENED: Mapping[type[Item], _Opened] = {
    owner: arrays.occasions_of
    for owner, arrays in _ARRAYS.items()
    if hasattr(arrays, "occasions_of")
}
MARKED: Mapping[type[Item], _Marked] = {
    owner: arrays.mark for owner, arrays in _ARRAYS.items() if hasattr(arrays, "mark")
}


def mark_redraws(plan: Plan, times: RedrawnTimes) -> MarkedRedraws:
    """Mark every item in every redraw. The record has been marked with this plan before."""
    table = MarkedRedraws(plan, len(times))
    redraws = Resamples(plan, times)
    every = np.arange(table.number)
    windows: list[ItemPlan] = []
    one_by_one: list[ItemPlan] = []
    last: list[ItemPlan] = []
    for laid in plan.items:
        known = plan.constant.get(laid.index)
        kind = type(laid.item)
        if known is not None:
            table.put(known, every)
        elif laid.set_aside:
            continue
        elif kind in OPENED:
            windows.append(laid)
        elif kind in MARKED and KINDS[kind].last:
            last.append(laid)
        elif kind not in MARKED or not MARKED[kind](redraws, table, laid):
            one_by_one.append(laid)
    _mark_windows(redraws, table, windows)
    mark_one_by_one(table, redraws, one_by_one, every)
    for laid in last:
        MARKED[type(laid.item)](redraws, table, laid)
    table.deduct()
    return table


def mark_one_by_one(
    table: MarkedRedraws, redraws: Resamples, items: Collection[ItemPlan], columns: Ints
) -> None:
    """Mark some items in some redraws as the record is marked."""
    if not items or not len(columns):
        return
    plan = table.plan
    only = frozenset(laid.index for laid in items)
    for column in columns:
        resample = Resample(plan, *redraws.times.of(column))
        for marked in mark(plan, resample, only):
            table.put(marked, np.array([column]))


def _mark_windows(redraws: Resamples, table: MarkedRedraws, items: Collection[ItemPlan]) -> None:
    """Mark the items that use performances up or not, each group by itself."""
    groups: dict[tuple[str, ...] | int, list[ItemPlan]] = {}
    for laid in items:
        together = redraws.plan.groups[laid.actions[0]] if laid.actions else laid.index
        groups.setdefault(together, []).append(laid)
    every = np.arange(table.number)
    for together, laid_out in groups.items():
        left: Flags | None = redraws.flags()
        opened: list[tuple[ItemPlan, list[Occasions]]] = []
        for laid in laid_out:
            occasions, late = OPENED[type(laid.item)](redraws, laid)
            left = left | late if left is not None else None
            opened.append((laid, occasions))
        flat = [occasion for _, occasions in opened for occasion in occasions]
        if isinstance(together, tuple):
            competing = share_out(redraws, together, flat)
            left = None if competing is None or left is None else left | competing
        elif not window_arrays.match_what_uses_nothing_up(redraws, flat):
            left = None
        if left is None:
            mark_one_by_one(table, redraws, laid_out, every)
            continue
        for laid, occasions in opened:
            window_arrays.settle(redraws, table, laid, occasions, left)
        mark_one_by_one(table, redraws, laid_out, np.flatnonzero(left))
