"""A team of one skill level. What it would do is read from the scenario itself.

Rules of this file:

- The marking guide says what is asked and by when: the team means to do it after ``ideal`` times
  its own pace, or it does not come to mind.
- What leads on to a better state is the trade's knowledge: while nothing gets better the team
  looks up again and again, and tries what is still missing. What the marking guide asks anyhow is
  left to it until its ``latest`` has passed.
- It never knows more than ``Memory`` says. A state whose signs have to be looked for is noticed
  at the first reading; one with a sign in plain sight, or without any, at once.
- What an ``order`` puts first is done first if it is in mind at all; what ends the session waits
  for what is planned within a minute.
- What is unsafe in any baby to begin now it does not begin on its own account.
- All chance comes from one generator, so that a seed repeats a team.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from heapq import heappop, heappush
from random import Random
from typing import Literal, NamedTuple

from simengine.pilot.entries import Entry
from simengine.pilot.hands import Hands
from simengine.pilot.known_to_team import Memory
from simengine.pilot.needs import Eyes, Need, actions_in, ways_on
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.skills import Level, Skills
from simengine.pilot.values import moved_value, right_value, wanted_now
from simengine.quantities import Range
from simengine.scenario.conditions import Condition, Doing, Done, Not, SettingIs
from simengine.scenario.key import (
    Asked,
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    Expect,
    Repeat,
    Respond,
)
from simengine.scenario.model import MendedBySetting, Scenario
from simengine.scenario.wanted import Value
from simengine.session.record import NEVER
from simengine.session.truth import Timeline, Truth, truth

Wish = tuple[Literal["action", "setting", "fault", "knowledge", "stop"], str]
"""What a plan is about, so that nothing is planned twice."""

_BEFORE_THE_END_MS = 60_000
_AFTER_IT_MS = 5_000
_LOOKS = 40
"""How often a team looks up in one state at most."""


class _Do(NamedTuple):
    """Something that the team means to do, and what that is about."""

    asked: Asked
    stop: bool
    wish: Wish


def _meant(asked: Asked, *, stop: bool = False) -> _Do:
    """Return what is to be done for ``asked``."""
    match asked:
        case AskedAction(action):
            return _Do(asked, stop, ("stop" if stop else "action", action))
        case AskedSetting(setting):
            return _Do(asked, stop, ("setting", setting))
        case AskedFault(fault):
            return _Do(asked, stop, ("fault", fault))
        case AskedKnowledge(observation):
            return _Do(asked, stop, ("knowledge", observation))


@dataclass(frozen=True, slots=True)
class _Look:
    """Looking up in the present state, for what is still missing."""

    stay: int
    times: int


@dataclass(frozen=True, slots=True)
class _Again:
    """The next time of a ``repeat`` item."""

    item: Repeat


@dataclass(frozen=True, slots=True)
class _Read:
    """A reading comes in, or what was read has now lasted."""


_Plan = _Do | _Look | _Again | _Read


class SkilledTeam:
    """One team. ``stops_at_ms``: on the team's clock, it leaves everything then."""

    def __init__(
        self,
        scenario: Scenario,
        skills: Skills,
        level: Level,
        chance: Random,
        *,
        stops_at_ms: int | None = None,
    ) -> None:
        self._scenario = scenario
        self._level = level
        self._chance = chance
        self._shared = {name: figure.value for name, figure in skills.shared.items()}
        self._pace = level.pace.value * chance.lognormvariate(0.0, self._shared["spread", "teams"])
        self._stops_at = stops_at_ms
        self._stopped = False
        self._plans: list[tuple[int, int, _Plan]] = []
        self._numbers = 0
        self._planned: Counter[Wish] = Counter()
        self._left_to_guide: dict[Wish, int] = {}
        self._memory = Memory(scenario)
        self._hands = Hands(scenario, self._memory, skills, level, chance)
        self._opened: set[str] = set()
        self._answered: set[tuple[str, int]] = set()
        self._repeating: set[str] = set()
        self._slipped: set[str] = set()
        self._state = ""
        self._entered_ms = 0
        self._unnoticed: tuple[str, int] | None = None
        self._noticed = 0
        self._answered_by: Timeline | None = None
        self._answered_at = (0, 0)
        self._opens_next = 0
        self._looked_at: dict[str, tuple[Truth, int]] = {}
        self._last_done: int | None = None
        self._needs_since = (-1, -1)
        self._needs_rest_on: list[tuple[Condition, bool]] = []
        self._needs: list[_Do] = []
        self._asked = asked_of_teams(scenario)
        self._begin()

    # --- what a team is told --------------------------------------------------------------------

    def state_entered(self, state: str, at_ms: int, real: Timeline) -> None:
        """Notice a state by what it shows: at once, or at the first reading of it."""
        self._unnoticed = (state, at_ms)
        self._look_around(at_ms, real)

    def named(self, event: str, at_ms: int) -> None:
        """Time zero opens what is counted from it."""
        if event != self._scenario.start.clock or self._memory.clock_ms is not None:
            return
        self._memory.start_clock(at_ms)
        if self._stops_at is not None:
            self._stops_at += at_ms
        for item in self._expected("clock"):
            self._open(item, at_ms, at_ms)
        self._work_on_faults(at_ms)

    def planted(self, fault: str, at_ms: int) -> None:
        """A fault planted in mid-session opens what is asked of it."""
        self._memory.fault(fault, "planted", at_ms)
        for item in self._expected("fault", fault):
            self._open(item, at_ms, at_ms)

    def next_ms(self) -> int | None:
        """Return when it next does, reads or looks for something."""
        next_plan = self._plans[0][0] if self._plans else None
        if self._stopped:
            return None
        if self._stops_at is not None and self._knows_the_time():
            return self._stops_at if next_plan is None else min(next_plan, self._stops_at)
        return next_plan

    def act(self, now_ms: int, real: Timeline) -> list[Entry]:
        """Do what is due, notice what can be known, and plan on."""
        if self._stops_at is not None and self._knows_the_time() and now_ms >= self._stops_at:
            return self._leave(now_ms)
        out: list[Entry] = []
        while self._plans and self._plans[0][0] <= now_ms:
            out.extend(self._take(heappop(self._plans)[2], now_ms, real))
        self._look_around(now_ms, real)
        return out

    def busy_until(self, before_ms: int) -> int | None:
        """Return the last instant before ``before_ms`` with something planned or done."""
        planned = [at for at, _, plan in self._plans if isinstance(plan, _Do) and at < before_ms]
        if self._last_done is not None:
            planned.append(self._last_done)
        return max(planned, default=None)

    # --- opening what is asked ------------------------------------------------------------------

    def _begin(self) -> None:
        for item in self._expected("start"):
            self._open(item, 0, 0)
        if self._scenario.start.clock is None:
            self._work_on_faults(0)

    def _expected(self, kind: str, name: str | None = None) -> tuple[Expect, ...]:
        asked_of_team = self._asked
        if name is None:
            return asked_of_team.expected.get(kind, ())
        return asked_of_team.expected_of.get((kind, name), ())

    def _work_on_faults(self, now_ms: int) -> None:
        for fault in self._memory.faults:
            for item in self._expected("fault", fault):
                self._open(item, now_ms, now_ms)

    def _open(self, item: Expect, anchor_ms: int, now_ms: int) -> None:
        """Plan what an item asks, counted from its anchor, or let it slip the mind."""
        if item.id in self._opened and not item.each:
            return
        self._opened.add(item.id)
        wish = _meant(item.asked).wish
        if self._forgets():
            self._left_to_guide[wish] = max(
                self._left_to_guide.get(wish, 0), anchor_ms + item.latest_ms
            )
            return
        earliest = max(0, item.not_before_ms or 0)
        delay = earliest + (item.ideal_ms - earliest) * self._ratio() - self._reading_ms(item.asked)
        self._plan(max(now_ms, anchor_ms + round(delay)), _meant(item.asked))

    def _reading_ms(self, subject: Asked) -> int:
        """How long before it is to be known an observation is looked for, in ms."""
        if not isinstance(subject, AskedKnowledge):
            return 0
        observation = self._scenario.vocabulary.observations[subject.observation]
        return observation.revealed_by[0].delay_ms if observation.revealed_by else 0

    def _moment(self) -> int:
        """How long it takes to look up and act, in ms."""
        return round(self._shared["looks", "every"] * self._ratio())

    def _forgets(self) -> bool:
        return self._chance.random() < self._level.omission.value

    def _ratio(self) -> float:
        """Time taken as a multiple of the time asked."""
        return self._pace * self._chance.lognormvariate(0.0, self._shared["spread", "actions"])

    def _plan(self, at_ms: int, plan: _Plan) -> None:
        self._numbers += 1
        heappush(self._plans, (at_ms, self._numbers, plan))
        if isinstance(plan, _Do):
            self._planned[plan.wish] += 1

    # --- noticing -------------------------------------------------------------------------------

    def _look_around(self, now_ms: int, real: Timeline) -> None:
        if self._unnoticed is not None and self._notices(*self._unnoticed, now_ms):
            state, _ = self._unnoticed
            self._unnoticed = None
            self._notice(state, now_ms)
        self._answer(now_ms, real)

    def _notices(self, state: str, entry_ms: int, now_ms: int) -> bool:
        shows = self._scenario.states[state].shows
        observations = self._scenario.vocabulary.observations
        if not shows or any(not observations[name].revealed_by for name in shows):
            return True
        readings = (self._memory.senses(name).last_reading(now_ms) for name in shows)
        return any(read is not None and read >= entry_ms for read in readings)

    def _notice(self, state: str, now_ms: int) -> None:
        self._memory.notice_state(now_ms)
        self._state = state
        self._entered_ms = now_ms
        self._noticed += 1
        for item in self._expected("state", state):
            self._open(item, now_ms, now_ms)
        for again in self._asked.repeats:
            if again.id not in self._repeating and (not again.during or state in again.during):
                self._repeating.add(again.id)
                wait = again.every_ms * min(1.0, self._ratio() * self._chance.random())
                self._plan(now_ms + round(wait), _Again(again))
        self._start_slips(now_ms)
        self._plan(now_ms + self._moment(), _Look(self._noticed, 0))

    def _start_slips(self, now_ms: int) -> None:
        """Now and then, after time zero, what is advised against comes to mind, and goes again."""
        if not self._knows_the_time():
            return
        for item in self._asked.avoids:
            if item.id in self._slipped:
                continue
            if item.during and self._state not in item.during:
                continue
            self._slipped.add(item.id)
            if self._chance.random() >= self._level.done_in_error.value:
                continue
            if isinstance(item.what, AskedAction | Doing):
                action = AskedAction(item.what.action)
                begin = now_ms + self._moment()
                self._plan(begin, _meant(action))
                self._plan(
                    begin + (item.lasting_ms or 0) + self._moment(), _meant(action, stop=True)
                )

    def _answer(self, now_ms: int, real: Timeline) -> None:
        """Plan an answer to each condition that the team knows to have lasted."""
        items = self._asked.responds.get(self._state, ())
        if not items:
            return
        known = self._memory.timeline(real, self._asked.watched, now_ms)
        since = (self._noticed, self._memory.acts)
        if known is self._answered_by and since == self._answered_at and now_ms < self._opens_next:
            return
        self._answered_by, self._answered_at = known, since
        self._opens_next = min(self._answer_one(item, known, now_ms) for item in items)

    def _answer_one(self, item: Respond, known: Timeline, now_ms: int) -> int:
        """Plan the answers to what has lasted; return when the next condition will have.

        Nothing is looked at twice before something has changed or has lasted.
        """
        holds = self._memory.holds(item.whenever, known, now_ms)
        looked_at, opens_next = self._looked_at.get(item.id, (None, 0))
        if looked_at is holds and now_ms < opens_next:
            return opens_next
        opens_next = NEVER
        for start, end in holds:
            opens = start + item.lasting_ms
            if opens >= end or (item.id, start) in self._answered:
                continue
            if opens > now_ms:
                opens_next = opens
                self._plan(opens, _Read())
                break
            self._answered.add((item.id, start))
            if end <= now_ms:
                continue
            if self._forgets():
                wish = _meant(item.asked).wish
                self._left_to_guide[wish] = now_ms + item.latest_ms
            else:
                self._plan(now_ms + round(item.ideal_ms * self._ratio()), _meant(item.asked))
        self._looked_at[item.id] = (holds, opens_next)
        return opens_next

    # --- doing ----------------------------------------------------------------------------------

    def _take(self, plan: _Plan, now_ms: int, real: Timeline) -> list[Entry]:
        match plan:
            case _Do():
                self._planned[plan.wish] -= 1
                later = self._better_later(plan, now_ms)
                if later is not None:
                    self._plan(later, plan)
                    return []
                if self._is_unsafe(plan, real, now_ms):
                    return []
                return self._do(plan, now_ms, real)
            case _Look(stay, times):
                return self._look(stay, times, now_ms, real)
            case _Again(item):
                return self._again(item, now_ms, real)
            case _Read():
                return []

    def _better_later(self, plan: _Do, now_ms: int) -> int | None:
        """Return when a plan is better done, if something has to come before it."""
        if plan.stop or not isinstance(plan.asked, AskedAction):
            return None
        action = plan.asked.action
        waits_for = [
            at
            for before in self._asked.before.get(action, ())
            if not self._memory.done_since(before, 0)
            for at, _, other in self._plans
            if other == _meant(AskedAction(before))
        ]
        if self._ends_session(action):
            waits_for += [
                at
                for at, _, other in self._plans
                if isinstance(other, _Do)
                and at < now_ms + _BEFORE_THE_END_MS
                and not (
                    isinstance(other.asked, AskedAction) and self._ends_session(other.asked.action)
                )
            ]
        return max(waits_for) + _AFTER_IT_MS if waits_for else None

    def _ends_session(self, action: str) -> bool:
        state = self._scenario.states.get(self._state)
        return state is not None and any(
            transition.when is not None
            and self._scenario.states[transition.to].ends
            and action in actions_in(transition.when)
            for transition in state.next
        )

    def _do(self, plan: _Do, now_ms: int, real: Timeline) -> list[Entry]:
        self._last_done = now_ms
        match plan.asked:
            case AskedAction(action) if plan.stop:
                return self._hands.stop(action, now_ms)
            case AskedAction(action):
                return self._perform(action, now_ms, real)
            case AskedSetting():
                return self._turn(plan.asked, now_ms)
            case AskedFault(fault, status):
                return self._handle(fault, status, now_ms, real)
            case AskedKnowledge():
                return self._find_out(plan.asked, now_ms, real)

    def _find_out(self, knowledge: AskedKnowledge, now_ms: int, real: Timeline) -> list[Entry]:
        """Look for an observation, or read it out where a sensor shows it."""
        ways = self._asked.read_by[knowledge.observation]
        aloud = self._asked.told_by.get(knowledge.observation, ())
        streams = self._memory.senses(knowledge.observation).streams
        if knowledge.told and aloud and (not ways or any(start <= now_ms for start, _ in streams)):
            return self._perform(aloud[0], now_ms, real)
        if not ways:
            return []
        events = self._perform(ways[0], now_ms, real)
        if not events and knowledge.told and aloud:
            # The sensor is on, and shows nothing yet.
            self._plan(
                min((start for start, _ in streams), default=now_ms) + 1_000, _meant(knowledge)
            )
        return events

    def _perform(self, name: str, now_ms: int, real: Timeline) -> list[Entry]:
        action = self._scenario.vocabulary.actions[name]
        if action.lasting and self._memory.runs(name):
            return []
        entry = self._hands.perform(action, now_ms, real)
        self._await_readings(name, now_ms)
        if action.lasting:
            self._plan_stop(name, now_ms)
        for item in self._expected("action", name):
            self._open(item, now_ms, now_ms)
        return [entry]

    def _await_readings(self, action: str, now_ms: int) -> None:
        observations = self._scenario.vocabulary.observations
        for name in dict.fromkeys(self._asked.reveals.get(action, ())):
            for by in observations[name].revealed_by:
                if by.action == action:
                    self._plan(now_ms + by.delay_ms, _Read())

    def _plan_stop(self, action: str, now_ms: int) -> None:
        """What is advised against for long is stopped in time, more or less."""
        for item in self._asked.avoids:
            if item.what == Doing(action) and item.lasting_ms:
                wait = item.lasting_ms * 0.5 * self._ratio()
                self._plan(now_ms + round(wait), _meant(AskedAction(action), stop=True))

    def _turn(self, change: AskedSetting, now_ms: int) -> list[Entry]:
        if change.to is not None:
            return self._hands.bring(change.setting, change.to, now_ms)
        value = self._memory.value(change.setting)
        if not isinstance(value, float) or change.direction is None:
            return []
        new = self._turned(change.setting, change.direction)
        if new is None:
            setting = self._scenario.vocabulary.settings[change.setting]
            new = moved_value(value, setting, change.direction)
        return self._hands.put(change.setting, new, now_ms)

    def _turned(self, name: str, direction: str) -> Value | None:
        """Return the value in this direction that a way on from here needs, if one does."""
        value = self._memory.value(name)
        if not isinstance(value, float):
            return None
        for need in self._ways_on(lambda _: True):
            if isinstance(need, SettingIs) and need.setting == name:
                wanted = wanted_now(need.wanted, None)
                if isinstance(wanted, Range):
                    new = right_value(wanted, self._scenario.vocabulary.settings[name])
                    if isinstance(new, float) and (new > value) == (direction == "higher"):
                        return new
        return None

    def _handle(self, name: str, status: str, now_ms: int, real: Timeline) -> list[Entry]:
        fault = self._scenario.start.faults[name]
        memory = self._memory
        if status == "found":
            memory.fault(name, "found", now_ms)
            return [Entry("fault", {"fault": name, "status": "found"})]
        if isinstance(fault.mended_by, str):
            return self._perform(fault.mended_by, now_ms, real)
        if isinstance(fault.mended_by, MendedBySetting):
            return self._turn(AskedSetting(fault.mended_by.setting, fault.mended_by.wanted), now_ms)
        memory.fault(name, "mended", now_ms)
        return [Entry("fault", {"fault": name, "status": "mended"})]

    # --- looking up -----------------------------------------------------------------------------

    def _look(self, stay: int, times: int, now_ms: int, real: Timeline) -> list[Entry]:
        if stay != self._noticed:
            return []
        out: list[Entry] = []
        known = self._memory.timeline(real, self._asked.watched, now_ms)
        needs = self._needed(known, now_ms)
        to_stop = self._to_stop(real, now_ms)
        for do in (*needs, *to_stop, *self._still_asked(known, now_ms)):
            left = self._left_to_guide.get(do.wish, 0) > now_ms
            if self._planned[do.wish] > 0 or left or self._forgets():
                continue
            if self._is_unsafe(do, real, now_ms):
                continue
            if self._better_later(do, now_ms) is None:
                out.extend(self._do(do, now_ms, real))
        if times < _LOOKS:
            self._plan(now_ms + self._moment(), _Look(stay, times + 1))
        return out

    def _needed(self, known: Timeline, now_ms: int) -> list[_Do]:
        """Return what leads on from here and is still missing.

        It is what it was at the last look while the team has done nothing and sees the same.
        """

        def seen(condition: Condition) -> bool:
            return bool(truth(condition, known, now_ms, now_ms + 1))

        since = (self._noticed, self._memory.acts)
        rest_on = self._needs_rest_on
        if since == self._needs_since and all(seen(part) is held for part, held in rest_on):
            return self._needs
        self._needs_since, self._needs_rest_on = since, []

        def noted(condition: Condition) -> bool:
            holds = seen(condition)
            self._needs_rest_on.append((condition, holds))
            return holds

        self._needs = [self._to_do(need) for need in self._ways_on(noted)]
        return self._needs

    def _is_unsafe(self, do: _Do, real: Timeline, now_ms: int) -> bool:
        """Whether to begin it now would be unsafe in any baby."""
        if do.stop or not isinstance(do.asked, AskedAction):
            return False
        when = self._asked.unsafe_to_begin.get(do.asked.action)
        if not when:
            return False
        known = self._memory.with_readings(real)
        return any(truth(condition, known, now_ms, now_ms + 1) for condition in when)

    def _to_stop(self, real: Timeline, now_ms: int) -> list[_Do]:
        """Return what runs, and is unsafe in any baby to go on with after what was read."""
        stops = self._asked.to_stop
        if not any(self._memory.runs(action) for _, actions in stops for action in actions):
            return []
        known = self._memory.with_readings(real)
        return [
            _meant(AskedAction(action), stop=True)
            for condition, actions in stops
            if truth(condition, known, now_ms, now_ms + 1)
            for action in actions
        ]

    def _still_asked(self, known: Timeline, now_ms: int) -> list[_Do]:
        """Return the answers that are still called for, to what goes on, and not given yet."""
        return [
            _meant(item.asked)
            for item in self._asked.responds.get(self._state, ())
            if any(
                start + item.lasting_ms <= now_ms < end and not self._answered_since(item, start)
                for start, end in self._memory.holds(item.whenever, known, now_ms)
            )
        ]

    def _answered_since(self, item: Respond, start_ms: int) -> bool:
        """Whether what is asked once has been done since its condition began."""
        vocabulary = self._scenario.vocabulary
        return isinstance(item.asked, AskedAction) and any(
            self._memory.done_since(action, start_ms) and not vocabulary.actions[action].lasting
            for action in item.asked.actions
        )

    def _to_do(self, need: Need) -> _Do:
        match need:
            case Doing(action) | Done(action):
                return _meant(AskedAction(action))
            case SettingIs(setting, wanted):
                return _meant(AskedSetting(setting, wanted))
            case Not(Doing(action)):
                return _meant(AskedAction(action), stop=True)
        raise AssertionError(need)

    def _ways_on(self, seen: Callable[[Condition], bool]) -> list[Need]:
        if not self._state:
            return []
        met = partial(self._memory.met, since_ms=self._entered_ms)
        return ways_on(self._scenario, self._state, Eyes(met, seen))

    def _again(self, item: Repeat, now_ms: int, real: Timeline) -> list[Entry]:
        if item.during and self._state not in item.during:
            self._repeating.discard(item.id)
            return []
        self._plan(now_ms + max(1_000, round(item.every_ms * self._ratio())), _Again(item))
        return [] if self._forgets() else self._do(_meant(item.asked), now_ms, real)

    # --- stopping -------------------------------------------------------------------------------

    def _knows_the_time(self) -> bool:
        return self._memory.clock_ms is not None or self._scenario.start.clock is None

    def _leave(self, now_ms: int) -> list[Entry]:
        """Leave everything; sensors stay where they are."""
        self._stopped = True
        sensors = {
            by.action
            for observation in self._scenario.vocabulary.observations.values()
            for by in observation.revealed_by
            if by.streams
        }
        running = {
            performance.action
            for performance in self._memory.performances
            if performance.stop_ms == NEVER and performance.acts
        }
        return [
            entry
            for action in sorted(running - sensors)
            for entry in self._hands.stop(action, now_ms)
        ]
