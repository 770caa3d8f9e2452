"""``order``: first performances are asked in this order.

Rules of this file:

- The credit is the share of the adjoining pairs whose two first performances were both done and in
  order; equal times are in order. A member may be any of several actions: its first is the first of
  any of them. What the scenario itself starts with is no performance.
- A pair is left out whose later one was never done and that no item which applied asks for. With
  none left, or none done, it is not reached; with none done when the team called its work done, it
  is missed.
- 1 reads ``in order``; 0 ``out of order`` where two were done in the wrong order, else ``missed``;
  between them ``partly``.
- Within ``during`` a performance belongs to the state that it was done in: one at the very ms of
  an entry belongs to the state that is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from simengine.scenario.key import Order
from simengine.scenario.model import Scenario
from simengine.scoring.card import Evidence, Verdict
from simengine.scoring.catalogue import say
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.traces import Trace, done_traces
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.scoring.with_cue import run_with_cue
from simengine.session.record import Interval


class OrderKind(ItemKind[Order]):
    """``order``."""

    last = True

    def subject(self, item: Order, scenario: Scenario) -> Subject:
        return item.actions[0], None

    def prepare(self, guide: ItemGuide, item: Order, scenario: Scenario) -> None:
        guide.asked_actions = item.actions
        guide.kit = item.members

    def settle_last(self, resample: Resample, marked: Marked, every: Sequence[Marked]) -> None:
        item, plan = self.item(marked.plan), marked.plan
        firsts = first_runs(resample, plan)
        marked.runs = firsts
        if not any(firsts):
            if any(_lies_in(entry, plan.during) for entry, _ in resample.plan.declared):
                marked.credit, marked.verdict, marked.why = 0.0, "missed", "declared"
            else:
                marked.why = "no occasion"
            return
        actions_of_others = frozenset(
            action
            for other in every
            if other.credit is not None and other.plan.item.asked is not None
            for action in other.plan.guide.asked_actions
        )
        marked.credit = order_credit(item, firsts, actions_of_others)
        if marked.credit is None:
            marked.why = "no occasion"
            return
        marked.verdict = _verdict(marked.credit, firsts)
        if resample.plan.cues:
            marked.with_cue = any(
                run is not None and run_with_cue(resample, member, run)
                for member, run in zip(item.members, firsts, strict=True)
            )

    def asks(self, item: Order, scenario: Scenario) -> str:
        labels = [scenario.vocabulary.actions[name].label for name in item.actions]
        return say("asked_order") + say("asked_order_then").join(labels)

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        item = self.item(marked.plan)
        order = ", then ".join(words.doing(member) for member in item.members)
        if marked.why == "declared":
            declared = words.declared()
            otherwise = [
                _not_in_order(words, member, item)
                for member in item.members
                if _traces(words.resample, member, item)
            ]
            if otherwise:
                held = ", ".join(otherwise)
                return words.say("order_otherwise", held=held, said=declared, asked=order)
            return words.say("order_declared", said=declared, asked=order)
        runs = sorted((run for run in marked.runs if run is not None), key=lambda run: run.start)
        done = [
            words.say("done_at", doing=words.doing((run.action,)), when=words.clock(run.start))
            for run in runs
        ]
        missing: list[str] = []
        uncounted: list[str] = []
        for member, run in zip(item.members, marked.runs, strict=True):
            if run is None:
                traces = _traces(words.resample, member, item)
                (uncounted if traces else missing).append(_not_in_order(words, member, item))
        if marked.verdict == "in order":
            return words.say("order_kept", done=", then ".join(done))
        parts = [words.say("order_done", done=", then ".join(done))]
        parts += [words.say("order_missing", missing=", ".join(missing))] if missing else []
        parts += [words.say("order_held", held=", ".join(uncounted))] if uncounted else []
        return words.say("order_asked", parts="; ".join(parts), asked=order)

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return words.runs_evidence(marked.runs)


KIND = OrderKind()


def _traces(resample: Resample, member: Sequence[str], item: Order) -> list[Trace]:
    return done_traces(
        resample,
        member,
        lambda run: "other_time" if run.is_in(item.accepts) else "other_way",
    )


def _not_in_order(words: VerdictSentences, member: Sequence[str], item: Order) -> str:
    """Say of a member that was not done when the record has it all the same."""
    doing = words.doing(member)
    held = words.traces(_traces(words.resample, member, item), item.accepts)
    return words.say("otherwise_inside", doing=doing, traces=held) if held else doing


def first_runs(resample: Resample, plan: ItemPlan) -> list[Run | None]:
    """Return the first performance of each member, in the order asked."""
    item = plan.item
    assert isinstance(item, Order)
    out: list[Run | None] = []
    for member in item.members:
        runs = [
            run
            for run in resample.runs_of(member)
            if run.is_in(item.accepts) and not run.as_found and done_within(plan, run.start)
        ]
        out.append(runs[0] if runs else None)
    return out


def order_credit(item: Order, firsts: Sequence[Run | None], asked: frozenset[str]) -> float | None:
    """Return the share of pairs in order; ``None`` where no pair is left.

    ``asked``: the actions that items which applied ask for.
    """
    pairs = met = 0
    for number in range(1, len(firsts)):
        earlier, later = firsts[number - 1], firsts[number]
        if later is None and asked.isdisjoint(item.members[number]):
            continue
        pairs += 1
        if earlier is not None and later is not None and earlier.start <= later.start:
            met += 1
    return met / pairs if pairs else None


def _verdict(credit: float, firsts: Sequence[Run | None]) -> Verdict:
    if credit >= 1.0:
        return "in order"
    if credit > 0.0:
        return "partly"
    wrong = any(
        earlier is not None and later is not None and earlier.start > later.start
        for earlier, later in pairwise(firsts)
    )
    return "out of order" if wrong else "missed"


def _lies_in(instant: int, stays: Sequence[Interval]) -> bool:
    """Whether a state's entry comes in some stays, or ends one of them."""
    return any(entry <= instant <= exit_ for entry, exit_ in stays)
