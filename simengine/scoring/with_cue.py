"""What was done after a prompt.

Rules of this file:

- A cue names the action that it prompts. It is answered by the first performance of that action
  at or after it; what that performance serves carries ``with a cue``.
- A cue works till the end of the window in which it was given: one that was given before the
  window of the occasion before this one had ended (its *a* + ``latest``) says nothing of this one.
- What answers a cue after the window itself has ended came with a cue all the same.
- Where any of several actions is asked, a cue for one of them is answered by any of them; what is
  to be known is prompted by a cue for any action that reveals it.
- Putting a fault right is prompted by a cue for the action that does it.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from simengine.scenario.key import Windowed
from simengine.scoring.occasion import Occasion
from simengine.scoring.resample import Resample, Run


def run_with_cue(
    resample: Resample, prompts: tuple[str, ...], run: Run, since: float = -inf
) -> bool:
    """Whether a cue for any of ``prompts``, given since ``since`` (ms), was answered by ``run``."""
    plan = resample.plan
    cues = [cue for action in prompts if action in plan.cues for cue in plan.cues[action]]
    if not cues:
        return False
    done = (run.start, run.seq)
    before = (-1, -1)
    for action in prompts:
        for other in resample.done(action):
            moment = (other.start, other.seq)
            if before < moment < done:
                before = moment
    return any(before < cue < done and cue[0] >= since for cue in cues)


def occasion_with_cue(resample: Resample, occasions: Sequence[Occasion], number: int) -> bool:
    """Whether what served occasion ``number`` of an item came after a cue."""
    occasion = occasions[number]
    if occasion.match is None or occasion.match.early or not occasion.plan.guide.prompts:
        return False
    since = -inf
    if number:
        item: Windowed = occasion.plan.item  # type: ignore[assignment]
        since = min(occasion.at, occasions[number - 1].at + item.latest_ms)
    return run_with_cue(resample, occasion.plan.guide.prompts, occasion.match.run, since)
