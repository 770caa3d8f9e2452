"""``respond``: something is asked each time that a condition has held for a while.

Rules of this file:

- A stretch begins when the whole condition does, and goes on while what must go on does (its
  ``doing`` and ``settings`` clauses are needed for the beginning alone); it is cut to ``during``.
- The occasion opens at *a*: the condition has held for ``lasting`` without a break and still
  holds, and the team has had a reading at which it was true, unless ``unseen``.
- If the condition ends before *a* + ``ideal``, nothing done after its end counts, and with
  nothing done by then the occasion is dropped; ``even_if_resolved`` sets this aside.
- An occasion is dropped if it opened only because a performance was recorded late: noted after
  *a*, at before it; that is, if without those performances none would open in the stretch.
"""

from __future__ import annotations

from simengine.scenario.conditions import All, AnyOf, Condition, Not, Observed
from simengine.scenario.key import Respond
from simengine.scoring.asking import LAST, Asking
from simengine.scoring.draw import Draw
from simengine.scoring.plan import ItemPlan
from simengine.session.record import NEVER, Interval


def respond_occasions(draw: Draw, plan: ItemPlan) -> list[Asking]:
    """Return the occasions of a ``respond`` item in one draw, in order of *a*."""
    item = plan.item
    assert isinstance(item, Respond)
    out: list[Asking] = []
    end = draw.plan.end
    for at, began, ends in openings(draw, plan):
        close, closes_for = end, "end"
        if ends < at + item.ideal_ms and not item.even_if_resolved:
            close, closes_for = ends, "resolved"
        asking = Asking(plan, len(out), at, LAST, close, closes_for, began=began)
        if _recorded_late(draw, plan, at, (began, ends)):
            asking.reached, asking.why = False, "recorded late"
        out.append(asking)
    return out


def openings(draw: Draw, plan: ItemPlan) -> list[tuple[int, int, int]]:
    """Return (opens, began, ends) for each stretch in which an occasion opens."""
    item = plan.item
    assert isinstance(item, Respond)
    assert plan.condition is not None
    out: list[tuple[int, int, int]] = []
    for entry, exit_ in plan.during:
        whole = draw.truth(plan.condition, entry, exit_)
        if not whole:
            continue
        if plan.goes_on is None:
            going = [(entry, exit_)]
        elif plan.goes_on is plan.condition:
            going = whole
        else:
            going = draw.truth(plan.goes_on, entry, exit_)
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
                opens = max(opens, _known_from(draw, plan.condition, began, ends))
            if opens < ends:
                out.append((opens, began, ends))
    return out


def _known_from(draw: Draw, condition: Condition, began: int, ends: int) -> int:
    """The first instant of a stretch at which the team knew that the condition was true."""
    kind = type(condition)
    if kind is All:
        return max(
            (_known_from(draw, part, began, ends) for part in condition.parts),  # type: ignore[union-attr]
            default=began,
        )
    if kind is AnyOf:
        return min(
            (_known_from(draw, part, began, ends) for part in condition.parts),  # type: ignore[union-attr]
            default=NEVER,
        )
    leaf = condition.part if isinstance(condition, Not) else condition
    true = draw.truth(condition, began, ends)
    if not true:
        return NEVER
    if not isinstance(leaf, Observed):
        return true[0][0]
    readings = draw.readings(leaf.observation)
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


def _recorded_late(draw: Draw, plan: ItemPlan, at: int, stretch: Interval) -> bool:
    late = frozenset(
        run.seq
        for action in plan.guide.names.actions
        for run in draw.counting(action)
        if run.start < at < run.source.noted  # type: ignore[union-attr]
    )
    if not late:
        return False
    began, ends = stretch
    return not any(began <= opens < ends for opens, _, _ in openings(draw.without(late), plan))
