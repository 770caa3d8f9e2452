"""The story of a session in five to nine sentences: what was done, and what came of it.

Rules of this file:

- It is told from the fold: each change of state with what brought it about, cause before effect,
  both with their times. What brought a rule about is what made its condition come true during the
  stay before, by the record as it is now corrected. A change that a fault brought about is told
  from when the fault began.
- Between the changes stand acts of the team, those first that weigh most in the marking guide. What
  was unsafe, or not advised, and each drug given always stand: a change gives way to them.
- A sentence tells what is in the record and what the baby showed; none says that something is
  missing. What a scenario says of waiting in vain is left out where the record of that time was
  completed later.
- Names of actions, settings and observations, and their forms, are the vocabulary's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import Literal

from simengine.debrief.debrief_sentences import say
from simengine.debrief.interest import curves_by_interest, interest, thresholds_of
from simengine.quantities import Range, format_quantity
from simengine.quantities.formatting import capitalised, in_a_sentence, instant, listed, value_words
from simengine.scenario.conditions import (
    All,
    AnyOf,
    Condition,
    Doing,
    Done,
    FaultIs,
    Given,
    Not,
    Observed,
    SettingIs,
)
from simengine.scenario.model import MendedBySetting, Transition
from simengine.scoring.card import ScoreCard
from simengine.session.dynamics import curve_at
from simengine.session.record import Change, FaultEvent, Performance, Session, Stay
from simengine.session.timeline import timeline_of
from simengine.session.truth import Timeline, truth

LEAST, MOST = 5, 9
_MOST_CURVES = 3
_ACTS_TOGETHER = 3
_CURVE_FROM_MS = 10_000
"""A stay this long is long enough to tell how a curve went in it."""

_ALWAYS = 100.0
"""The weight of what was not advised, and of a drug given: the story never leaves it out."""

Who = Literal["you", "the team"]


@dataclass(frozen=True, slots=True)
class Told:
    """A sentence, when it begins, and how much it matters (higher is told first).

    ``events``: the ids of those that it tells.
    """

    at_ms: int
    weight: float
    words: str
    events: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Act:
    """An act in words, its instant, how much it weighs, and what it is one of."""

    at_ms: int
    weight: float
    words: str
    name: str


def story(session: Session, card: ScoreCard, who: Who = "you") -> tuple[str, ...]:
    """Return the story, ``MOST`` sentences at most, in order of time."""
    return tuple(part.words for part in _Story(session, card, who).told())


class _Story:
    def __init__(self, session: Session, card: ScoreCard, who: Who) -> None:
        self.session = session
        self.scenario = session.scenario
        self.vocabulary = session.scenario.vocabulary
        self.who = who
        self.timeline = timeline_of(session)
        order = list(self.vocabulary.observations)
        self.curves = sorted(curves_by_interest(session)[:_MOST_CURVES], key=order.index)
        self.interest = interest(session.scenario)
        self.weights = _weights(card)
        self.mentioned: set[str] = set()
        self.began = 0

    def told(self) -> list[Told]:
        changes = self._changes()
        changes = [*changes[:1], *sorted(changes[1:], key=lambda part: -part.weight)]
        end = self._end()
        room = MOST - len(end)
        kept = changes[:room]
        while len(kept) > 1 and len(kept) + self._always(kept) > room:
            kept.pop()
        most = max(
            self._always(kept), LEAST - len(kept) - len(end), min(room - len(kept), len(kept))
        )
        return sorted([*kept, *self._acts(kept, most)], key=lambda part: part.at_ms) + end

    def _always(self, kept: Sequence[Told]) -> int:
        """Return how many sentences the acts need that must be told beside some changes."""
        return len({act.name for act in self._untold(kept) if act.weight >= _ALWAYS})

    # --- changes of state -----------------------------------------------------------------------

    def _changes(self) -> list[Told]:
        stays = [stay for stay in self.session.stays if stay.entry_ms <= self.session.end_ms]
        given = {run.event_id for run in self.session.record.performances if self._is_drug(run)}
        out = []
        for before, stay in pairwise(stays):
            state = self.scenario.states[stay.state]
            self.mentioned, self.began = set(), stay.entry_ms
            words = capitalised(self._change(before, stay))
            weight = 2.0 if state.trend != self.scenario.states[before.state].trend else 1.0
            if self.mentioned & given:
                weight = _ALWAYS
            out.append(Told(self.began, weight, words, frozenset(self.mentioned)))
        return out

    def _change(self, before: Stay, stay: Stay) -> str:
        state = self.scenario.states[stay.state]
        when, title = self._at(stay.entry_ms), in_a_sentence(state.title)
        shown = self._shown(stay)
        effect = "" if state.ends else listed([*shown, *self._course(stay)])
        after = say("story_effect", effect=effect) if effect else ""
        transition = self._transition(before, stay)
        if transition is None:
            return say("story_by_hand", when=when, title=title, effect=after)
        if transition.on is not None:
            event = transition.on.replace("_", " ")
            return say("story_event", when=when, event=event, title=title, effect=after)
        acts, others = self._causes(before, stay, transition)
        cause = listed([*others, *([say("story_did", who=self.who, acts=acts)] if acts else [])])
        waited = transition.words and not cause and not self._completed_later(before)
        if not effect:
            if waited and not state.ends:
                return say("story_waited_alone", words=transition.words, when=when)
            if acts and state.ends:
                return say("story_cause", cause=cause)
            return say("story_at_last", when=when, title=title)
        if cause:
            is_turn = state.trend == "deteriorating" and not others and not shown
            return say(
                "story_but" if is_turn else "story_so", cause=cause, when=when, effect=effect
            )
        if waited:
            return say("story_waited", words=transition.words, when=when, effect=effect)
        return say("story_from", when=when, effect=effect)

    def _transition(self, before: Stay, stay: Stay) -> Transition | None:
        ways = self.scenario.states[before.state].next
        if stay.cause != "rule" or stay.rule is None or stay.rule >= len(ways):
            return None
        return ways[stay.rule]

    def _completed_later(self, stay: Stay) -> bool:
        """Whether what happened in a stay was written down, or corrected, only after it."""
        times = self.session.times
        events = (*self.session.events, *self.session.effective)
        corrected = {str(event.data.get("id")) for event in events if event.kind == "amend"}
        for event in events:
            if event.kind in ("action", "set", "fault"):
                at_ms = times.scenario(event.at_ms, event.seq)
                noted_ms = times.scenario(event.noted_ms, event.seq)
                late = noted_ms >= stay.exit_ms or event.id in corrected
                if late and stay.entry_ms <= at_ms < stay.exit_ms:
                    return True
        return False

    # --- causes ---------------------------------------------------------------------------------

    def _causes(self, before: Stay, stay: Stay, transition: Transition) -> tuple[str, list[str]]:
        """Return the acts, joined, that made a rule's condition come true, and what else did."""
        if transition.when is None:
            return "", []
        runs: dict[str, Performance] = {}
        changes: list[Change] = []
        done: list[tuple[int, str]] = []
        others: list[tuple[int, str]] = []
        for leaf in _true_parts(transition.when, self.timeline, before.entry_ms, stay.entry_ms):
            since = _since(leaf, self.timeline, before.entry_ms, stay.entry_ms)
            if since is None or since <= before.entry_ms:
                continue
            match leaf:
                case Not(Doing(action)):
                    if self._performance(action, stopped=since) is not None:
                        noun = self.vocabulary.actions[action].noun
                        words = say("story_stopped", noun=noun, when=self._at(since))
                        others.append((since, words))
                case Doing(action) | Done(action) | Given(action):
                    performance = self._performance(action, started=since)
                    if performance is not None:
                        runs[performance.event_id] = performance
                case SettingIs(setting):
                    changes += [
                        change
                        for change in self.session.record.changes.get(setting, ())
                        if change.at_ms == since and change.touched
                    ]
                case FaultIs(fault):
                    for event in self.session.record.faults:
                        if (event.fault, event.at_ms) == (fault, since):
                            where = others if event.status == "planted" else done
                            if event.status == "planted":
                                self.began = since
                            where.append((since, self._fault(event)))
        for run in runs.values():
            carried = [change for change in changes if change.event_id == run.event_id]
            done.append((run.start_ms, self._performed(run, carried)))
        apart = [change for change in changes if change.event_id not in runs]
        done += [(change.at_ms, self._set(change)) for change in apart]
        acts = listed([words for _, words in sorted(set(done))])
        return acts, [words for _, words in sorted(set(others))]

    def _performance(
        self, action: str, *, started: int | None = None, stopped: int | None = None
    ) -> Performance | None:
        for performance in self.session.record.performances:
            if performance.action == action and performance.acts:
                if started is not None and performance.start_ms == started:
                    return performance
                if stopped is not None and performance.stop_ms == stopped:
                    return performance
        return None

    # --- acts -----------------------------------------------------------------------------------

    def _performed(self, performance: Performance, carried: Sequence[Change] = ()) -> str:
        """Tell a performance; ``carried``: the settings given with it that matter here."""
        self.mentioned.add(performance.event_id)
        action = self.vocabulary.actions[performance.action]
        when = self._at(performance.start_ms)
        did = self._did(performance)
        if carried:
            values = []
            for change in carried:
                setting = self.vocabulary.settings[change.setting]
                amount = value_words(change.value, setting.unit)
                values.append(say("story_with", noun=setting.noun, value=amount))
            return say("story_act_with", did=did, when=when, values=listed(values))
        spoken = performance.spoken.get(action.reads or "")
        if spoken is None:
            return say("story_act", did=did, when=when)
        value = value_words(spoken.value, spoken.unit)
        return say("story_act_told", did=did, when=when, value=value)

    def _did(self, performance: Performance) -> str:
        """Tell what was done; of what lasts, and of a drug, whether it was done before."""
        action = self.vocabulary.actions[performance.action]
        before = any(
            run.action == performance.action
            and run.acts
            and (run.start_ms, run.seq) < (performance.start_ms, performance.seq)
            for run in self.session.record.performances
        )
        again = before and (action.lasting or action.dose is not None)
        return say("story_again", did=action.did) if again else action.did

    def _is_drug(self, performance: Performance) -> bool:
        return self.vocabulary.actions[performance.action].dose is not None

    def _set(self, change: Change) -> str:
        self.mentioned.add(change.event_id or "")
        setting = self.vocabulary.settings[change.setting]
        noun, when = setting.noun, self._at(change.at_ms)
        value = value_words(change.value, setting.unit)
        earlier = [
            other.value
            for other in self.session.record.changes[change.setting]
            if (other.at_ms, other.seq) < (change.at_ms, change.seq)
        ]
        before = earlier[-1] if earlier else None
        numbers = isinstance(before, float | int) and isinstance(change.value, float | int)
        if numbers and change.value != before:
            return say(
                "story_raised" if change.value > before else "story_lowered",  # type: ignore[operator]
                noun=noun,
                before=format_quantity(before, ""),  # type: ignore[arg-type]
                value=value,
                when=when,
            )
        return say("story_set", noun=noun, value=value, when=when)

    def _fault(self, event: FaultEvent) -> str:
        self.mentioned.add(event.event_id or "")
        shows = self.scenario.start.faults[event.fault].shows
        when = self._at(event.at_ms)
        if event.status == "planted":
            return say("story_planted", shows=shows, when=when)
        is_find = event.status == "found"
        return say("story_found" if is_find else "story_put_right", shows=shows, when=when)

    def _acts(self, kept: Sequence[Told], most: int) -> list[Told]:
        """Return ``most`` sentences at most of acts that none of the changes ``kept`` tells."""
        if most <= 0:
            return []
        first_of_each: dict[str, Act] = {}
        for act in sorted(self._untold(kept), key=lambda act: (-act.weight, act.at_ms)):
            first_of_each.setdefault(act.name, act)
        chosen = list(first_of_each.values())[: most * _ACTS_TOGETHER]
        acts = sorted(chosen, key=lambda act: act.at_ms)
        out = []
        cuts = sorted({-inf, *(change.at_ms for change in kept), inf})
        for start, end in pairwise(cuts):
            within = [act for act in acts if start <= act.at_ms < end]
            for first in range(0, len(within), _ACTS_TOGETHER):
                together = within[first : first + _ACTS_TOGETHER]
                acted = listed([act.words for act in together])
                words = say("story_cause", cause=say("story_did", who=self.who, acts=acted))
                weight = sum(act.weight for act in together)
                out.append(Told(together[0].at_ms, weight, capitalised(words)))
        return sorted(out, key=lambda part: -part.weight)[:most]

    def _weight(self, event_id: str | None) -> float:
        return self.weights.get(event_id or "", 0.0)

    def _untold(self, kept: Sequence[Told]) -> Iterator[Act]:
        """Yield each act that no change of state has told; all doses of a drug as one."""
        record, end = self.session.record, self.session.end_ms
        covered = frozenset(event for change in kept for event in change.events)
        drugs: dict[str, list[Performance]] = {}
        for run in record.performances:
            action = self.vocabulary.actions[run.action]
            done = run.acts and run.lasted(action.shortest_ms) and run.start_mark is not None
            if not done or run.event_id in covered or run.start_ms > end:
                continue
            if self._is_drug(run):
                drugs.setdefault(run.action, []).append(run)
            else:
                words = self._performed(run)
                yield Act(run.start_ms, self._weight(run.event_id), words, run.action)
        for name, runs in drugs.items():
            when = listed([self._at(run.start_ms) for run in runs])
            words = say("story_act", did=self._did(runs[0]), when=when)
            yield Act(runs[0].start_ms, _ALWAYS, words, name)
        performed = {run.event_id for run in record.performances}
        faults = self.scenario.start.faults
        put_right = {  # by setting a dial: the fault is told, and not the dial as well
            (by.setting, event.at_ms)
            for event in record.faults
            if event.status == "mended"
            and isinstance(by := faults[event.fault].mended_by, MendedBySetting)
        }
        for changes in record.changes.values():
            for change in changes:
                fresh = change.event_id not in covered and change.event_id not in performed
                fresh = fresh and (change.setting, change.at_ms) not in put_right
                if change.touched and fresh and change.at_ms <= end:
                    weight, words = self._weight(change.event_id), self._set(change)
                    yield Act(change.at_ms, weight, words, change.setting)
        for event in record.faults:
            by_itself = event.event_id is not None and event.event_id not in performed
            fresh = by_itself and event.event_id not in covered
            if event.status != "planted" and fresh and event.at_ms <= end:
                weight, words = self._weight(event.event_id) + 1.0, self._fault(event)
                yield Act(event.at_ms, weight, words, f"{event.fault} {event.status}")

    # --- effects --------------------------------------------------------------------------------

    def _at(self, at_ms: int) -> str:
        zero = self.session.record.clock_ms or 0
        return instant(at_ms - zero, (self.scenario.start.clock or "").replace("_", " "))

    def _shown(self, stay: Stay) -> list[str]:
        """Tell the word that the baby newly shows and that the scenario asks about most."""
        fresh = []
        for name, words in self.session.words.items():
            here = [word for since, word in words if since == stay.entry_ms]
            before = [word for since, word in words if since < stay.entry_ms]
            if here and here[-1:] != before[-1:]:
                fresh.append((-self.interest[name], name, here[-1]))
        order = list(self.vocabulary.observations)
        fresh.sort(key=lambda shown: (shown[0], order.index(shown[1])))
        return [self.vocabulary.observations[name].was[word] for _, name, word in fresh[:1]]

    def _course(self, stay: Stay) -> list[str]:
        """Tell how the first curve went in a stay, and a level that it passed for good."""
        if not self.curves:
            return []
        name = self.curves[0]
        observation = self.vocabulary.observations[name]
        exit_ms = min(stay.exit_ms, self.session.end_ms)
        segments = self.session.curves[name]
        first, last = curve_at(segments, stay.entry_ms), curve_at(segments, exit_ms - 1)
        if first is None or last is None:
            return []
        unit, decimals = observation.unit or "", observation.decimals
        noun, ended = observation.noun, format_quantity(last, unit, decimals)
        began = format_quantity(first, unit, decimals)
        if exit_ms - stay.entry_ms < _CURVE_FROM_MS or began == ended:
            return [say("story_at", noun=noun, value=began)]
        before, until = format_quantity(first, "", decimals), self._at(exit_ms)
        out = [
            say(
                "story_rose" if last > first else "story_fell",
                noun=noun,
                before=before,
                value=ended,
                until=until,
            )
        ]
        passed = self._passed(name, stay.entry_ms, exit_ms) if last > first else None
        if passed is not None:
            level = format_quantity(passed[0], unit)
            out.append(say("story_passed", value=level, when=self._at(passed[1])))
        return out

    def _passed(self, name: str, start: int, end: int) -> tuple[float, int] | None:
        """Return the highest level at which the guide asks something that a curve rose through."""
        for level in sorted(thresholds_of(self.scenario, name), reverse=True):
            held = truth(Observed(name, Range(level, inf)), self.timeline, start, end)
            if held and start < held[-1][0] and held[-1][1] >= end:
                return level, held[-1][0]
        return None

    def _end(self) -> list[Told]:
        session = self.session
        values = []
        for name in self.curves[:2]:
            observation = self.vocabulary.observations[name]
            value = curve_at(session.curves[name], session.end_ms)
            if value is not None:
                amount = format_quantity(value, observation.unit or "", observation.decimals)
                values.append(say("story_with", noun=observation.noun, value=amount))
        shown = say("story_with_all", values=listed(values)) if values else ""
        when = self._at(session.end_ms)
        if session.closed is None:
            words = say("story_open_end", when=when, shown=shown)
        elif session.closed == "finished":
            words = say("story_finished", when=when, shown=shown)
        else:
            early = session.closed == "stopped early"
            words = say(
                "story_stopped_early" if early else "story_safety_stop", when=when, shown=shown
            )
        return [Told(session.end_ms, inf, words)]


def _weights(card: ScoreCard) -> dict[str, float]:
    """Return how much each event weighs in the marking guide: that of the items resting on it."""
    out: dict[str, float] = {}
    for score in card.items:
        for evidence in score.evidence:
            name = evidence.event_id or ""
            out[name] = max(out.get(name, 0.0), score.weight)
    for deduction in card.deductions:
        for evidence in deduction.evidence:
            out[evidence.event_id or ""] = _ALWAYS
    return out


def _true_parts(
    condition: Condition, timeline: Timeline, start: int, end: int
) -> Sequence[Condition]:
    """Return the clauses, also negated ones, by which a condition held at ``end``."""
    match condition:
        case All(parts):
            return [leaf for part in parts for leaf in _true_parts(part, timeline, start, end)]
        case AnyOf(parts):
            for part in parts:
                if _since(part, timeline, start, end) is not None:
                    return _true_parts(part, timeline, start, end)
            return []
    return [condition]


def _since(condition: Condition, timeline: Timeline, start: int, end: int) -> int | None:
    """Return since when a condition has held without a break by ``end``; ``None`` if it doesn't."""
    for begin, stop in reversed(truth(condition, timeline, start, end + 1)):
        if begin <= end < stop:
            return begin
    return None
