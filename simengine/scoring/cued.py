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
from math import inf

from simengine.scenario.key import Expect, Respond
from simengine.scoring.asking import Asking
from simengine.scoring.draw import Draw, Run


def run_is_cued(draw: Draw, action: str | None, run: Run, since: float = -inf) -> bool:
    """Whether a cue for ``action``, given at or after ``since`` (ms), was answered by ``run``."""
    cues = draw.plan.cues.get(action) if action is not None else None
    if action is None or not cues:
        return False
    done = (run.start, run.seq)
    before = (-1, -1)
    for other in draw.counting(action):
        moment = (other.start, other.seq)
        if moment >= done:
            break
        before = moment
    return any(before < cue < done and cue[0] >= since for cue in cues)


def occasion_is_cued(draw: Draw, askings: Sequence[Asking], number: int) -> bool:
    """Whether occasion ``number`` of an item was served after a cue."""
    asking = askings[number]
    if asking.served is None or not asking.plan.guide.prompts:
        return False
    since = -inf
    if number:
        item: Expect | Respond = asking.plan.item  # type: ignore[assignment]
        since = min(asking.at, askings[number - 1].at + item.latest_ms)
    return run_is_cued(draw, asking.plan.guide.prompts, asking.served.run, since)
