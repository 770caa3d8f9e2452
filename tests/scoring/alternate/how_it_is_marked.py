"""``alternate``: two actions are to take turns; neither may follow itself.

Rules of this file:

- Credit: the share of the adjoining performances that are of two actions.
- Not reached with fewer than two performances.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from simengine.scenario.model import Scenario
from simengine.scoring.card import Evidence
from simengine.scoring.catalogue import say
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.verdict_sentences import VerdictSentences
from tests.scoring.alternate.what_it_is import Alternate


class AlternateKind(ItemKind[Alternate]):
    """``alternate``."""

    def subject(self, item: Alternate, scenario: Scenario) -> Subject:
        return item.actions[0], None

    def prepare(self, guide: ItemGuide, item: Alternate, scenario: Scenario) -> None:
        guide.asked_actions = item.actions
        guide.kit = tuple((action,) for action in item.actions)

    def settle(self, resample: Resample, marked: Marked) -> None:
        runs = done(resample, marked.plan)
        marked.runs = list(runs)
        pairs = [before.action != after.action for before, after in pairwise(runs)]
        if not pairs:
            marked.why = "no occasion"
            return
        marked.credit = sum(pairs) / len(pairs)
        verdicts: dict[bool, Literal["in order", "out of order"]]
        verdicts = {True: "in order", False: "out of order"}
        marked.verdict = "partly" if 0 < marked.credit < 1 else verdicts[all(pairs)]

    def asks(self, item: Alternate, scenario: Scenario) -> str:
        labels = [scenario.vocabulary.actions[action].label for action in item.actions]
        return say("asked_alternate", first=labels[0], second=labels[1])

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        return words.say("alternated", number=len(marked.runs))

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return words.runs_evidence(marked.runs)


KIND = AlternateKind()


def done(resample: Resample, plan: ItemPlan) -> list[Run]:
    item = plan.item
    return [run for run in resample.runs_of(item.actions) if run.is_in(item.accepts)]
