"""``repeat``: an action is asked again and again, or that the team knows an observation.

Rules of this file:

- An instant is covered if the action was done within the last ``every`` + ``grace`` (also before
  the stay), or is in force, or was in force within them; so for a reading, or for a sensor that
  streams. What the scenario itself starts with is no performance; its sensors make things known.
- Time within the first ``every`` + ``grace`` of a stay that is not covered in this way would be
  covered only because the stay has just begun, and counts in neither sum.
- Only stays longer than ``every`` + ``grace`` count.
- With ``told`` a reading covers only once its value was said, near the truth; time in which a
  sensor streams needs no telling. ``spoken`` asks the same of an action.
- Credit 0 reads ``told wrong`` where values were said in these stays but far from the truth, and
  ``attempted`` where it was done in them in other ways alone.
"""

from __future__ import annotations

from simengine.quantities import format_duration
from simengine.quantities.formatting import capitalised
from simengine.scenario.key import AskedAction, AskedKnowledge, Repeat
from simengine.scenario.model import Scenario
from simengine.scoring.card import Evidence
from simengine.scoring.catalogue import say
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.knowledge import readings_of, tellings_of
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.traces import Trace, WhyNot, done_traces, known_traces
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.scoring.what_is_asked import asked_thing
from simengine.scoring.with_cue import run_with_cue
from simengine.session.record import Interval
from simengine.session.truth import joined


class RepeatKind(ItemKind[Repeat]):
    """``repeat``."""

    def subject(self, item: Repeat, scenario: Scenario) -> Subject:
        wanted = item.asked
        if isinstance(wanted, AskedAction):
            return wanted.action, None
        return next(iter(scenario.vocabulary.revealing(wanted.observation)), None), None

    def prepare(self, guide: ItemGuide, item: Repeat, scenario: Scenario) -> None:
        if isinstance(item.asked, AskedAction):
            guide.asked_actions = guide.prompts = item.asked.actions
        else:
            guide.prompts = scenario.vocabulary.revealing(item.asked.observation)
        guide.kit = (guide.prompts,) if guide.prompts else ()

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        actions = plan.guide.asked_actions
        return bool(actions) and done.isdisjoint(actions)

    def settle(self, resample: Resample, marked: Marked) -> None:
        item, plan = self.item(marked.plan), marked.plan
        covered, counted, runs = coverage(resample, plan)
        if not counted:
            marked.why = "no occasion"
            return
        marked.part, marked.whole = covered, counted
        marked.runs = list(runs)
        marked.give_share(covered / counted)
        if not covered and _said_wrong(resample, plan, item):
            marked.verdict = "told wrong"
        elif not covered and any(
            not run.is_in(item.accepts) and done_within(plan, run.start)
            for run in resample.runs_of(plan.guide.asked_actions)
        ):
            marked.verdict = "attempted"
        if resample.plan.cues:
            marked.with_cue = any(
                done_within(plan, run.start) and run_with_cue(resample, plan.guide.prompts, run)
                for run in runs
            )

    def asks(self, item: Repeat, scenario: Scenario) -> str:
        thing = asked_thing(scenario, item.asked)
        text = say("asked_every", what=thing, every=format_duration(item.every_ms))
        if item.grace_ms:
            text += say("asked_grace", grace=format_duration(item.grace_ms))
        return text + (say("asked_aloud") if item.spoken else "")

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        item = self.item(marked.plan)
        assert marked.part is not None
        assert marked.whole is not None
        asks = words.say("asks_every", every=format_duration(item.every_ms))
        limit = format_duration(item.every_ms + item.grace_ms)
        what, known = words.asked(item.asked), isinstance(item.asked, AskedKnowledge)
        if marked.verdict == "told wrong":
            return words.say("repeat_told_wrong", what=what, asks=asks)
        if not marked.part:
            held = words.traces(_traces(words.resample, item), item.accepts)
            if held:
                what = capitalised(what)
                return words.say("repeat_otherwise", what=what, traces=held, asks=asks)
            return words.say("repeat_missed", what=what, asks=asks)
        did, times = words.did(marked.runs), words.times(len(marked.runs))
        if marked.verdict == "kept":
            if known:
                return words.say("repeat_known", noun=capitalised(what), limit=limit)
            return words.say("repeat_kept", did=did, times=times, limit=limit)
        whole = words.whole_seconds(marked.whole)
        gap = words.whole_seconds(marked.whole - marked.part + 999)
        if known:
            return words.say(
                "repeat_partly_known", noun=what, gap=gap, whole=whole, limit=limit, asks=asks
            )
        return words.say(
            "repeat_partly", did=did, times=times, gap=gap, whole=whole, limit=limit, asks=asks
        )

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return words.runs_evidence(marked.runs)


