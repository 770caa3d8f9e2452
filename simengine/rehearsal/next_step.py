"""The next step, as it is hinted to who plays alone in the guided way: which one, and in what words.

Rules of this file:

- Which step comes first follows from the marking guide and the state alone: first what is unsafe to
  go on with, then what is essential and can't wait for two more hints, then what moves a baby on
  who is not improving, then the rest, the most important and the soonest to close first.
- What is essential is hinted as long as it is still wanted, its window closed or not. What a state
  needs and the guide asks later, or answers by what is read, is left to the guide.
- A hint names where to look, or the next step with its target. It names no planted fault before it
  has been called or put right, and no range: one figure is the target, the nearest that is usual.
- What nobody can do now, for want of hands or of a baby, is not hinted; help is, where it is wanted.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from simengine.desk.expected import expected_of
from simengine.desk.scene import Scene
from simengine.desk.view import Expected
from simengine.pilot.entries import asked_settings
from simengine.pilot.needs import Eyes, Need, missing
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.values import is_right, right_value, wanted_now
from simengine.quantities.formatting import capitalised, in_a_sentence, listed, value_words
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.cot import row_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.hands import hands_at, has_baby, lacking
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.conditions import (
    Condition,
    Doing,
    Done,
    Not,
    Observed,
    Seen,
    SettingIs,
    names_read,
)
from simengine.scenario.key import AskedAction, AskedFault, AskedKnowledge, AskedSetting, Item
from simengine.scenario.model import Fault, MendedBySetting
from simengine.scenario.usual import usual_values
from simengine.scenario.vocabulary import Action, Setting
from simengine.scenario.wanted import AsShown, Told, Value, Wanted
from simengine.session.record import NEVER
from simengine.session.timeline import timeline_of
from simengine.session.truth import truth

_RANKS: dict[str, int] = {"essential": 0, "important": 1, "helpful": 2}
_UNSAFE, _CANT_WAIT, _MOVES_ON, _ASKED, _KEPT = range(5)
"""How soon a step comes."""


@dataclass(frozen=True, slots=True)
class Hint:
    """A hint in words. ``prompts``: the action that it names, if it names one.

    ``targets``: it tells figures to be set as well. ``cant_wait``: it is told sooner.
    """

    text: str
    prompts: str | None
    targets: bool = False
    cant_wait: bool = False


@dataclass(frozen=True, slots=True)
class _Step:
    """Something to be done: one of ``actions``, ``stop``, a setting or a fault. ``order``: when."""

    order: tuple[int, ...]
    actions: tuple[str, ...] = ()
    settings: Mapping[str, Told] | None = None
    stop: str = ""
    setting: str = ""
    wanted: Wanted | None = None
    direction: Literal["lower", "higher"] | None = None
    fault: str = ""
    only_found: bool = False


def hints(scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Iterator[Hint]:
    """Go through the hints that can be given now, what comes first first."""
    return _Guide(scene, rules, cot).hints()


class _Guide:
    """What is asked at one instant."""

    def __init__(self, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> None:
        self._scene = scene
        self._rules = rules
        self._cot = cot
        self._scenario = scene.scenario
        self._vocabulary = scene.scenario.vocabulary
        self._account = scene.fold.account
        self._items = {item.id: item for item in scene.scenario.key}
        self._asked = asked_of_teams(scene.scenario)
        self._timeline = replace(timeline_of(scene.session), sensing=scene.sensing)
        stay = scene.fold.stay
        self._done = {one.action for one in scene.session.record.performances}
        self._state = scene.scenario.states[stay.state] if stay is not None else None
        self._hands = hands_at(
            scene.scenario, rules, scene.session.record.performances, scene.now
        )

    def hints(self) -> Iterator[Hint]:
        if self._state is None or self._state.ends:
            return
        told: set[Hint] = set()
        for step in sorted(self._steps(), key=lambda one: one.order):
            hint = self._hint(step)
            if hint is not None and hint not in told:
                told.add(hint)
                yield replace(hint, cant_wait=step.order[0] <= _CANT_WAIT)

    # --- which steps there are ------------------------------------------------------------------

    def _steps(self) -> Iterator[_Step]:
        for condition, actions in self._asked.to_stop:
            if self._holds(condition):
                yield from (_Step((_UNSAFE,), stop=action) for action in actions)
        needs, ways = self._needs(), self._ways()
        asked: set[str] = set()
        expected = expected_of(self._scene)
        for place, one in enumerate(expected):
            item = self._items[one.item]
            names = _names(item.asked)
            on_the_way = self._is_worse and bool(names & ways)
            if not self._is_wanted(one, on_the_way):
                continue
            asked |= names
            moves_on = on_the_way and one.importance != "essential"
            rank = _MOVES_ON if moves_on else _ASKED
            # Help takes a while to come, and what is essential may need its hands.
            is_needed = one.importance == "essential" or names & self._rules.help.keys()
            if is_needed and self._cant_wait(one):
                rank = _CANT_WAIT
            closes = one.latest_ms if one.latest_ms is not None else NEVER
            # What is essential has its own time; until then it comes as what is important does.
            weighs = max(1, _RANKS[one.importance])
            order = (rank, 0 if rank < _ASKED else weighs, closes, place)
            need = needs.get(one.setting or "")
            yield self._step_of(item, one, order, need)
        waits = self._left_to_the_guide(expected)
        for place, (name, need) in enumerate(needs.items()):
            if name not in asked and name not in waits:
                rank = _MOVES_ON if self._is_worse else _KEPT
                # A dial is turned in a moment, and keeps no hand.
                yield _step_of_need(need, (rank, 1, int(not isinstance(need, SettingIs)), place))
        yield from self._to_keep()

    def _is_wanted(self, one: Expected, on_the_way: bool) -> bool:
        """Whether an item is open, or was missed but is still to be done: it is essential, or a way
        on from this state.
        """
        asked = self._items[one.item].asked
        if one.standing == "open":
            # What a sensor shows all the time needs no looking for again and again.
            shown = one.kind == "repeat" and isinstance(asked, AskedKnowledge)
            return not (shown and self._shows(asked.observation))
        still = one.importance == "essential" or (on_the_way and isinstance(asked, AskedAction))
        if one.standing != "missed" or not still:
            return False
        item = self._items[one.item]
        if item.whenever is not None:
            return self._holds(item.whenever)
        return not any(stay.state in item.until for stay in self._scene.session.stays)

    def _cant_wait(self, one: Expected) -> bool:
        """Whether it would come too late if another hint were told first, and not followed."""
        repeated = one.kind == "repeat"
        due = one.latest_ms if repeated else one.ideal_ms
        ahead = self._rules.hint_ms * (1.0 if repeated else 1.5)
        return due is None or self._scene.now + ahead > due

    @property
    def _is_worse(self) -> bool:
        return self._state is not None and self._state.trend in ("deteriorating", "stable")

    def _needs(self) -> dict[str, Need]:
        """What the ways on from this state still need, by the name of it."""
        assert self._state is not None
        eyes = Eyes(self._is_met, self._is_seen)
        needs: dict[str, Need] = {}
        for condition in self._asked.ways_on[self._state.name]:
            for need in missing(condition, eyes):
                name = _name_of(need)
                against = name in self._asked.against[self._state.name]
                if not isinstance(need, Not) and not against and not self._is_unsafe(name):
                    needs.setdefault(name, need)
        return needs

    def _ways(self) -> set[str]:
        """All that the ways on from this state name."""
        assert self._state is not None
        conditions = self._asked.ways_on[self._state.name]
        return {name for condition in conditions for _, name in names_read(condition)}

    def _left_to_the_guide(self, expected: Sequence[Expected]) -> set[str]:
        """What the guide asks again and again, or has not asked yet: it says when, not the state."""
        come = {one.item for one in expected if one.standing not in ("later", "not reached")}
        return {
            name
            for item in self._scenario.key
            if item.kind == "repeat" or item.id not in come
            for name in item.actions
        }

    def _to_keep(self) -> Iterator[_Step]:
        """What is to be kept so in this state, and is not."""
        assert self._state is not None
        eyes = Eyes(self._is_met, self._is_seen)
        for place, item in enumerate(self._scenario.key):
            if item.kept is None or self._state.name not in item.during:
                continue
            essential = item.importance == "essential"
            for need in missing(item.kept, eyes):
                known = not isinstance(need, SettingIs) or need.setting in self._account.values
                if known and (isinstance(need, Not) or not self._is_unsafe(_name_of(need))):
                    rank = _CANT_WAIT if essential else _ASKED
                    yield _step_of_need(need, (rank, _RANKS[item.importance], 0, place))

    def _step_of(self, item: Item, one: Expected, order: tuple[int, ...], need: Need | None) -> _Step:
        asked = item.asked
        if isinstance(asked, AskedSetting):
            if isinstance(need, SettingIs):
                return _Step(order, setting=asked.setting, wanted=need.wanted)
            return _Step(
                order, setting=asked.setting, wanted=asked.to, direction=asked.direction
            )
        if isinstance(asked, AskedFault):
            return _Step(order, fault=asked.fault, only_found=asked.status == "found")
        if isinstance(asked, AskedAction):
            return _Step(order, actions=asked.actions, settings=item.settings)
        if isinstance(asked, AskedKnowledge):
            sensors = self._sensors(asked.observation)
            on = any(name in self._account.running for name in sensors)
            if on and not asked.told:
                return _Step(order)
            if one.kind == "repeat" and not on:
                return _Step(order, actions=(*sensors, *_of(one.action)))
        return _Step(order, actions=_of(one.action), settings=item.settings)

    def _sensors(self, observation: str) -> tuple[str, ...]:
        """What goes on telling it once it is on, the quickest first."""
        known = self._vocabulary.observations[observation]
        sensors = sorted((by for by in known.revealed_by if by.streams), key=lambda by: by.delay_ms)
        return tuple(by.action for by in sensors)

    # --- what is so ------------------------------------------------------------------------------

    def _holds(self, condition: Condition) -> bool:
        now = self._scene.now
        return bool(truth(condition, self._timeline, now, now + 1))

    def _is_met(self, need: Need) -> bool:
        return self._holds(need)

    def _is_seen(self, condition: Condition) -> bool:
        """Whether it is so, and whoever plays can know it."""
        if isinstance(condition, Observed | Seen):
            known = self._vocabulary.observations[condition.observation]
            if known.revealed_by and not self._has_read(known.name):
                return False
        return self._holds(condition)

    def _has_read(self, observation: str) -> bool:
        return self._scene.sensing[observation].last_reading(self._scene.now) is not None

    def _is_unsafe(self, action: str) -> bool:
        return any(self._holds(one) for one in self._asked.unsafe_to_begin.get(action, ()))

    def _is_unread(self, action: Action) -> bool:
        """Whether it is to read out what nothing shows now."""
        reads = self._vocabulary.observations.get(action.reads or "")
        if reads is None or not action.by_voice or reads.adds_up is not None:
            return False
        return not self._shows(reads.name)

    def _shows(self, observation: str) -> bool:
        return self._scene.sensing[observation].streams_at(self._scene.now)

    # --- words -----------------------------------------------------------------------------------

    def _hint(self, step: _Step) -> Hint | None:
        if step.stop:
            return self._to_stop(step.stop)
        if step.fault:
            return self._to_put_right(self._scenario.start.faults[step.fault], step.only_found)
        if step.setting:
            return self._to_set(step.setting, step.wanted, step.direction)
        for name in step.actions:
            hint = self._to_do(self._vocabulary.actions[name], step.settings or {})
            if hint is not None:
                return hint
        return None

    def _to_stop(self, name: str) -> Hint | None:
        if name not in self._account.running:
            return None
        noun = self._vocabulary.actions[name].noun
        return Hint(say("hint_stop", noun=noun), None)

    def _to_do(self, action: Action, settings: Mapping[str, Told]) -> Hint | None:
        if action.lasting and action.name in self._account.running:
            return None
        clock = self._scenario.start.clock
        if action.on_baby and clock and self._account.clock_ms is None:
            return None
        unmet = self._unfound(action.name)
        if unmet is not None:
            return self._to_put_right(unmet, only_found=False)
        if self._is_unsafe(action.name) or self._is_unread(action):
            return None
        task = self._rules.task(action)
        if task.after and not self._done.intersection(task.after):
            first = (self._to_do(self._vocabulary.actions[name], {}) for name in task.after)
            return next((hint for hint in first if hint is not None), None)
        if has_baby(self._scenario) and lacking(self._hands, task):
            return self._to_call()
        do = capitalised(action.do or in_a_sentence(action.label))
        told = [
            self._target_words(self._vocabulary.settings[name], value)
            for name, wanted in settings.items()
            if action.on_baby and (value := self._target(name, wanted)) is not None
        ]
        if told:
            words = say("hint_do_with", do=do, settings=listed(told))
            return Hint(words, action.name, targets=True)
        return Hint(say("hint_do", do=do), action.name)

    def _to_call(self) -> Hint | None:
        """What is to be called, where hands are wanted that nobody has."""
        for call in self._rules.help:
            action = self._vocabulary.actions.get(call)
            if action is not None and call not in self._done:
                return Hint(say("hint_do", do=capitalised(action.do)), call)
        return None

    def _to_set(
        self, name: str, wanted: Wanted | None, direction: Literal["lower", "higher"] | None
    ) -> Hint | None:
        setting = self._vocabulary.settings[name]
        noun = setting.noun or in_a_sentence(setting.label)
        if direction is not None:
            key = "hint_lower" if direction == "lower" else "hint_higher"
            return Hint(say(key, noun=noun), None)
        value = self._target(name, wanted)
        if value is None:
            return None
        if set(setting.words) == {"on", "off"}:
            return Hint(say("hint_switch", noun=noun, word=str(value)), None)
        return Hint(say("hint_set", noun=noun, value=_words(setting, value)), None)

    def _target(self, name: str, wanted: Told | None) -> Value | None:
        """The one figure to be set: ``None`` where it stands so, or nothing can be said of it."""
        if wanted is None or isinstance(wanted, AsShown):
            return None
        zero = self._account.clock_ms
        so_far = None if zero is None else self._scene.now - zero
        now = wanted_now(wanted, so_far)
        value = self._account.values.get(name)
        if now is None or is_right(value, now):
            return None
        setting = self._vocabulary.settings[name]
        middle = right_value(now, setting)
        if isinstance(middle, str) or getattr(now, "bare", False):
            return middle
        of_guide = wanted_now(asked_settings(self._scenario).get(name, now), so_far)
        if of_guide is not None and of_guide != now:
            figure = right_value(of_guide, setting)
            if is_right(figure, now):
                return figure
        usual = [one for one in usual_values(self._scenario, setting) if is_right(one, now)]
        at = value if isinstance(value, float) else middle
        return min(usual, key=lambda one: abs(one - at), default=middle)

    def _target_words(self, setting: Setting, value: Value) -> str:
        noun = setting.noun or in_a_sentence(setting.label)
        return say("hint_at", noun=noun, value=_words(setting, value))

    # --- faults ----------------------------------------------------------------------------------

    def _unfound(self, action: str) -> Fault | None:
        """A planted fault that an action would put right, and nobody has found."""
        for fault in self._scenario.start.faults.values():
            steps = self._account.fault_steps.get(fault.name, ())
            if fault.mended_by == action and steps and steps[-1][1] == "planted":
                return fault
        return None

    def _to_put_right(self, fault: Fault, only_found: bool) -> Hint | None:
        """Where to look, then to say what is seen, and once it is found what is to be done."""
        steps = self._account.fault_steps.get(fault.name, ())
        if self._cot is None or not steps or steps[-1][1] == "mended":
            return None
        if steps[-1][1] == "found":
            return None if only_found else self._repair(fault)
        equipment = self._vocabulary.equipment
        assert equipment is not None
        row = equipment.rows[row_of(self._cot.bench, fault)]
        check = self._vocabulary.actions[row.check]
        if row.name not in self._cot.looked or check.name not in self._done:
            return Hint(say("hint_look", part=row.label, do=check.do), check.name)
        return Hint(say("hint_is_it_right", part=row.label), None)

    def _repair(self, fault: Fault) -> Hint | None:
        if fault.put_right:
            return Hint(say("hint_do", do=capitalised(fault.put_right)), None)
        if isinstance(fault.mended_by, MendedBySetting):
            return self._to_set(fault.mended_by.setting, fault.mended_by.wanted, None)
        if fault.mended_by is None:
            return None
        do = self._vocabulary.actions[fault.mended_by].do
        return Hint(say("hint_do", do=capitalised(do)), fault.mended_by)


def _of(action: str | None) -> tuple[str, ...]:
    return () if action is None else (action,)


def _names(asked: object) -> set[str]:
    if isinstance(asked, AskedAction):
        return set(asked.actions)
    return {asked.setting} if isinstance(asked, AskedSetting) else set()


def _name_of(need: Need) -> str:
    match need:
        case Doing(action) | Done(action):
            return action
        case SettingIs(setting):
            return setting
        case Not(Doing(action)):
            return action
    return ""


def _step_of_need(need: Need, order: tuple[int, ...]) -> _Step:
    match need:
        case Doing(action) | Done(action):
            return _Step(order, actions=(action,))
        case SettingIs(setting, wanted):
            return _Step(order, setting=setting, wanted=wanted)
        case Not(Doing(action)):
            return _Step(order, stop=action)
    raise AssertionError(need)


def _words(setting: Setting, value: Value) -> str:
    return value_words(value, setting.unit or "")
