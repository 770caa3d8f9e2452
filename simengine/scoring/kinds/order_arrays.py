"""The array form of ``order``."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from simengine.scenario.key import Order
from simengine.scoring.at_once.cues import after_a_cue
from simengine.scoring.at_once.during import done_within
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import first_of, picked
from simengine.scoring.at_once.stretches import Flags, Ints
from simengine.scoring.at_once.table import CODE, MarkedRedraws
from simengine.scoring.plan import ItemPlan
from simengine.scoring.totals import TEAM
from simengine.session.record import NEVER


def mark(redraws: Resamples, table: MarkedRedraws, plan: ItemPlan) -> bool:
    """Mark the item in every redraw, all others having their credits."""
    item, index = plan.item, plan.index
    assert isinstance(item, Order)
    firsts: list[Ints] = []
    with_cue = redraws.flags()
    cues = bool(redraws.plan.cues) and item.importance == "essential"
    for member in item.members:
        runs = redraws.runs(member)
        counts = runs.by_source(lambda known: known.way in item.accepts and not known.as_found)
        counts = counts & runs.counts & done_within(plan, runs.start)
        some, place = first_of(counts)
        firsts.append(np.where(some, picked(runs.start, place), NEVER))
        if cues:
            seq = picked(np.broadcast_to(runs.seq, runs.start.shape), place)
            start = np.where(some, firsts[-1], 0)
            with_cue |= some & after_a_cue(redraws, member, start, seq, redraws.same(0))
    pairs, met = redraws.same(0), redraws.same(0)
    wrong = redraws.flags()
    for number, (earlier, later) in enumerate(pairwise(firsts), start=1):
        never = later == NEVER
        both = ~never & (earlier < NEVER)
        pairs += ~never | _is_asked(table, item.members[number])
        met += both & (earlier <= later)
        wrong |= both & (earlier > later)
    done = np.min(firsts, axis=0) < NEVER
    reached = done & (pairs > 0)
    credit = np.where(reached, met / np.maximum(pairs, 1), np.nan)
    verdict = np.where(wrong, CODE["out of order"], CODE["missed"])
    verdict = np.where(credit > 0.0, CODE["partly"], verdict)
    verdict = np.where(credit >= 1.0, CODE["in order"], verdict)
    verdict = np.where(reached, verdict, CODE["not reached"])
    declared = any(
        entry <= at <= exit_ for at, _ in redraws.plan.declared for entry, exit_ in plan.during
    )
    if declared:
        credit = np.where(done, credit, 0.0)
        verdict = np.where(done, verdict, CODE["missed"])
    table.credit[index], table.verdict[index] = credit, verdict
    table.with_cue[index] = with_cue & reached
    table.as_a_whole(plan, item.role or TEAM)
    return True


def _is_asked(table: MarkedRedraws, member: tuple[str, ...]) -> Flags:
    """Whether an item which applied asks for any of some actions."""
    applies: Flags = np.zeros(table.number, np.bool_)
    for other in table.plan.items:
        if other.item.asked is None:
            continue
        if not set(member).isdisjoint(other.guide.asked_actions):
            applies |= ~np.isnan(table.credit[other.index])
    return applies
