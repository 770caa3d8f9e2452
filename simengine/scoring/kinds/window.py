"""What ``expect`` and ``respond`` have in common: something is asked within a window, once or more.

Rules of this file:

- What is asked is an action, or any of several, whose performances are shared out; a change of a
  setting, or a planted fault, where one change serves every item that it meets; or that the team
  knows something.
- An item's credit is the mean over its occasions that count; its verdict that of the occasion
  with the lowest credit, and among equals the word that comes first in ``WORST_FIRST``.
- An occasion that closed before *a* + ``ideal`` with nothing done is not reached, unless the team
  itself called its work done: then it is missed. What was done before *a* alone reads ``early``.
- An occasion that can't be told, since a value was not recorded, is in neither sum.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import TypeVar

from simengine.scenario.key import AskedAction, AskedKnowledge, AskedSetting, DoseAsked, Windowed
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import AsShown, Steps
from simengine.scoring.card import EQUAL, Evidence, Verdict
from simengine.scoring.changes_asked import match_changes
from simengine.scoring.doses import amounts_given, asked_ranges, dose_parts, times_given
from simengine.scoring.item_guide import ItemGuide, SettingCheck, mended_by
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.knowledge import match_knowledge
from simengine.scoring.mark import Marked
from simengine.scoring.occasion import Occasion, early_match, verdict_of
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.scoring.with_cue import occasion_with_cue
from simengine.session.doses import as_written
from simengine.session.truth import is_as_wanted

WORST_FIRST: tuple[Verdict, ...] = (
    "missed",
    "attempted",
    "told wrong",
    "too late",
    "early",
    "not recorded",
    "setting off",
    "late",
    "on time",
)
_RANK = {verdict: rank for rank, verdict in enumerate(WORST_FIRST)}

WindowT = TypeVar("WindowT", bound=Windowed)


class WindowKind(ItemKind[WindowT]):
    """A kind that asks something within a window: ``expect`` or ``respond``."""

    @abstractmethod
    def occasions(self, resample: Resample, plan: ItemPlan) -> list[Occasion]:
        """Return the occasions of an item in one resample, in order of *a*."""

    @abstractmethod
    def window_words(self, words: VerdictSentences, occasion: Occasion) -> str:
        """Say what the marking guide asks, and by when."""

    def subject(self, item: WindowT, scenario: Scenario) -> Subject:
        wanted = item.asked
        if isinstance(wanted, AskedAction):
            return wanted.action, None
        if isinstance(wanted, AskedSetting):
            return None, wanted.setting
        if isinstance(wanted, AskedKnowledge):
            return next(iter(scenario.vocabulary.revealing(wanted.observation)), None), None
        return mended_by(wanted.fault, scenario)

    def prepare(self, guide: ItemGuide, item: WindowT, scenario: Scenario) -> None:
        vocabulary = scenario.vocabulary
        subject = item.asked
        if isinstance(subject, AskedAction):
            guide.actions = guide.prompts = guide.asked_actions = subject.actions
            guide.kit = (subject.actions,)
        elif isinstance(subject, AskedKnowledge):
            revealing = vocabulary.revealing(subject.observation)
            guide.prompts = revealing
            guide.kit = (revealing,) if revealing else ()
        elif isinstance(subject, AskedSetting):
            guide.asked_settings = (subject.setting,)
            guide.least_change = vocabulary.settings[subject.setting].least_change
        elif subject.status == "mended":
            action, setting = mended_by(subject.fault, scenario)
            if action is not None:
                guide.prompts = guide.asked_actions = (action,)
                guide.kit = ((action,),)
            elif setting is not None:
                guide.asked_settings = (setting,)
        guide.checks = tuple(
            SettingCheck(
                name,
                wanted,
                0.0 if isinstance(wanted, AsShown) else vocabulary.settings[name].tolerance,
            )
            for name, wanted in item.settings.items()
        )

    def lay(self, plan: ItemPlan) -> None:
        item = self.item(plan)
        plan.ahead = item.ahead
        subject = item.asked
        if isinstance(subject, AskedSetting):
            wanted = subject.to
            if wanted is not None and not isinstance(wanted, Steps):
                plan.inside = {
                    change.seq: is_as_wanted(change.value, wanted)
                    for change in plan.session.record.changes.get(subject.setting, ())
                }
        if item.dose is not None:
            for action in plan.actions:
                _lay_doses(plan, item.dose, action)

    def open(self, resample: Resample, marked: Marked) -> None:
        plan = marked.plan
        marked.occasions = self.occasions(resample, plan)
        subject = self.item(plan).asked
        if isinstance(subject, AskedKnowledge):
            match_knowledge(resample, marked.occasions, subject)
        elif not plan.actions:
            match_changes(resample, marked.occasions, subject)

    def settle(self, resample: Resample, marked: Marked) -> None:
        occasions = marked.occasions
        if not occasions:
            marked.why = "no occasion"
            return
        total = 0.0
        number = 0
        worst_credit, worst_rank = 2.0, 0
        ideal_ms = self.item(marked.plan).ideal_ms
        prompts = marked.plan.guide.prompts
        cues = any(action in resample.plan.cues for action in prompts)
        for place, occasion in enumerate(occasions):
            if occasion.match is None and occasion.reached:
                self._nothing_serves(occasion, ideal_ms)
            match = occasion.match
            if not occasion.reached:
                unknown = occasion.why == "no value"
                occasion.verdict = "not recorded" if unknown else "not reached"
                marked.unrecorded |= unknown
                continue
            verdict = occasion.verdict = verdict_of(occasion)
            credit = 0.0 if match is None else match.credit
            marked.unrecorded |= match is not None and match.settings.missing
            total += credit
            number += 1
            rank = _RANK[verdict]
            if credit < worst_credit - EQUAL or (
                rank < worst_rank and credit <= worst_credit + EQUAL
            ):
                worst_credit, worst_rank, marked.verdict = credit, rank, verdict
            if cues and not marked.with_cue:
                marked.with_cue = occasion_with_cue(resample, occasions, place)
        if number:
            marked.credit = total / number
        else:
            marked.why = occasions[0].why
            marked.verdict = occasions[0].verdict

    def _nothing_serves(self, occasion: Occasion, ideal_ms: int) -> None:
        """Settle an occasion that nothing serves: not reached, early, attempted or missed."""
        closed = occasion.close < occasion.at + ideal_ms
        if closed and occasion.closes_for != "declared":
            occasion.reached, occasion.why = False, occasion.closes_for
        elif occasion.before is not None and occasion.began is None:
            occasion.match = early_match(occasion, occasion.before)

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        if not marked.occasions:
            return words.say("never_came")
        reached = [occasion for occasion in marked.occasions if occasion.reached]
        worst = min(
            reached, key=lambda occasion: (occasion.verdict != marked.verdict, occasion.credit)
        )
        sentence = words.occasion(worst)
        if len(reached) == 1:
            return sentence
        met = sum(occasion.credit >= 1.0 for occasion in reached)
        times = words.times(len(reached))
        if met == len(reached):
            return words.say("each_time", times=times, sentence=sentence)
        return words.say("some_times", times=times, met=words.times(met), sentence=sentence)

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return tuple(
            proof for occasion in marked.occasions for proof in words.occasion_evidence(occasion)
        )


def _lay_doses(plan: ItemPlan, dose: DoseAsked, action: str) -> None:
    """Work out what each performance of an action gets for its dose."""
    session = plan.session
    entry = session.scenario.vocabulary.actions[action].dose
    if entry is None:
        return
    given = [done for done in session.record.performances if done.action == action]
    lows = [as_written(wanted)[0] for wanted in asked_ranges(dose, None)]
    weight_g = session.scenario.infant.weight_g
    amounts, followers = amounts_given(given, entry, weight_g, min(lows, default=0.0))
    times = times_given(given, entry, followers)
    plan.followers |= followers.keys()
    for done in given:
        plan.doses[done.seq] = dose_parts(
            dose, entry, done.dose, amounts[done.seq], times[done.seq]
        )
