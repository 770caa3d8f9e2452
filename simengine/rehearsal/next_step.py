"""Which step comes next for who plays alone in the guided way.

Rules of this file:

- It follows from the marking guide and the state alone: first what is unsafe to go on with, then
  what is essential and can't wait, then what moves a baby on who is not improving, then the rest,
  the most important and the soonest to close first.
- What is essential can't wait once it would come too late if another hint were given first and not
  followed. Nor can a call for help, since help takes a while and what is essential needs its hands.
- What is essential, or a way on from the state, is a step as long as it is still to be done, its
  window closed or not.
- What a state needs and the guide asks later, or again and again, is left to the guide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from simengine.desk.expected import expected_of
from simengine.desk.view import Expected
from simengine.pilot.needs import Need, missing
from simengine.rehearsal.moment import Moment
from simengine.scenario.conditions import Doing, Done, Not, SettingIs, names_read
from simengine.scenario.key import AskedAction, AskedFault, AskedKnowledge, AskedSetting, Importance
from simengine.scenario.model import State
from simengine.scenario.wanted import Told, Wanted
from simengine.session.record import NEVER

_WEIGHS: Mapping[Importance | str, int] = {"essential": 0, "important": 1, "helpful": 2}
_UNSAFE, _CANT_WAIT, _MOVES_ON, _ASKED, _OF_THE_STATE = range(5)


@dataclass(frozen=True, slots=True)
class Step:
    """Something to be done: one of ``actions``, something to ``stop``, a setting or a fault.

    ``order``: the smallest comes first. ``settings``: what goes with an action. ``wanted`` or
    ``direction``: where a setting is to go. ``only_called``: a fault is to be found, no more.
    """

    order: tuple[int, ...]
    actions: tuple[str, ...] = ()
    settings: Mapping[str, Told] = field(default_factory=dict)
    stop: str = ""
    setting: str = ""
    wanted: Wanted | None = None
    direction: Literal["lower", "higher"] | None = None
    fault: str = ""
    only_called: bool = False

    @property
    def cant_wait(self) -> bool:
        """Whether it is told sooner than others."""
        return self.order[0] <= _CANT_WAIT


def steps_of(moment: Moment) -> list[Step]:
    """Return what is to be done now, what comes first first."""
    state = moment.state
    if state is None or state.ends:
        return []
    steps = [*_to_stop(moment), *_Steps(moment, state).all()]
    return sorted(steps, key=lambda step: step.order)


def _to_stop(moment: Moment) -> Iterator[Step]:
    for condition, actions in moment.asked.to_stop:
        if moment.holds(condition):
            yield from (Step((_UNSAFE,), stop=action) for action in actions)


class _Steps:
    """What the guide and the state ask at one moment."""

    def __init__(self, moment: Moment, state: State) -> None:
        self._moment = moment
        self._state = state
        self._items = {item.id: item for item in moment.scenario.key}
        self._stuck = state.trend in ("deteriorating", "stable")
        self._ways = {
            name
            for condition in moment.asked.ways_on[state.name]
            for _, name in names_read(condition)
        }

    def all(self) -> Iterator[Step]:
        expected, needs = expected_of(self._moment.scene), self._needs()
        wanted = [each for each in expected if self._is_wanted(each)]
        for place, each in enumerate(wanted):
            yield self._step_of(each, self._order(each, place), needs.get(each.setting or ""))
        at_once = {name for each in wanted for name in self._names(each)}
        for_guide = at_once | self._later(expected)
        for place, (name, need) in enumerate(needs.items()):
            if name not in for_guide:
                rank = _MOVES_ON if self._stuck else _OF_THE_STATE
                # A dial is turned in a moment, and keeps no hand.
                yield _step_of_need(need, (rank, 1, int(not isinstance(need, SettingIs)), place))
        yield from self._to_keep()

    # --- what the guide asks --------------------------------------------------------------------

    def _is_wanted(self, each: Expected) -> bool:
        item = self._items[each.item]
        if each.standing == "open":
            # What a sensor shows all the time needs no looking for again and again.
            again = each.kind == "repeat" and isinstance(item.asked, AskedKnowledge)
            return not (again and self._moment.shows(item.asked.observation))  # type: ignore[union-attr]
        by_the_way = isinstance(item.asked, AskedAction) and self._is_on_the_way(each)
        if each.standing != "missed" or not (each.importance == "essential" or by_the_way):
            return False
        if item.whenever is not None:
            return self._moment.holds(item.whenever)
        return not any(stay.state in item.until for stay in self._moment.scene.session.stays)

    def _is_on_the_way(self, each: Expected) -> bool:
        return self._stuck and not self._ways.isdisjoint(self._names(each))

    def _order(self, each: Expected, place: int) -> tuple[int, ...]:
        calls = self._moment.rules.help.keys()
        is_needed = each.importance == "essential" or bool(calls & self._names(each))
        closes = each.latest_ms if each.latest_ms is not None else NEVER
        if is_needed and self._cant_wait(each):
            return (_CANT_WAIT, 0, closes, place)
        if each.importance != "essential" and self._is_on_the_way(each):
            return (_MOVES_ON, 0, closes, place)
        # What is essential has its own time; until then it comes as what is important does.
        return (_ASKED, max(1, _WEIGHS[each.importance]), closes, place)

    def _cant_wait(self, each: Expected) -> bool:
        again = each.kind == "repeat"
        due = each.latest_ms if again else each.ideal_ms
        ahead = self._moment.rules.hint_ms * (1.0 if again else 1.5)
        return due is None or self._moment.scene.now + ahead > due

    def _names(self, each: Expected) -> set[str]:
        subject = self._items[each.item].asked
        if isinstance(subject, AskedAction):
            return set(subject.actions)
        return {subject.setting} if isinstance(subject, AskedSetting) else set()

    def _later(self, expected: Sequence[Expected]) -> set[str]:
        """What the guide asks again and again, or has not asked yet: it says when."""
        come = {each.item for each in expected if each.standing not in ("later", "not reached")}
        return {
            action
            for item in self._moment.scenario.key
            if item.kind == "repeat" or item.id not in come
            for action in item.actions
        }

    def _step_of(self, each: Expected, order: tuple[int, ...], need: Need | None) -> Step:
        item = self._items[each.item]
        subject = item.asked
        if isinstance(subject, AskedSetting):
            if isinstance(need, SettingIs):
                return Step(order, setting=subject.setting, wanted=need.wanted)
            return Step(
                order, setting=subject.setting, wanted=subject.to, direction=subject.direction
            )
        if isinstance(subject, AskedFault):
            return Step(order, fault=subject.fault, only_called=subject.status == "found")
        if isinstance(subject, AskedKnowledge):
            return Step(order, actions=self._ways_to_know(each, subject))
        actions = subject.actions if subject is not None else ()
        return Step(order, actions=actions, settings=item.settings)

    def _ways_to_know(self, each: Expected, knowledge: AskedKnowledge) -> tuple[str, ...]:
        """What tells it: what is asked for again and again, a sensor that goes on telling it."""
        revealed_by = self._moment.scenario.vocabulary.observations[
            knowledge.observation
        ].revealed_by
        streams = sorted((by for by in revealed_by if by.streams), key=lambda by: by.delay_ms)
        sensors = tuple(by.action for by in streams)
        is_on = any(self._moment.runs(sensor) for sensor in sensors)
        if is_on and not knowledge.told:
            return ()
        usual = () if each.action is None else (each.action,)
        return (*sensors, *usual) if each.kind == "repeat" and not is_on else usual

    # --- what the state asks --------------------------------------------------------------------

    def _needs(self) -> dict[str, Need]:
        """What the ways on from this state still need, by the name of it."""
        moment, needs = self._moment, dict[str, Need]()
        against = moment.asked.against[self._state.name]
        for condition in moment.asked.ways_on[self._state.name]:
            for need in missing(condition, moment.eyes):
                name = _name_of(need)
                if not isinstance(need, Not) and name not in against and not moment.is_unsafe(name):
                    needs.setdefault(name, need)
        return needs

    def _to_keep(self) -> Iterator[Step]:
        """What is to be kept so in this state, and is not; what nobody wrote down is left."""
        moment = self._moment
        for place, item in enumerate(moment.scenario.key):
            if item.kept is None or self._state.name not in item.during:
                continue
            rank = _CANT_WAIT if item.importance == "essential" else _ASKED
            for need in missing(item.kept, moment.eyes):
                if isinstance(need, SettingIs) and moment.value(need.setting) is None:
                    continue
                if isinstance(need, Not) or not moment.is_unsafe(_name_of(need)):
                    yield _step_of_need(need, (rank, _WEIGHS[item.importance], 0, place))


def _name_of(need: Need) -> str:
    match need:
        case Doing(name) | Done(name) | SettingIs(name) | Not(Doing(name)):
            return name
    return ""


def _step_of_need(need: Need, order: tuple[int, ...]) -> Step:
    match need:
        case Doing(action) | Done(action):
            return Step(order, actions=(action,))
        case SettingIs(setting, wanted):
            return Step(order, setting=setting, wanted=wanted)
    return Step(order, stop=_name_of(need))
