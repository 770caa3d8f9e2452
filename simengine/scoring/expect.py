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

from collections.abc import Iterator

from simengine.scenario.key import AskedAction, Expect
from simengine.scoring.asking import FIRST, LAST, Asking
from simengine.scoring.draw import Draw
from simengine.scoring.plan import ItemPlan


def expect_occasions(draw: Draw, plan: ItemPlan) -> list[Asking]:
    """Return the occasions of an ``expect`` item in one draw, in order of *a*."""
    item = plan.item
    assert isinstance(item, Expect)
    out: list[Asking] = []
    end = draw.plan.end
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
        if item.until:
            entry = _entry_after(draw, item, at)
            if entry is not None and entry < close:
                close, closes_for = entry, "until"
        out.append(Asking(plan, len(out), at, order, close, closes_for, own=own))
        if not item.each:
            break
    return out


def _anchors(draw: Draw, item: Expect) -> Iterator[tuple[int, float, int | None]]:
    """Each time that the anchor happened: (instant, place within its ms, own run).

    The own run is the ``seq`` of the anchor, where the same action is asked again.
    """
    anchor = item.anchor
    if anchor.kind == "start":
        yield 0, FIRST, None
    elif anchor.kind == "clock":
        if draw.clock is not None:
            yield draw.clock, draw.plan.clock_seq, None
    elif anchor.kind == "state":
        for stay in draw.plan.session.stays:
            if stay.state == anchor.name:
                yield stay.entry_ms, FIRST if stay.entry_ms == 0 else LAST, None
    elif anchor.kind == "action":
        same = isinstance(item.asked, AskedAction) and item.asked.action == anchor.name
        for run in draw.counting(anchor.name or ""):
            yield run.start, run.seq, run.seq if same else None
    else:
        for at, event in draw.faults():
            if event.fault == anchor.name and event.status == "planted":
                yield at, event.seq, None


def _entry_after(draw: Draw, item: Expect, at: int) -> int | None:
    """The first entry of a state of ``until`` that follows the anchor."""
    for stay in draw.plan.session.stays:
        if stay.state in item.until and (
            stay.entry_ms > at or (stay.entry_ms == at and item.anchor.kind != "state")
        ):
            return stay.entry_ms
    return None
