"""The array form of ``window``: occasions of an item in every redraw, opened and settled."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simengine.scenario.key import AskedAction, AskedKnowledge, Windowed
from simengine.scoring.at_once.changes import can_match, match_changes
from simengine.scoring.at_once.cues import after_a_cue
from simengine.scoring.at_once.occasions import (
    Matches,
    Occasions,
    Serving,
    best_in_order,
    matched,
    worth_of,
)
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs, last_of, picked
from simengine.scoring.at_once.stretches import Flags, Ints
from simengine.scoring.at_once.table import CODE, MarkedRedraws
from simengine.scoring.at_once.tellings import readings_of, tellings_of
from simengine.scoring.card import EQUAL
from simengine.scoring.kinds.window import WORST_FIRST
from simengine.scoring.occasion import RECORDED_BEFORE_MS
from simengine.scoring.plan import ItemPlan
from simengine.scoring.totals import TEAM

_CODES = np.array([CODE[verdict] for verdict in WORST_FIRST], dtype=np.int8)
_RANK = {verdict: rank for rank, verdict in enumerate(WORST_FIRST)}


def match_what_uses_nothing_up(redraws: Resamples, occasions: Sequence[Occasions]) -> bool:
    """Match what asks for knowledge or a change; false where that is to be done one by one."""
    for occasion in occasions:
        item = occasion.plan.item
        assert isinstance(item, Windowed)
        subject = item.asked
        if isinstance(subject, AskedKnowledge):
            _match_knowledge(redraws, occasion, subject)
        elif not isinstance(subject, AskedAction):
            if not can_match(subject):
                return False
            match_changes(redraws, occasion, subject)
    return True


def settle(
    redraws: Resamples,
    table: MarkedRedraws,
    plan: ItemPlan,
    occasions: Sequence[Occasions],
    left: Flags,
) -> None:
    """Give an item its credit and verdict in every redraw but those that are ``left``."""
    item, index = plan.item, plan.index
    assert isinstance(item, Windowed)
    width = redraws.number
    total, number = np.zeros(width), np.zeros(width, dtype=np.int64)
    worst, worst_rank = np.full(width, 2.0), np.zeros(width, dtype=np.int64)
    for occasion in occasions:
        occasion.exists = occasion.exists & ~left
        occasion.reached = occasion.reached & ~left
        _nothing_serves(occasion, item.ideal_ms)
        counts = occasion.reached
        rank = _rank(occasion, item)
        credit = occasion.match.credit
        total += np.where(counts, credit, 0.0)
        number += counts
        worse = counts & (
            (credit < worst - EQUAL) | ((rank < worst_rank) & (credit <= worst + EQUAL))
        )
        worst, worst_rank = np.where(worse, credit, worst), np.where(worse, rank, worst_rank)
        table.wholly_off[index] |= counts & occasion.match.wholly_off
    reached = number > 0
    table.credit[index] = np.where(reached, total / np.maximum(number, 1), np.nan)
    verdict = np.full(width, CODE["not reached"], dtype=np.int8)
    opened = np.zeros(width, np.bool_)
    for occasion in occasions:
        first = occasion.exists & ~opened
        verdict[first & occasion.no_value] = CODE["not recorded"]
        opened |= occasion.exists
    table.verdict[index] = np.where(reached, _CODES[worst_rank], verdict)
    if item.must_reach:
        never = ~opened & ~left
        table.credit[index, never] = 0.0
        table.verdict[index, never] = CODE["missed"]
    if redraws.plan.cues and item.importance == "essential":
        _mark_cues(redraws, table, plan, occasions)
    _share_with_roles(table, plan, occasions, number)


def _nothing_serves(occasion: Occasions, ideal_ms: int) -> None:
    """Settle an occasion that nothing serves: not reached, early, attempted or missed."""
    nothing = occasion.reached & ~occasion.match.served
    closed = nothing & (occasion.close < occasion.at + ideal_ms) & ~occasion.declared
    occasion.reached = occasion.reached & ~closed
    if occasion.began is None:
        occasion.before = occasion.before & nothing & ~closed
    else:
        occasion.before = np.zeros_like(nothing)


def _rank(occasion: Occasions, item: Windowed) -> Ints:
    match = occasion.match
    rank = np.where(occasion.attempted, _RANK["attempted"], _RANK["missed"])
    late = np.where(match.delay < item.latest_ms, _RANK["late"], _RANK["too late"])
    done = np.where(match.unrecorded, _RANK["not recorded"], _RANK["on time"])
    done = np.where(match.off, _RANK["setting off"], done)
    done = np.where(match.delay > item.ideal_ms, late, done)
    done = np.where(match.early, _RANK["early"], done)
    done = np.where(match.wrong, _RANK["told wrong"], done)
    rank = np.where(match.served, done, rank)
    return np.where(occasion.before, _RANK["early"], rank)


def _share_with_roles(
    table: MarkedRedraws, plan: ItemPlan, occasions: Sequence[Occasions], number: Ints
) -> None:
    own = plan.item.role
    if own is not None:
        table.as_a_whole(plan, own)
        return
    share = plan.weight / np.maximum(number, 1)
    for occasion in occasions:
        match = occasion.match
        nobody = occasion.reached.copy()
        for served, run in ((match.served, match.run), (occasion.before, None)):
            here = occasion.reached & served
            if not here.any():
                continue
            place = occasion.before_run if run is None else run
            sources = match.runs.sources
            names = [source.role for source in sources]
            which = match.runs.which
            source = place if which is None else picked(which, place)
            for role in dict.fromkeys(names):
                if role is None:
                    continue
                mine = here & np.array([name == role for name in names])[source]
                if mine.any():
                    table.for_role(role, np.where(mine, share, 0.0), match.credit)
                    nobody &= ~mine
        if nobody.any():
            table.for_role(TEAM, np.where(nobody, share, 0.0), match.credit)
    alone = ~np.isnan(table.credit[plan.index]) & (number == 0)
    if alone.any():
        credit = np.nan_to_num(table.credit[plan.index])
        table.for_role(TEAM, np.where(alone, plan.weight, 0.0), credit)


def _mark_cues(
    redraws: Resamples, table: MarkedRedraws, plan: ItemPlan, occasions: Sequence[Occasions]
) -> None:
    prompts = plan.guide.prompts
    item = plan.item
    assert isinstance(item, Windowed)
    if not any(action in redraws.plan.cues for action in prompts):
        return
    previous = np.full(redraws.number, -1, dtype=np.int64)
    for occasion in occasions:
        match = occasion.match
        since = np.where(previous < 0, 0, np.minimum(occasion.at, previous + item.latest_ms))
        served = occasion.reached & match.served & ~match.early
        seq = np.broadcast_to(match.runs.seq, match.runs.start.shape)
        table.with_cue[plan.index] |= served & after_a_cue(
            redraws, prompts, picked(match.runs.start, match.run), picked(seq, match.run), since
        )
        previous = np.where(occasion.exists, occasion.at, previous)


def _match_knowledge(redraws: Resamples, occasion: Occasions, subject: AskedKnowledge) -> None:
    fresh = redraws.plan.observations[subject.observation].fresh_ms
    far: Runs | None = None
    if subject.told:
        tellings = tellings_of(redraws, subject.observation)
        near, far = tellings.near, tellings.far
    else:
        near = readings_of(redraws, subject.observation)
    match = _best_known(redraws, occasion, near, fresh)
    if far is not None and len(far):
        wrong = _best_known(redraws, occasion, far, fresh)
        takes = occasion.reached & wrong.served & (match.credit == 0.0)
        takes &= ~match.served | (wrong.credit > 0.0)
        match = _replaced(match, wrong, takes)
    occasion.match = match
    before = near.counts & (near.start < occasion.at)
    some, run = last_of(before) if len(near) else (redraws.flags(), redraws.same(0))
    occasion.before = some & occasion.reached & ~match.served
    occasion.before_run = run


def _best_known(redraws: Resamples, occasion: Occasions, runs: Runs, fresh: int) -> Matches:
    if occasion.at_entry:
        fresh = max(fresh, RECORDED_BEFORE_MS)
    start, stop, at, instant = runs.start, runs.stop, occasion.at, occasion.instant
    can = runs.counts & occasion.reached
    open_ = can & (instant <= occasion.close)
    in_force = open_ & (start <= instant) & (instant < stop)
    last = np.where(stop > start, stop, start)
    left = open_ & ~in_force & (last <= instant) & (instant - fresh <= last)
    rest = can & ~in_force & ~left
    since: Flags = np.zeros_like(rest)
    if occasion.began is not None:
        since = rest & (occasion.began <= start) & (start < at)
    after = rest & ~since & (at <= start) & (start <= occasion.close)
    counts = in_force | left | since | after
    done_at = np.where(in_force, instant, np.where(left, last, start))
    delay = np.where(since, 0, np.where(after, start - at, instant - at))
    served = Serving(counts, done_at, delay, counts, in_force)
    worth = worth_of(redraws, occasion.plan, served, runs)
    some, place = best_in_order(counts, worth.credit)
    return matched(some, place, worth, runs)


def _replaced(match: Matches, wrong: Matches, takes: Flags) -> Matches:
    """What was told wrong in the place of what served, where it takes it; it earns nothing."""
    number = len(match.runs)
    width = takes.shape[0]

    def whole(runs: Runs) -> Ints:
        rows = np.arange(len(runs))[:, None] if runs.which is None else runs.which
        return np.broadcast_to(rows, (len(runs), width))

    none = np.zeros(len(match.runs.sources) + len(wrong.runs.sources), np.bool_)
    runs = Runs(
        [*match.runs.sources, *wrong.runs.sources],
        np.concatenate([match.runs.seqs, wrong.runs.seqs]),
        np.concatenate([match.runs.start, wrong.runs.start]),
        np.concatenate([match.runs.stop, wrong.runs.stop]),
        np.concatenate([whole(match.runs), whole(wrong.runs) + len(match.runs.sources)]),
        none,
        none,
        none,
    )
    return Matches(
        match.served | takes,
        np.where(takes, 0.0, match.credit),
        np.where(takes, wrong.delay, match.delay),
        np.where(takes, wrong.early, match.early),
        takes | match.wrong,
        np.where(takes, wrong.off, match.off),
        np.where(takes, wrong.unrecorded, match.unrecorded),
        np.where(takes, wrong.wholly_off, match.wholly_off),
        runs,
        np.where(takes, wrong.run + number, match.run),
    )
