"""``respond``: something is asked each time that a condition has held for a while.

Rules of this file:

- A stretch begins when the whole condition does, and goes on while what must go on does (its
  ``doing`` and ``settings`` clauses are needed for the beginning alone); it is cut to ``during``.
- The occasion opens at *a*: the condition has held for ``lasting`` without a break and still
  holds, and the team has had a reading at which it was true, unless ``unseen``.
- If the condition ends before *a* + ``ideal``, nothing done after its end counts, and with
  nothing done by then the occasion is dropped; ``even_if_resolved`` sets this aside.
- A state in which the team calls its work done, entered by rule while the occasion is open, closes
  it, and what was not done by then is missed.
- An occasion is dropped if it opened only because a performance was recorded late: noted after
  *a*, at before it; that is, if without those performances none would open in the stretch.
"""

from __future__ import annotations

from simengine.quantities import format_duration
from simengine.scenario.conditions import All, AnyOf, Condition, Not, Observed
from simengine.scenario.key import Respond
from simengine.scenario.model import Scenario
from simengine.scenario.words import condition_words
from simengine.scoring.catalogue import say
from simengine.scoring.clauses import going_on, inward
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds.window import WindowKind
from simengine.scoring.occasion import LAST, Occasion
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.scoring.what_is_asked import asked_thing, part_credit_until, with_what
from simengine.session.record import NEVER, Interval


class RespondKind(WindowKind[Respond]):
    """``respond``."""

    def prepare(self, guide: ItemGuide, item: Respond, scenario: Scenario) -> None:
        super().prepare(guide, item, scenario)
        guide.condition = inward(item.whenever)
        guide.goes_on = going_on(guide.condition)

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        return not plan.guide.needs <= done

    def occasions(self, resample: Resample, plan: ItemPlan) -> list[Occasion]:
        item = self.item(plan)
        out: list[Occasion] = []
        end = resample.plan.end
        for at, began, ends in openings(resample, plan):
            close, closes_for = end, "end"
            if ends < at + item.ideal_ms and not item.even_if_resolved:
                close, closes_for = ends, _why_it_ended(resample, plan, ends)
            entry = next((entry for entry, _ in resample.plan.declared if entry >= at), None)
            if entry is not None and entry <= close:
                close, closes_for = entry, "declared"
            occasion = Occasion(plan, len(out), at, LAST, close, closes_for, began=began)
            if _recorded_late(resample, plan, at, (began, ends)):
                occasion.reached, occasion.why = False, "recorded late"
            out.append(occasion)
        return out

    def asks(self, item: Respond, scenario: Scenario) -> str:
        text = say(
            "asked_each_time_after" if item.lasting_ms else "asked_each_time",
            what=asked_thing(scenario, item.asked),
            ideal=format_duration(item.ideal_ms),
            condition=condition_words(item.whenever, scenario.vocabulary),
            lasting=format_duration(item.lasting_ms),
            until=part_credit_until(item),
        )
        return text + with_what(scenario, item)

    def window_words(self, words: VerdictSentences, occasion: Occasion) -> str:
        return words.say(
            "asks_whenever",
            since=words.clock(occasion.at),
            thing=words.thing_asked(occasion),
            ideal=format_duration(self.item(occasion.plan).ideal_ms),
        )


KIND = RespondKind()


def _why_it_ended(resample: Resample, plan: ItemPlan, ends: int) -> str:
    """Whether a stretch ended since its condition did, or was only cut off."""
    if ends >= resample.plan.end:
        return "end"
    cut = bool(plan.item.during) and any(ends == exit_ for _, exit_ in plan.during)
    return "until" if cut else "resolved"


def openings(resample: Resample, plan: ItemPlan) -> list[tuple[int, int, int]]:
    """Return (opens, began, ends) for each stretch in which an occasion opens."""
    item = plan.item
    assert isinstance(item, Respond)
    assert plan.condition is not None
    out: list[tuple[int, int, int]] = []
    for entry, exit_ in plan.during:
        whole = resample.truth(plan.condition, entry, exit_)
        if not whole:
            continue
        if plan.goes_on is None:
            going = [(entry, exit_)]
        elif plan.goes_on is plan.condition:
            going = whole
        else:
            going = resample.truth(plan.goes_on, entry, exit_)
        number = 0
        for start, ends in going:
            while number < len(whole) and whole[number][0] < start:
                number += 1
            if number == len(whole):
                break
            began = whole[number][0]
            if began >= ends:
                continue
            opens = began + item.lasting_ms
            if not item.unseen and opens < ends:
                opens = max(opens, _known_from(resample, plan.condition, began, ends))
            if opens < ends:
                out.append((opens, began, ends))
    return out


def _known_from(resample: Resample, condition: Condition, began: int, ends: int) -> int:
    """The first instant of a stretch at which the team knew that the condition was true."""
    kind = type(condition)
    if kind is All:
        return max(
            (_known_from(resample, part, began, ends) for part in condition.parts),  # type: ignore[union-attr]
            default=began,
        )
    if kind is AnyOf:
        return min(
            (_known_from(resample, part, began, ends) for part in condition.parts),  # type: ignore[union-attr]
            default=NEVER,
        )
    leaf = condition.part if isinstance(condition, Not) else condition
    true = resample.truth(condition, began, ends)
    if not true:
        return NEVER
    if not isinstance(leaf, Observed):
        return true[0][0]
    readings = resample.readings(leaf.observation)
    first = NEVER
    for start, stop in true:
        for begins, finishes in readings.streams:
            instant = max(start, begins)
            if instant < min(stop, finishes):
                first = min(first, instant)
                break
        for instant in readings.snapshots:
            if start <= instant < stop:
                first = min(first, instant)
                break
        if first != NEVER:
            break
    return first


def _recorded_late(resample: Resample, plan: ItemPlan, at: int, stretch: Interval) -> bool:
    late = frozenset(
        run.seq
        for action in plan.guide.names.actions
        for run in resample.counting(action)
        if run.start < at < run.source.noted  # type: ignore[union-attr]
    )
    if not late:
        return False
    began, ends = stretch
    return not any(began <= opens < ends for opens, _, _ in openings(resample.without(late), plan))
