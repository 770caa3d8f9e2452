"""``repeat``: an action is asked again and again.

Rules of this file:

- An instant is covered if the action was done within the last ``every`` + ``grace`` (also before
  the stay), or is in force, or was in force within them.
- Time within the first ``every`` + ``grace`` of a stay that is not covered in this way would be
  covered only because the stay has just begun, and counts in neither sum.
- Only stays longer than ``every`` + ``grace`` count.
- With ``spoken`` a performance counts only if the value was told with it, or if a sensor streamed
  that observation at the time.
"""

from __future__ import annotations

from simengine.scenario.key import AskedAction, Repeat
from simengine.scoring.draw import Draw, Run
from simengine.scoring.plan import ItemPlan, KnownPerformance
from simengine.session.record import Interval
from simengine.session.truth import joined


def coverage(draw: Draw, plan: ItemPlan) -> tuple[int, int, list[Run]]:
    """Return (covered ms, ms that count, the performances that cover)."""
    item = plan.item
    assert isinstance(item, Repeat)
    reach = item.every_ms + item.grace_ms
    assert isinstance(item.asked, AskedAction)
    done = draw.counting(item.asked.action, item.accepts)
    runs = [run for run in done if _counts(draw, item, run)]
    spells = joined([(run.start, run.stop + reach) for run in runs])
    covered = counted = 0
    for entry, exit_ in plan.during:
        if exit_ - entry <= reach:
            continue
        settled = entry + reach
        inside = _overlap(spells, entry, exit_)
        covered += inside
        counted += exit_ - settled + _overlap(spells, entry, settled)
    return covered, counted, runs


def _counts(draw: Draw, item: Repeat, run: Run) -> bool:
    if not item.spoken:
        return True
    source = run.source
    assert isinstance(source, KnownPerformance)
    assert isinstance(item.asked, AskedAction)
    observation = draw.plan.session.scenario.vocabulary.actions[item.asked.action].reads
    if observation is None:
        return True
    if observation in source.performance.spoken:
        return True
    entry = draw.plan.observations[observation]
    return bool(entry.revealed_by) and draw.readings(observation).streams_at(run.start)


def _overlap(spells: list[Interval], start: int, end: int) -> int:
    """The time (ms) of [start, end) that lies in ``spells``."""
    return sum(max(0, min(stop, end) - max(begin, start)) for begin, stop in spells if begin < end)
