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
from simengine.scoring.occasion import Occasion
from simengine.scoring.resample import Resample, Run


def run_is_cued(resample: Resample, action: str | None, run: Run, since: float = -inf) -> bool:
    """Whether a cue for ``action``, given at or after ``since`` (ms), was answered by ``run``."""
    cues = resample.plan.cues.get(action) if action is not None else None
    if action is None or not cues:
        return False
    done = (run.start, run.seq)
    before = (-1, -1)
    for other in resample.counting(action):
        moment = (other.start, other.seq)
        if moment >= done:
            break
        before = moment
    return any(before < cue < done and cue[0] >= since for cue in cues)


def occasion_is_cued(resample: Resample, occasions: Sequence[Occasion], number: int) -> bool:
    """Whether occasion ``number`` of an item was match after a cue."""
    occasion = occasions[number]
    if occasion.match is None or not occasion.plan.guide.prompts:
        return False
    since = -inf
    if number:
        item: Expect | Respond = occasion.plan.item  # type: ignore[assignment]
        since = min(occasion.at, occasions[number - 1].at + item.latest_ms)
    return run_is_cued(resample, occasion.plan.guide.prompts, occasion.match.run, since)
