"""``expect``: something is asked within a window from an anchor.

Rules of this file:

- The item applies once its anchor has happened, at *a*; with ``each`` every time that it does.
- An occasion closes at the first entry of a state of ``until`` at or after *a* (after it, where
  the anchor is itself a state), when the stay of ``during`` that *a* lies in is left, or with the
  session. If nothing was done by then and that was before *a* + ``ideal``, it is not reached.
- With ``must_reach`` an anchor that never happens earns 0.
- A performance that is an anchor is one in a way that counts (done, simulated).
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.scenario.key import AskedAction, Expect
from simengine.scoring.asking import FIRST, LAST, Asking
from simengine.scoring.draw import Draw
from simengine.scoring.plan import ItemPlan

Anchors = Sequence[tuple[int, float, int | None]]
"""Each time that an anchor happened: (instant, place within its ms, own run). The own run is the
``seq`` of the anchor itself, where the same action is asked again."""


def expect_occasions(draw: Draw, plan: ItemPlan) -> list[Asking]:
    """Return the occasions of an ``expect`` item in one draw, in order of *a*."""
    item: Expect = plan.item  # type: ignore[assignment]
    end = draw.plan.end
    if item.anchor.kind == "clock" and not (item.during or item.until):
        zero = draw.clock
        if zero is None or zero > end:
            return []
        return [Asking(plan, 0, zero, draw.plan.clock_seq, end, "end")]
    out: list[Asking] = []
    for at, order, own in _anchors(draw, item):
        if at > end:
            break
        close, closes_for = end, "end"
        if item.during:
            stay = next((stay for stay in plan.during if stay[0] <= at < stay[1]), None)
            if stay is None:
                continue
            if stay[1] < close:
                close, closes_for = stay[1], "until"
        for entry in plan.closing:
            if entry > at or (entry == at and item.anchor.kind != "state"):
                if entry < close:
                    close, closes_for = entry, "until"
                break
        out.append(Asking(plan, len(out), at, order, close, closes_for, None, own))
        if not item.each:
            break
    return out


def _anchors(draw: Draw, item: Expect) -> Anchors:
    kind, name = item.anchor.kind, item.anchor.name
    if kind == "clock":
        return () if draw.clock is None else ((draw.clock, draw.plan.clock_seq, None),)
    if kind == "state":
        entries = draw.plan.entries.get(name or "", ())
        return [(entry, LAST if entry > 0 else FIRST, None) for entry in entries]
    if kind == "action":
        same = isinstance(item.asked, AskedAction) and item.asked.action == name
        return [
            (run.start, run.seq, run.seq if same else None) for run in draw.counting(name or "")
        ]
    if kind == "fault":
        return [
            (at, event.seq, None)
            for at, event in draw.faults()
            if event.fault == name and event.status == "planted"
        ]
    return ((0, FIRST, None),)
