"""``keep``: a condition is to hold for a share of the time.

Rules of this file:

- The share of the time in ``during`` in which the condition holds; a condition on something that
  is not known is false, and ``not`` of it true.
- Time in which a setting that it names was never known yet is in neither sum; where that is all of
  the time, the item is not recorded.
- As found: met in full by start settings that nobody had touched by the end of ``during``, where
  the condition names settings alone.
"""

from __future__ import annotations

from simengine.quantities.formatting import capitalised, listed, percent
from simengine.scenario.conditions import All, Observed, leaves
from simengine.scenario.key import Keep
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import OneOf
from simengine.scenario.words import condition_words
from simengine.scoring.card import EQUAL, Evidence
from simengine.scoring.catalogue import say
from simengine.scoring.clauses import names_in
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide, condition_subject
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample
from simengine.scoring.traces import Trace, done_traces
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.session.readings import COUNTS
from simengine.session.record import NEVER

_MINUTES = 120_000
"""Spans from here on are told to 10 s."""


class KeepKind(ItemKind[Keep]):
    """``keep``."""

    def subject(self, item: Keep, scenario: Scenario) -> Subject:
        return condition_subject(item.condition, scenario)

    def prepare(self, guide: ItemGuide, item: Keep, scenario: Scenario) -> None:
        guide.condition = item.condition
        names = names_in(item.condition)
        guide.asked_actions, guide.asked_settings = names.actions, names.settings
        guide.kit = tuple((action,) for action in names.actions)
        guide.only_settings = names.only_settings

    def settle(self, resample: Resample, marked: Marked) -> None:
        held, total = time_kept(resample, marked.plan)
        if not total:
            marked.why = "no occasion"
            if marked.plan.during:
                marked.why, marked.verdict, marked.unrecorded = "unknown", "not recorded", True
            return
        marked.part, marked.whole = held, total
        credit = min(1.0, held / total / self.item(marked.plan).share)
        if credit >= 1.0 - EQUAL and is_as_found(resample, marked.plan):
            marked.why = "as found"
            return
        marked.give_share(credit)

    def asks(self, item: Keep, scenario: Scenario) -> str:
        held = condition_words(item.condition, scenario.vocabulary)
        return say("asked_kept", share=percent(item.share)) + held

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        item = self.item(marked.plan)
        assert marked.part is not None
        assert marked.whole is not None
        held = _held_words(words, item)
        if marked.part == marked.whole:
            key = "keep_throughout" if held else "keep_title_throughout"
            return words.say(key, held=held)
        wanted = min(round(item.share * marked.whole) + 999, marked.whole)
        part, needed, whole = _spans(words, marked.part, wanted, marked.whole)
        if item.share >= 1.0:
            key = "keep_partly" if held else "keep_title_partly"
        else:
            key = "keep_share" if held else "keep_title_share"
        sentence = words.say(key, held=held, part=part, asked=needed, whole=whole)
        for action in marked.plan.guide.asked_actions:
            others = words.traces(_traces(words.resample, action, marked.plan), COUNTS)
            if others:
                doing = capitalised(words.doing((action,)))
                sentence = words.say("keep_also", sentence=sentence, doing=doing, traces=others)
        return sentence

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        plan = marked.plan
        assert plan.condition is not None
        return tuple(
            Evidence(None, start, words.say("so_from", when=words.interval(start, stop)))
            for entry, exit_ in plan.during
            for start, stop in words.resample.truth(plan.condition, entry, exit_)
        )


KIND = KeepKind()


def _held_words(words: VerdictSentences, item: Keep) -> str:
    """Say that what is to be kept was so, in the observations' own words; empty if it has others.

    The sentence then leaves it to the item's title, under which it stands.
    """
    words_held = [
        words.vocabulary.observations[leaf.observation].was[leaf.wanted.words[0]]
        for leaf in leaves(item.condition)
        if isinstance(leaf, Observed)
        and isinstance(leaf.wanted, OneOf)
        and len(leaf.wanted.words) == 1
    ]
    plain = isinstance(item.condition, Observed | All)
    if plain and len(words_held) == len(list(leaves(item.condition))):
        return listed(words_held)
    return ""


def _spans(words: VerdictSentences, part: int, wanted: int, whole: int) -> tuple[str, str, str]:
    """Tell how long it was so, how long that is asked, and of how long.

    Minutes to the nearest 10 s, as people say them, unless that would make the one look enough.
    """
    about = [ms if ms < _MINUTES else round(ms, -4) for ms in (part, wanted, whole)]
    if (about[0] >= about[1]) == (part >= wanted) and about[0] < about[2]:
        part, wanted, whole = about
    return words.whole_seconds(part), words.whole_seconds(wanted), words.whole_seconds(whole)


def _traces(resample: Resample, action: str, plan: ItemPlan) -> list[Trace]:
    """What was done within ``during`` of an action of the condition, and does not count for it."""
    return [
        trace
        for trace in done_traces(resample, (action,), lambda _: "other_way")
        if not (trace.why == "other_way" and trace.run.is_in(COUNTS))
        and done_within(plan, trace.run.start)
    ]


def time_kept(resample: Resample, plan: ItemPlan) -> tuple[int, int]:
    """Return (ms in which the condition held, ms in ``during`` that count)."""
    assert plan.condition is not None
    known = 0
    for setting in plan.guide.asked_settings:
        instants = resample.steps(setting)[0]
        known = max(known, instants[0] if instants else NEVER)
    held = total = 0
    for entry, exit_ in plan.during:
        since = max(entry, known)
        if since >= exit_:
            continue
        total += exit_ - since
        truth = resample.truth(plan.condition, entry, exit_)
        held += sum(stop - max(start, since) for start, stop in truth if stop > since)
    return held, total


def is_as_found(resample: Resample, plan: ItemPlan) -> bool:
    """Whether nobody had touched the settings that a met condition rests on."""
    item = plan.item
    assert isinstance(item, Keep)
    if item.as_found_counts or not plan.guide.only_settings or not plan.during:
        return False
    last = plan.during[-1][1]
    return not any(
        step.change.touched and step.at < last
        for setting in plan.guide.asked_settings
        for step in resample.steps(setting)[1]
    )
