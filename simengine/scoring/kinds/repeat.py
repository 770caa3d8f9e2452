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

from simengine.quantities import format_duration
from simengine.scenario.key import AskedAction, Repeat
from simengine.scenario.model import Scenario
from simengine.scoring.card import Evidence
from simengine.scoring.cued import run_is_cued
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan, KnownPerformance
from simengine.scoring.resample import Resample, Run
from simengine.scoring.sentences import VerdictSentences
from simengine.session.record import Interval
from simengine.session.truth import joined


class RepeatKind(ItemKind[Repeat]):
    """``repeat``."""

    name = "repeat"

    def subject(self, item: Repeat, scenario: Scenario) -> Subject:
        asked = item.asked
        if isinstance(asked, AskedAction):
            return asked.action, None
        return next(iter(scenario.vocabulary.revealing(asked.observation)), None), None

    def prepare(self, guide: ItemGuide, item: Repeat, scenario: Scenario) -> None:
        if isinstance(item.asked, AskedAction):
            guide.asked_actions = (item.asked.action,)

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        return done.isdisjoint(plan.guide.asked_actions)

    def settle(self, resample: Resample, marked: Marked) -> None:
        item = self.item(marked.plan)
        assert isinstance(item.asked, AskedAction)
        action = item.asked.action
        covered, counted, runs = coverage(resample, marked.plan)
        if not counted:
            marked.why = "no occasion"
            return
        marked.part, marked.whole = covered, counted
        marked.runs = list(runs)
        marked.give_share(covered / counted)
        if not runs and any(
            run.source.way not in item.accepts and done_within(marked.plan, run.start)  # type: ignore[union-attr,operator]
            for run in resample.runs(action)
        ):
            marked.verdict = "attempted"
        if resample.plan.cues:
            marked.cued = any(
                done_within(marked.plan, run.start) and run_is_cued(resample, action, run)
                for run in runs
            )

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        item = self.item(marked.plan)
        assert marked.part is not None
        assert marked.whole is not None
        every = format_duration(item.every_ms)
        asks = words.say("asks_every", every=every)
        if item.grace_ms:
            grace = format_duration(item.grace_ms)
            asks = words.say("asks_every_with_grace", every=every, grace=grace)
        assert isinstance(item.asked, AskedAction)
        label = words.label(item.asked.action)
        if marked.verdict == "attempted":
            return words.say("repeat_attempted", label=label, asks=asks)
        if not marked.part:
            return words.say("repeat_missed", label=label, asks=asks)
        times = words.times(len(marked.runs))
        if marked.verdict == "kept":
            return words.say("repeat_kept", label=label, times=times, asks=asks)
        share = words.share(marked.part, marked.whole)
        return words.say("repeat_partly", label=label, share=share, times=times, asks=asks)

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return words.runs_evidence(marked.runs)


def coverage(resample: Resample, plan: ItemPlan) -> tuple[int, int, list[Run]]:
    """Return (covered ms, ms that count, the performances that cover)."""
    item = plan.item
    assert isinstance(item, Repeat)
    reach = item.every_ms + item.grace_ms
    assert isinstance(item.asked, AskedAction)
    done = resample.counting(item.asked.action, item.accepts)
    runs = [run for run in done if _counts(resample, item, run)]
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


def _counts(resample: Resample, item: Repeat, run: Run) -> bool:
    if not item.spoken:
        return True
    source = run.source
    assert isinstance(source, KnownPerformance)
    assert isinstance(item.asked, AskedAction)
    observation = resample.plan.session.scenario.vocabulary.actions[item.asked.action].reads
    if observation is None:
        return True
    if observation in source.performance.spoken:
        return True
    entry = resample.plan.observations[observation]
    return bool(entry.revealed_by) and resample.readings(observation).streams_at(run.start)


def _overlap(spells: list[Interval], start: int, end: int) -> int:
    """The time (ms) of [start, end) that lies in ``spells``."""
    return sum(max(0, min(stop, end) - max(begin, start)) for begin, stop in spells if begin < end)
