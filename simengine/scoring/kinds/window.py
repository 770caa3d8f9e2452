"""What ``expect`` and ``respond`` have in common: something is asked within a window, once or more.

Rules of this file:

- What is asked is an action, whose performances are shared out; a change of a setting, or a
  planted fault, where one change serves every item that it meets.
- An item's credit is the mean over its occasions that count; its verdict that of the occasion
  with the lowest credit, and among equals the word that comes first in ``WORST_FIRST``.
- An occasion that closed before *a* + ``ideal`` with nothing done is not reached.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import TypeVar

from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    Expect,
    Respond,
)
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Steps
from simengine.scoring.card import EQUAL, Evidence, Verdict
from simengine.scoring.changes_asked import match_changes
from simengine.scoring.cued import occasion_is_cued
from simengine.scoring.doses import dose_parts
from simengine.scoring.item_guide import ItemGuide, SettingCheck, mended_by
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.occasion import Occasion, verdict_of
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample
from simengine.scoring.sentences import VerdictSentences
from simengine.session.truth import is_as_wanted

WORST_FIRST: tuple[Verdict, ...] = (
    "missed",
    "attempted",
    "too late",
    "early",
    "not recorded",
    "setting off",
    "late",
    "on time",
)
_RANK = {verdict: rank for rank, verdict in enumerate(WORST_FIRST)}

WindowT = TypeVar("WindowT", Expect, Respond)


class WindowKind(ItemKind[WindowT]):
    """``expect`` or ``respond``."""

    @abstractmethod
    def occasions(self, resample: Resample, plan: ItemPlan) -> list[Occasion]:
        """Return the occasions of an item in one resample, in order of *a*."""

    @abstractmethod
    def window_words(self, words: VerdictSentences, occasion: Occasion) -> str:
        """Say what the marking guide asks, and by when."""

    def subject(self, item: WindowT, scenario: Scenario) -> Subject:
        asked = item.asked
        if isinstance(asked, AskedAction):
            return asked.action, None
        if isinstance(asked, AskedSetting):
            return None, asked.setting
        if isinstance(asked, AskedKnowledge):
            return next(iter(scenario.vocabulary.revealing(asked.observation)), None), None
        return mended_by(asked.fault, scenario)

    def prepare(self, guide: ItemGuide, item: WindowT, scenario: Scenario) -> None:
        vocabulary = scenario.vocabulary
        asked = item.asked
        if isinstance(asked, AskedAction):
            guide.action = guide.prompts = asked.action
            guide.asked_actions = (asked.action,)
            if item.dose is not None:
                guide.dose = vocabulary.actions[asked.action].dose
        elif isinstance(asked, AskedSetting):
            guide.asked_settings = (asked.setting,)
            guide.step = vocabulary.settings[asked.setting].step
        elif isinstance(asked, AskedFault) and asked.status == "mended":
            action, setting = mended_by(asked.fault, scenario)
            if action is not None:
                guide.prompts = action
                guide.asked_actions = (action,)
            elif setting is not None:
                guide.asked_settings = (setting,)
        guide.checks = tuple(
            SettingCheck(name, wanted, vocabulary.settings[name].tolerance)
            for name, wanted in item.settings.items()
        )

    def lay(self, plan: ItemPlan) -> None:
        item = self.item(plan)
        record = plan.session.record
        asked = item.asked
        if isinstance(asked, AskedSetting):
            wanted = asked.to
            if wanted is not None and not isinstance(wanted, Steps):
                plan.inside = {
                    change.seq: is_as_wanted(change.value, wanted)
                    for change in record.changes.get(asked.setting, ())
                }
        dose = plan.guide.dose
        if dose is not None and item.dose is not None:
            weight_g = plan.session.scenario.infant.weight_g
            plan.doses = {
                done.seq: dose_parts(item.dose, dose, done.dose, weight_g)
                for done in record.performances
                if done.action == plan.action
            }

    def open(self, resample: Resample, marked: Marked) -> None:
        marked.occasions = self.occasions(resample, marked.plan)
        if marked.plan.action is None:
            match_changes(resample, marked.occasions, self.item(marked.plan).asked)

    def settle(self, resample: Resample, marked: Marked) -> None:
        occasions = marked.occasions
        if not occasions:
            marked.why = "no occasion"
            return
        total = 0.0
        number = 0
        worst_credit, worst_rank = 2.0, 0
        ideal_ms = self.item(marked.plan).ideal_ms
        cues = resample.plan.cues and marked.plan.guide.prompts in resample.plan.cues
        for place, occasion in enumerate(occasions):
            match = occasion.match
            if match is None and occasion.reached and occasion.close < occasion.at + ideal_ms:
                occasion.reached, occasion.why = False, occasion.closes_for
            if not occasion.reached:
                occasion.verdict = "not reached"
                continue
            verdict = occasion.verdict = verdict_of(occasion)
            credit = 0.0 if match is None else match.credit
            total += credit
            number += 1
            rank = _RANK[verdict]
            if credit < worst_credit - EQUAL or (
                rank < worst_rank and credit <= worst_credit + EQUAL
            ):
                worst_credit, worst_rank, marked.verdict = credit, rank, verdict
            if cues and not marked.cued:
                marked.cued = occasion_is_cued(resample, occasions, place)
        if number:
            marked.credit = total / number
        else:
            marked.why = occasions[0].why

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
            found for occasion in marked.occasions for found in words.occasion_evidence(occasion)
        )
