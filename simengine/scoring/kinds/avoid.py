"""``avoid``: not advised here. No credit: a deduction from the session's total alone.

Rules of this file:

- Each time that the action is done within ``during`` is one occurrence.
- Each unbroken stretch in which the condition holds for ``lasting`` (at least, and longer than
  0 ms), cut to ``during``, is one occurrence.
"""

from __future__ import annotations

from simengine.scenario.key import AskedAction, Avoid
from simengine.scenario.model import Scenario
from simengine.scoring.card import Evidence
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide, condition_subject
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.sentences import VerdictSentences
from simengine.session.record import Interval


class AvoidKind(ItemKind[Avoid]):
    """``avoid``."""

    name = "avoid"
    credited = False

    def subject(self, item: Avoid, scenario: Scenario) -> Subject:
        if isinstance(item.what, AskedAction):
            return item.what.action, None
        if item.condition is None:
            return None, None
        return condition_subject(item.condition, scenario)

    def prepare(self, guide: ItemGuide, item: Avoid, scenario: Scenario) -> None:
        guide.condition = item.condition

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        what = self.item(plan).what
        return isinstance(what, AskedAction) and what.action not in done

    def settle(self, resample: Resample, marked: Marked) -> None:
        marked.occurred = occurrences(resample, marked.plan)
        marked.verdict = "done in error" if marked.occurred else "not done"
        marked.deducted = deduction(self.item(marked.plan), len(marked.occurred))

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        if not marked.occurred:
            return words.say("avoided")
        return words.say(
            "not_avoided",
            times=words.times(len(marked.occurred)),
            at=", ".join(words.clock(stretch[0]) for stretch, _ in marked.occurred),
            deducted=marked.deducted * 100,
        )

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return tuple(
            words.run_evidence(run)
            if run is not None
            else Evidence(None, stretch[0], words.say("stretch", when=words.interval(*stretch)))
            for stretch, run in marked.occurred
        )


def occurrences(resample: Resample, plan: ItemPlan) -> list[tuple[Interval, Run | None]]:
    """Return each occurrence: its stretch (ms) and, for an action, the performance."""
    item = plan.item
    assert isinstance(item, Avoid)
    if isinstance(item.what, AskedAction):
        runs = resample.counting(item.what.action, item.accepts)
        return [((run.start, run.stop), run) for run in runs if done_within(plan, run.start)]
    assert plan.condition is not None
    return [
        (stretch, None)
        for entry, exit_ in plan.during
        for stretch in resample.truth(plan.condition, entry, exit_)
        if stretch[1] - stretch[0] >= (item.lasting_ms or 0)
    ]


def deduction(item: Avoid, number: int) -> float:
    """Return what ``number`` occurrences take from the total, a fraction of 1."""
    amount = item.deduct * number
    return amount if item.at_most is None else min(amount, item.at_most)
