"""The array form of ``avoid``, and of what is unsafe in any baby."""

from __future__ import annotations

import numpy as np

from simengine.scenario.key import Avoid, GivenAgain, GivenDose
from simengine.scoring.at_once.during import in_stays
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.stretches import (
    NOWHERE,
    Flags,
    Ints,
    Stretches,
    clipped,
    holds,
    same_in_all,
)
from simengine.scoring.at_once.table import CODE, MarkedRedraws
from simengine.scoring.at_once.truths import both, truth
from simengine.scoring.kinds.avoid import LASTING_MS, care_actions, is_wrong
from simengine.scoring.plan import ItemPlan, KnownPerformance
from simengine.session.readings import COUNTS
from simengine.session.record import NEVER


def mark(redraws: Resamples, table: MarkedRedraws, plan: ItemPlan) -> bool:
    """Mark the item in every redraw; false where that is to be done one by one."""
    item = plan.item
    assert isinstance(item, Avoid)
    stays = same_in_all(plan.during)
    if item.never:
        if redraws.care is None:
            redraws.care = _care(redraws)
        stays = redraws.care
    if plan.condition is not None:
        happened = _while_it_holds(redraws, plan, stays)
    else:
        if isinstance(item.what, GivenDose) and _adds_up(redraws, plan):
            return False
        if isinstance(item.what, GivenAgain) and len(redraws.runs(plan.guide.watch).sources) > 1:
            return False
        happened = _done(redraws, plan, item, stays)
    starts, stops = [], []
    for start, stop in happened:
        start, stop = np.broadcast_to(start, (redraws.number,)), np.broadcast_to(stop, start.shape)
        if (start < NEVER).any():
            starts.append(start)
            stops.append(stop)
    if starts:
        table.occurred[plan.index] = np.stack(starts), np.stack(stops)
    occurred = table.has_occurred(plan.index)
    table.verdict[plan.index] = np.where(occurred, CODE["done in error"], CODE["not done"])
    return True


Occurrences = list[tuple[Ints, Ints]]
"""(start, stop) in ms of each, ``NEVER`` where there is none."""


def _while_it_holds(redraws: Resamples, plan: ItemPlan, stays: Stretches) -> Occurrences:
    guide = plan.guide
    condition = plan.condition
    assert condition is not None
    if guide.only_while is not None:
        condition = both(redraws, condition, guide.only_while)
    where = truth(redraws, condition)
    touched = redraws.same(0)
    if guide.asked_settings:
        touched = redraws.same(redraws.plan.end + 1)
        for setting in guide.asked_settings:
            steps = redraws.steps(setting)
            by_hand = np.where(~steps.of(steps.found), steps.start, NEVER)
            touched = np.minimum(touched, by_hand.min(axis=0, initial=NEVER))
    out: Occurrences = []
    for entry, exit_ in zip(*stays, strict=True):
        within = clipped(where, np.maximum(entry, touched), exit_)
        out += _long_enough(within, guide.lasting_ms)
    return out


def _long_enough(stretches: Stretches, lasting_ms: int) -> Occurrences:
    return [
        (np.where((stop > start) & (stop - start >= lasting_ms), start, NEVER), stop)
        for start, stop in zip(*stretches, strict=True)
    ]


def _done(redraws: Resamples, plan: ItemPlan, item: Avoid, stays: Stretches) -> Occurrences:
    runs = redraws.runs(plan.guide.watch)
    starts, stops = runs.start, runs.stop
    if runs.which is not None:
        back = np.argsort(runs.which, axis=0)
        starts = np.take_along_axis(starts, back, axis=0)
        stops = np.take_along_axis(stops, back, axis=0)
    out: Occurrences = []
    for known, start, stop in zip(runs.sources, starts, stops, strict=True):
        assert isinstance(known, KnownPerformance)
        if known.as_found or known.way not in item.accepts or known.seq in plan.followers:
            continue
        if isinstance(item.what, GivenDose):
            if not _is_wrong(redraws, known, item.what):
                continue
        elif isinstance(item.what, GivenAgain):
            # The only one: where there are several they are marked one by one.
            continue
        elif not (item.begun or known.momentary):
            out += _running(redraws, plan, stays, start, stop)
            continue
        counts = (start < NEVER) & _is_in(start, stays, plan, item)
        counts = counts & _holds_at(redraws, plan, start)
        out.append((np.where(counts, start, NEVER), start))
    return out


