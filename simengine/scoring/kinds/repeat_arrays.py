"""The array form of ``repeat``."""

from __future__ import annotations

import numpy as np

from simengine.scenario.key import AskedAction, AskedKnowledge, Repeat
from simengine.scoring.at_once.cues import after_a_cue
from simengine.scoring.at_once.during import done_within
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs, any_of
from simengine.scoring.at_once.stretches import Flags, Ints, Stretches
from simengine.scoring.at_once.table import CODE, MarkedRedraws
from simengine.scoring.at_once.tellings import readings_of, tellings_of
from simengine.scoring.plan import ItemPlan
from simengine.scoring.totals import TEAM
from simengine.session.record import NEVER


def mark(redraws: Resamples, table: MarkedRedraws, plan: ItemPlan) -> bool:
    """Mark the item in every redraw; false where that is to be done one by one."""
    item, index = plan.item, plan.index
    assert isinstance(item, Repeat)
    if item.spoken:
        return False
    reach = item.every_ms + item.grace_ms
    start, stop, seq = _covering(redraws, item)
    spells = _apart(Stretches(start, np.where(start < NEVER, stop + reach, NEVER)))
    covered, counted = redraws.same(0), redraws.same(0)
    for entry, exit_ in plan.during:
        if exit_ - entry <= reach:
            continue
        settled = entry + reach
        covered += _overlap(spells, entry, exit_)
        counted += exit_ - settled + _overlap(spells, entry, settled)
    table.give_share(index, np.where(counted > 0, covered / np.maximum(counted, 1), np.nan))
    nothing = (counted > 0) & (covered == 0)
    if nothing.any():
        table.verdict[index] = np.where(
            nothing & _attempted(redraws, plan, item), CODE["attempted"], table.verdict[index]
        )
        table.verdict[index] = np.where(
            nothing & _said_wrong(redraws, plan, item), CODE["told wrong"], table.verdict[index]
        )
    prompts = plan.guide.prompts
    if item.importance == "essential" and any(name in redraws.plan.cues for name in prompts):
        within = (start < NEVER) & done_within(plan, start) & (counted > 0)
        for here, begun, place in zip(within, start, seq, strict=True):
            answers = after_a_cue(redraws, prompts, begun, place, redraws.same(0))
            table.with_cue[index] |= here & answers
    table.as_a_whole(plan, item.role or TEAM)
    return True


def _covering(redraws: Resamples, item: Repeat) -> tuple[Ints, Ints, Ints]:
    """Start, stop and ``seq`` of what covers time; start ``NEVER`` for what does not."""
    subject = item.asked
    if isinstance(subject, AskedKnowledge):
        readings = readings_of(redraws, subject.observation)
        if not subject.told:
            return readings.start, readings.stop, _wide(readings)
        streams = np.where(readings.stop > readings.start, readings.start, NEVER)
        near = tellings_of(redraws, subject.observation).near
        return (
            np.concatenate([streams, near.start]),
            np.concatenate([readings.stop, near.stop]),
            np.concatenate([_wide(readings), _wide(near)]),
        )
    runs = redraws.runs(subject.actions)
    counts = runs.by_source(lambda known: known.way in item.accepts and not known.as_found)
    return np.where(counts, runs.start, NEVER), runs.stop, _wide(runs)


def _wide(runs: Runs) -> Ints:
    """``seq`` of runs in every redraw."""
    return np.broadcast_to(runs.seq, runs.start.shape)


def _apart(spells: Stretches) -> Stretches:
    """Spells in order of start, each cut to what those before it leave."""
    starts, ends = spells
    if len(starts) > 1:
        order = np.argsort(starts, axis=0, kind="stable")
        starts = np.take_along_axis(starts, order, axis=0)
        ends = np.take_along_axis(ends, order, axis=0)
        covered = np.maximum.accumulate(np.where(starts < NEVER, ends, 0), axis=0)
        starts = starts.copy()
        starts[1:] = np.maximum(starts[1:], covered[:-1])
    return Stretches(starts, ends)


def _overlap(spells: Stretches, start: int, end: int) -> Ints:
    inside: Ints = np.maximum(
        np.minimum(spells.ends, end) - np.maximum(spells.starts, start), 0
    ).sum(axis=0)
    return inside


def _attempted(redraws: Resamples, plan: ItemPlan, item: Repeat) -> Flags:
    """Whether it was done in the stays in other ways than those that count."""
    runs = redraws.runs(plan.guide.asked_actions)
    other = runs.by_source(lambda known: known.way not in item.accepts) & runs.counts
    return any_of(other & done_within(plan, runs.start))


def _said_wrong(redraws: Resamples, plan: ItemPlan, item: Repeat) -> Flags:
    """Whether values were said in the stays, but far from the truth."""
    subject = item.asked
    if isinstance(subject, AskedAction) or not subject.told:
        return redraws.flags()
    wrong = tellings_of(redraws, subject.observation).wrongly_said
    return any_of((wrong < NEVER) & done_within(plan, wrong))
