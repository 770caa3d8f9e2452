"""The array form of ``expect``: its occasions in every redraw."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simengine.scenario.key import AskedAction, Expect
from simengine.scoring.at_once.occasions import Occasions
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.stretches import Flags, Ints
from simengine.scoring.occasion import FIRST, LAST
from simengine.scoring.plan import ItemPlan
from simengine.session.readings import COUNTS
from simengine.session.record import NEVER

Anchor = tuple[Ints, Ints | float, Ints | None]
"""(instant, place within its ms, own run) in every redraw; ``NEVER`` where it did not happen."""


def occasions_of(redraws: Resamples, plan: ItemPlan) -> tuple[list[Occasions], Flags]:
    """Return the occasions of an item, and the redraws that are to be marked one by one."""
    item = plan.item
    assert isinstance(item, Expect)
    end = redraws.plan.end
    at_entry = item.anchor.kind == "state"
    out: list[Occasions] = []
    some, since = redraws.flags(), redraws.same(0)
    for at, order, own in _anchors(redraws, item):
        exists = at <= end
        if not item.each:
            exists = exists & ~some
        close = redraws.same(end)
        if item.during:
            inside, left = _stay(plan, at, item)
            exists = exists & inside
            close = np.minimum(close, left)
        close = np.minimum(close, first_entry(plan.closing, at, at_entry=at_entry))
        declared_at = first_entry(
            [entry for entry, _ in redraws.plan.declared], at, at_entry=at_entry
        )
        declared = declared_at <= close
        out.append(
            Occasions(
                plan,
                exists,
                np.where(exists, at, NEVER),
                order,
                np.where(declared, declared_at, close),
                declared,
                own=own,
                at_entry=at_entry,
                since=since,
            )
        )
        some, since = some | exists, np.where(exists, at, since)
    return out, redraws.flags()


def _anchors(redraws: Resamples, item: Expect) -> list[Anchor]:
    plan, kind, name = redraws.plan, item.anchor.kind, item.anchor.name or ""
    if kind == "clock":
        zero = redraws.clock
        return [] if zero is None else [(zero, float(plan.clock_seq), None)]
    if kind == "state":
        return [
            (redraws.same(entry), LAST if entry > 0 else FIRST, None)
            for entry in plan.entries.get(name, ())
        ]
    if kind == "action":
        same = isinstance(item.asked, AskedAction) and name in item.asked.actions
        runs = redraws.runs((name,))
        counts = runs.by_source(lambda known: known.way in COUNTS and not known.as_found)
        starts = np.where(counts, runs.start, NEVER)
        seqs = np.broadcast_to(runs.seq, runs.start.shape)
        return [
            (start, seq, seq if same else None) for start, seq in zip(starts, seqs, strict=True)
        ]
    if kind == "fault":
        events = redraws.faults(name)
        planted = events.by_source(lambda event: event.status == "planted")
        starts = np.where(planted, events.start, NEVER)
        seqs = np.broadcast_to(events.seq, events.start.shape)
        return [(start, seq, None) for start, seq in zip(starts, seqs, strict=True)]
    return [(redraws.same(0), FIRST, None)]


def _stay(plan: ItemPlan, at: Ints, item: Expect) -> tuple[Flags, Ints]:
    """Whether *a* lies in a stay of ``during``, and when the first such is left."""
    inside, left = np.zeros(at.shape, np.bool_), np.full(at.shape, NEVER, dtype=np.int64)
    by_itself = item.anchor.kind in ("state", "start")
    for entry, exit_ in plan.during:
        within = (entry <= at) & (at < exit_)
        if not by_itself:
            within = np.where(at == 0, within, (entry < at) & (at <= exit_))
        left = np.where(within & ~inside, exit_, left)
        inside |= within
    return inside, left


def first_entry(entries: Sequence[int], at: Ints, *, at_entry: bool) -> Ints:
    """Return the first of some entries at or after *a*; after it, where *a* is itself an entry."""
    first = np.full(at.shape, NEVER, dtype=np.int64)
    for entry in reversed(entries):
        first = np.where(at < entry if at_entry else at <= entry, entry, first)
    return first
