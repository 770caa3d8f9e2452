"""What was done after a prompt.

Rules of this file:

- A cue names the action that it prompts. It is answered by the first performance of that action
  at or after it; what that performance serves carries ``with a cue``.
- A cue works till the end of the window in which it was given: one that was given before the
  window of the occasion before this one had ended (its *a* + ``latest``) says nothing of this one.
- Putting a fault right is prompted by a cue for the action that does it.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.scenario.key import AskedAction, AskedFault, Expect, Respond
from simengine.scoring.asking import Asking
from simengine.scoring.draw import Draw, Run
from simengine.scoring.plan import ItemPlan


def prompted_action(draw: Draw, plan: ItemPlan) -> str | None:
    """Return the action whose prompts concern an item that asks for one thing."""
    item = plan.item
    if isinstance(item, Expect | Respond):
        if isinstance(item.asked, AskedAction):
            return item.asked.action
        if isinstance(item.asked, AskedFault) and item.asked.status == "mended":
            fault = draw.plan.session.scenario.start.faults.get(item.asked.fault)
            if fault is not None and isinstance(fault.mended_by, str):
                return fault.mended_by
    return None


def run_is_cued(draw: Draw, action: str, run: Run, since: float = float("-inf")) -> bool:
    """Whether a cue for ``action``, given at or after ``since`` (ms), was answered by ``run``."""
    done = (run.start, run.seq)
    before = max(
        (
            (other.start, other.seq)
            for other in draw.counting(action)
            if (other.start, other.seq) < done
        ),
        default=(-1, -1),
    )
    return any(
        cue.prompts == action and before < (cue.at_ms, cue.seq) < done and cue.at_ms >= since
        for cue in draw.plan.session.record.cues
    )


def occasion_is_cued(draw: Draw, askings: Sequence[Asking], number: int) -> bool:
    """Whether occasion ``number`` of an item was served after a cue."""
    asking = askings[number]
    if asking.served is None or not draw.plan.session.record.cues:
        return False
    action = prompted_action(draw, asking.plan)
    if action is None:
        return False
    since = float("-inf")
    if number:
        item = asking.plan.item
        assert isinstance(item, Expect | Respond)
        since = min(asking.at, askings[number - 1].at + item.latest_ms)
    return run_is_cued(draw, action, asking.served.run, since)
