"""The array form of ``respond``: its occasions in every redraw."""

from __future__ import annotations

import numpy as np

from simengine.scenario.conditions import All, AnyOf, Condition, Not, Observed
from simengine.scenario.key import Respond
from simengine.scoring.at_once.occasions import Occasions
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.stretches import Flags, Ints, clipped, same_in_all
from simengine.scoring.at_once.truths import truth
from simengine.scoring.kinds.expect_arrays import first_entry
from simengine.scoring.occasion import LAST
from simengine.scoring.plan import ItemPlan
from simengine.session.record import NEVER


def occasions_of(redraws: Resamples, plan: ItemPlan) -> tuple[list[Occasions], Flags]:
    """Return the occasions of an item, and the redraws that are to be marked one by one.

    Those are the redraws in which one may have opened only because a start was recorded late.
    """
    item = plan.item
    assert isinstance(item, Respond)
    end = redraws.plan.end
    out: list[Occasions] = []
    late = redraws.flags()
    declared_in = [entry for entry, _ in redraws.plan.declared]
    for at, began, ends in _openings(redraws, plan, item):
        exists = at < NEVER
        if not exists.any():
            continue
        late |= _recorded_late(redraws, plan, at)
        close = redraws.same(end)
        if not item.even_if_resolved:
            close = np.where(ends < at + item.ideal_ms, ends, close)
        entry = first_entry(declared_in, at, at_entry=False)
        declared = exists & (entry <= close)
        out.append(
            Occasions(
                plan,
                exists,
                at,
                LAST,
                np.where(declared, entry, close),
                declared,
                began=began,
            )
        )
    return out, late


def _openings(redraws: Resamples, plan: ItemPlan, item: Respond) -> list[tuple[Ints, Ints, Ints]]:
    """Return (opens, began, ends) for each stretch; it opens ``NEVER`` where none does."""
    condition = plan.condition
    assert condition is not None
    out: list[tuple[Ints, Ints, Ints]] = []
    for entry, exit_ in plan.during:
        whole = clipped(truth(redraws, condition), entry, exit_)
        begins = np.where(whole.starts < whole.ends, whole.starts, NEVER)
        going = same_in_all([(entry, exit_)])
        if plan.goes_on is plan.condition:
            going = whole
        elif plan.goes_on is not None:
            going = clipped(truth(redraws, plan.goes_on), entry, exit_)
        for start, ends in zip(going.starts, going.ends, strict=True):
            ends = np.broadcast_to(ends, (redraws.number,))
            since = (begins >= start) & (begins < ends) & (start < ends)
            began = np.where(since, begins, NEVER).min(axis=0, initial=NEVER)
            began = np.broadcast_to(began, (redraws.number,))
            some = began < NEVER
            opens = np.where(some, began + item.lasting_ms, NEVER)
            if not item.unseen:
                known = _known_from(redraws, condition, began, ends)
                opens = np.where(some, np.maximum(opens, known), NEVER)
            out.append((np.where(opens < ends, opens, NEVER), began, ends))
    return out


def _known_from(redraws: Resamples, condition: Condition, began: Ints, ends: Ints) -> Ints:
    """The first instant of a stretch at which the team knew that the condition was true."""
    if isinstance(condition, All | AnyOf):
        parts = [_known_from(redraws, part, began, ends) for part in condition.parts]
        if isinstance(condition, AnyOf):
            return np.asarray(np.min(parts, axis=0)) if parts else redraws.same(NEVER)
        return np.asarray(np.max(parts, axis=0)) if parts else began
    leaf = condition.part if isinstance(condition, Not) else condition
    true = clipped(truth(redraws, condition), began, ends)
    first = redraws.same(NEVER)
    if not isinstance(leaf, Observed):
        starts = np.where(true.starts < true.ends, true.starts, NEVER)
        return np.asarray(np.minimum(first, starts.min(axis=0, initial=NEVER)))
    sensed = redraws.readings(leaf.observation)
    for start, stop in zip(true.starts, true.ends, strict=True):
        for begin, finish in zip(sensed.streams.starts, sensed.streams.ends, strict=True):
            instant = np.maximum(start, begin)
            reads = instant < np.minimum(stop, finish)
            first = np.where(reads, np.minimum(first, instant), first)
        for instant in sensed.snapshots:
            reads = (start <= instant) & (instant < stop)
            first = np.where(reads, np.minimum(first, instant), first)
    return first


def _recorded_late(redraws: Resamples, plan: ItemPlan, at: Ints) -> Flags:
    """Whether something that the condition names was noted after *a*, and begun before it."""
    late = redraws.flags()
    opened = at < NEVER
    for action in plan.guide.names.actions:
        runs = redraws.runs((action,))
        start, _ = redraws.counting(action)
        noted = runs.by_source(lambda known: known.noted, np.int64)
        late |= ((start < at) & (at < noted)).any(axis=0) & opened
    return late