def _running(
    redraws: Resamples, plan: ItemPlan, stays: Stretches, start: Ints, stop: Ints
) -> Occurrences:
    """The stretches in which something lasting runs where it is not advised."""
    lasting, only_while = plan.guide.lasting_ms, plan.guide.only_while
    out: Occurrences = []
    for entry, exit_ in zip(*stays, strict=True):
        begin, end = np.maximum(entry, start), np.minimum(exit_, stop)
        if only_while is None:
            out += _long_enough(Stretches(begin[None], end[None]), lasting)
        else:
            out += _long_enough(clipped(truth(redraws, only_while), begin, end), lasting)
    return out


def _is_in(at: Ints, stays: Stretches, plan: ItemPlan, item: Avoid) -> Flags:
    if item.during and not item.never:
        return in_stays(plan.during, at)
    inside = np.zeros(at.shape, np.bool_)
    for entry, exit_ in zip(*stays, strict=True):
        inside |= (entry <= at) & (at <= exit_)
    return inside


def _holds_at(redraws: Resamples, plan: ItemPlan, at: Ints) -> Flags:
    guide = plan.guide
    out = redraws.flags(value=True)
    for part in guide.at_instant:
        out &= holds(truth(redraws, part), at[None])[0]
    for part in guide.for_a_while:
        held = redraws.flags()
        for start, stop in zip(*truth(redraws, part), strict=True):
            held |= (start <= at - guide.lasting_ms) & (at < stop)
        out &= held
    return out


def _is_wrong(redraws: Resamples, known: KnownPerformance, what: GivenDose) -> bool:
    """Whether a dose is wrong by itself, no other being added to it."""
    scenario = redraws.plan.session.scenario
    entry = scenario.vocabulary.actions[known.action].dose
    alone = entry is None or not entry.in_parts or known.way in COUNTS
    return is_wrong(scenario, known, what, [known] if alone else [])


def _adds_up(redraws: Resamples, plan: ItemPlan) -> bool:
    """Whether amounts given in parts may have to be added up."""
    scenario = redraws.plan.session.scenario
    for action in plan.guide.watch:
        entry = scenario.vocabulary.actions[action].dose
        if entry is not None and entry.in_parts and len(redraws.runs((action,))) > 1:
            return True
    return False


def _care(redraws: Resamples) -> Stretches:
    """The time from time zero to a state that ends, or to the decision to stop."""
    plan = redraws.plan
    session = plan.session
    scenario = session.scenario
    start = redraws.same(0) if scenario.start.clock is None else redraws.clock
    if start is None:
        return NOWHERE
    last = min(
        [plan.end, *(stay.entry_ms for stay in session.stays if scenario.states[stay.state].ends)]
    )
    end = redraws.same(last)
    for action in scenario.vocabulary.actions.values():
        if action.stops_care:
            runs = redraws.runs((action.name,))
            on_baby = runs.by_source(
                lambda known: known.way in ("done", "simulated", "said") and not known.as_found
            )
            latest = np.zeros_like(end)
            for name in care_actions(plan):
                care = redraws.runs((name,))
                begun = care.by_source(lambda known: known.way in COUNTS and not known.as_found)
                there = begun & (care.start < NEVER)
                latest = np.maximum(latest, np.where(there, care.start, 0).max(axis=0, initial=0))
            stops = on_baby & (runs.start >= latest - LASTING_MS)
            stopped = np.where(stops, runs.start, NEVER).min(axis=0, initial=NEVER)
            end = np.minimum(end, stopped)
    there = start < end
    return Stretches(np.where(there, start, NEVER)[None], np.where(there, end, NEVER)[None])
