"""``order``: first performances are asked in this order.

Rules of this file:

- 0 if a later one was done and an earlier one never, or if first performances are out of order;
  else 1 if at least two were done or the last was; else not reached. Equal times are in order.
- Within ``during`` a performance belongs to the state that it was done in: one at the very ms of
  an entry belongs to the state that is left.
"""

from __future__ import annotations

from simengine.scenario.key import Order
from simengine.scenario.model import Scenario
from simengine.scoring.card import Evidence
from simengine.scoring.cued import run_is_cued
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.sentences import VerdictSentences


class OrderKind(ItemKind[Order]):
    """``order``."""

    name = "order"
    last = True

    def subject(self, item: Order, scenario: Scenario) -> Subject:
        return item.actions[0], None

    def prepare(self, guide: ItemGuide, item: Order, scenario: Scenario) -> None:
        guide.asked_actions = item.actions

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        return done.isdisjoint(plan.guide.asked_actions)

    def settle(self, resample: Resample, marked: Marked) -> None:
        item = self.item(marked.plan)
        firsts = first_runs(resample, marked.plan)
        marked.runs = firsts
        marked.credit = order_credit(firsts)
        if marked.credit is None:
            marked.why = "no occasion"
            return
        marked.verdict = "in order" if marked.credit else "out of order"
        if resample.plan.cues:
            marked.cued = any(
                run is not None and run_is_cued(resample, action, run)
                for action, run in zip(item.actions, firsts, strict=True)
            )

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        item = self.item(marked.plan)
        asked = ", then ".join(words.label_inside(action) for action in item.actions)
        done = [
            words.say("done_at", label=words.label_inside(action), when=words.clock(run.start))
            for action, run in zip(item.actions, marked.runs, strict=True)
            if run is not None
        ]
        never = [
            words.label_inside(action)
            for action, run in zip(item.actions, marked.runs, strict=True)
            if run is None
        ]
        if never:
            return words.say(
                "order_missing", done=", ".join(done), missing=", ".join(never), asked=asked
            )
        return words.say("order_done", done=", ".join(done), asked=asked)

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return words.runs_evidence(marked.runs)


def first_runs(resample: Resample, plan: ItemPlan) -> list[Run | None]:
    """Return the first performance of each action, in the order asked."""
    item = plan.item
    assert isinstance(item, Order)
    return [
        next(
            (
                run
                for run in resample.counting(action, item.accepts)
                if done_within(plan, run.start)
            ),
            None,
        )
        for action in item.actions
    ]


def order_credit(firsts: list[Run | None]) -> float | None:
    """Return 1, 0 or ``None`` (not reached)."""
    missing = False
    latest = -1
    done = 0
    for run in firsts:
        if run is None:
            missing = True
            continue
        if missing or run.start < latest:
            return 0.0
        latest = run.start
        done += 1
    if done >= 2 or firsts[-1] is not None:
        return 1.0
    return None