KIND = RepeatKind()


def _traces(resample: Resample, item: Repeat) -> list[Trace]:
    """What the record holds of what is asked where none of it covers any time."""
    if isinstance(item.asked, AskedKnowledge):
        return known_traces(resample, item.asked)

    def why(run: Run) -> WhyNot:
        if not run.is_in(item.accepts):
            return "other_way"
        return "untold" if item.spoken and not _is_spoken(resample, run) else "other_time"

    return done_traces(resample, item.asked.actions, why)


def coverage(resample: Resample, plan: ItemPlan) -> tuple[int, int, list[Run]]:
    """Return (covered ms, ms that count, the performances that cover)."""
    item = plan.item
    assert isinstance(item, Repeat)
    reach = item.every_ms + item.grace_ms
    runs = _covering(resample, plan, item)
    spells = joined(sorted((run.start, run.stop + reach) for run in runs))
    covered = counted = 0
    for entry, exit_ in plan.during:
        if exit_ - entry <= reach:
            continue
        settled = entry + reach
        inside = _overlap(spells, entry, exit_)
        covered += inside
        counted += exit_ - settled + _overlap(spells, entry, settled)
    return covered, counted, runs


def _covering(resample: Resample, plan: ItemPlan, item: Repeat) -> list[Run]:
    """What covers time: performances, or readings; told ones where that is asked."""
    subject = item.asked
    if isinstance(subject, AskedKnowledge):
        readings = readings_of(resample, subject.observation)
        if not subject.told:
            return readings
        streams = [run for run in readings if run.stop > run.start]
        return streams + [
            Run(telling.at, telling.run.seq, telling.at, telling.run.source)
            for telling in tellings_of(resample, subject.observation)
            if telling.near
        ]
    runs = [
        run
        for run in resample.runs_of(subject.actions)
        if run.is_in(item.accepts) and not run.as_found
    ]
    if not item.spoken:
        return runs
    return [run for run in runs if _is_spoken(resample, run)]


def _is_spoken(resample: Resample, run: Run) -> bool:
    """Whether a value was said with a performance, near the truth, or a sensor streamed it."""
    observation = resample.plan.session.scenario.vocabulary.actions[run.action].reads
    if observation is None:
        return True
    entry = resample.plan.observations[observation]
    if entry.revealed_by and resample.readings(observation).streams_at(run.start):
        return True
    return any(
        telling.near and telling.run.seq == run.seq
        for telling in tellings_of(resample, observation)
    )


def _said_wrong(resample: Resample, plan: ItemPlan, item: Repeat) -> bool:
    """Whether values were said in the stays that count, but far from the truth."""
    subject = item.asked
    if isinstance(subject, AskedKnowledge):
        observations = [subject.observation] if subject.told else []
    else:
        actions = resample.plan.session.scenario.vocabulary.actions
        reads = [actions[action].reads for action in subject.actions] if item.spoken else []
        observations = [name for name in reads if name is not None]
    return any(
        not telling.near and done_within(plan, telling.said)
        for observation in observations
        for telling in tellings_of(resample, observation)
    )


def _overlap(spells: list[Interval], start: int, end: int) -> int:
    """The time (ms) of [start, end) that lies in ``spells``."""
    return sum(max(0, min(stop, end) - max(begin, start)) for begin, stop in spells if begin < end)
