"""The lanes: who does what now, and what each role can do.

Rules of this file:

- Lanes are the scenario's roles, in its order, and one more for the equipment, which also has
  the actions of roles that nobody plays here.
- Asked-for actions come first, soonest first; then what runs; then what this scenario uses; then
  the rest of the vocabulary.
- An action asks only for the settings that the marking guide checks with it.
"""

from __future__ import annotations

from simengine.desk.scene import Scene, curve_of, segment_at, word_at
from simengine.desk.view import (
    ActionView,
    Ask,
    Doing,
    DoseView,
    Expected,
    Figure,
    Lane,
    Person,
    SpokenView,
    Words,
)
from simengine.quantities.units import units_like
from simengine.scenario.key import AskedAction, Avoid, Expect, Order, Repeat, Respond
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action
from simengine.session.plan import names_in
from simengine.session.readings import COUNTS
from simengine.session.record import NEVER, Performance
from simengine.session.telling import plain

EQUIPMENT = ""
"""The lane that is nobody's."""


def actions_of(scene: Scene, expected: tuple[Expected, ...]) -> dict[str, ActionView]:
    """Return every action of the vocabulary, by name."""
    asks = _asks(expected)
    checked = settings_checked(scene.scenario)
    performed: dict[str, list[Performance]] = {}
    for performance in scene.session.record.performances:
        performed.setdefault(performance.action, []).append(performance)
    away = {str(one.get("action")) for one in scene.session.record.unavailable}
    reads = _reads_at(scene)
    out = {}
    for action in scene.scenario.vocabulary.actions.values():
        done = performed.get(action.name, [])
        running = _running(scene, action.name)
        out[action.name] = ActionView(
            name=action.name,
            label=action.label,
            phase=action.phase,
            role=lane_of(scene.scenario, action) or None,
            key=action.key,
            lasting=action.lasting,
            running_ms=running.start_ms if running is not None else None,
            running_id=running.event_id or None if running is not None else None,
            asked=asks.get(action.name),
            settings=checked.get(action.name, ()),
            dose=_dose(scene, action, done),
            spoken=_spoken(scene, action),
            reads_at_ms=reads.get(action.name),
            last_ms=done[-1].start_ms if done else None,
            times=sum(1 for one in done if one.way in COUNTS),
            away=action.name in away,
        )
    return out


def lanes_of(scene: Scene, actions: dict[str, ActionView]) -> tuple[Lane, ...]:
    """Return the lanes in order, the equipment's last."""
    used = actions_used(scene.scenario)
    by_lane: dict[str, list[ActionView]] = {}
    for action in actions.values():
        by_lane.setdefault(action.role or EQUIPMENT, []).append(action)
    people = people_by_role(scene)
    out = []
    for role, label in (*scene.scenario.roles.items(), (EQUIPMENT, "Equipment and others")):
        own = by_lane.get(role, [])
        own.sort(key=lambda one: _rank(one, used))
        doing = tuple(
            Doing(one.name, one.label, one.running_ms) for one in own if one.running_ms is not None
        )
        out.append(
            Lane(
                role=role,
                label=label,
                people=people.get(role, ()),
                doing=doing,
                actions=tuple(one.name for one in own),
                settings=tuple(scene.scenario.vocabulary.settings) if role == EQUIPMENT else (),
                shown=sum(1 for one in own if _rank(one, used)[0] < _REST),
                last_ms=max((one.last_ms for one in own if one.last_ms is not None), default=None),
            )
        )
    return tuple(out)


def people_of(scene: Scene) -> tuple[Person, ...]:
    """Return who is in the room, each with the roles held now."""
    roles: dict[str, list[str]] = {}
    for tenure in scene.session.record.tenures:
        held = roles.setdefault(tenure.person, [])
        if tenure.end_ms == NEVER and tenure.role not in held:
            held.append(tenure.role)
    return tuple(Person(person, tuple(held)) for person, held in roles.items())


def people_by_role(scene: Scene) -> dict[str, tuple[str, ...]]:
    """Return who holds each role now."""
    out: dict[str, dict[str, None]] = {}
    for tenure in scene.session.record.tenures:
        if tenure.end_ms == NEVER:
            out.setdefault(tenure.role, {})[tenure.person] = None
    return {role: tuple(people) for role, people in out.items()}


def lane_of(scenario: Scenario, action: Action) -> str:
    """Return the role whose lane an action is in; ``EQUIPMENT`` where nobody plays its role."""
    role = action.role
    return role if role is not None and role in scenario.roles else EQUIPMENT


def settings_checked(scenario: Scenario) -> dict[str, tuple[str, ...]]:
    """Return for each action the settings that the marking guide checks with it."""
    out: dict[str, dict[str, None]] = {}
    for item in scenario.key:
        if isinstance(item, Expect | Respond) and isinstance(item.asked, AskedAction):
            out.setdefault(item.asked.action, {}).update(dict.fromkeys(item.settings))
    return {action: tuple(settings) for action, settings in out.items()}


def actions_used(scenario: Scenario) -> frozenset[str]:
    """Return the actions that the scenario's marking guide, states, faults and cues name."""
    used: set[str] = set()
    for item in scenario.key:
        if isinstance(item, Expect | Respond | Repeat) and isinstance(item.asked, AskedAction):
            used.update(item.asked.actions)
        elif isinstance(item, Order):
            used.update(item.actions)
        elif isinstance(item, Avoid) and isinstance(item.what, AskedAction):
            used.update(item.what.actions)
    for state in scenario.states.values():
        for transition in state.next:
            if transition.when is not None:
                used.update(n for kind, n in names_in(transition.when) if kind == "action")
    for fault in scenario.start.faults.values():
        if isinstance(fault.mended_by, str):
            used.add(fault.mended_by)
    used.update(cue.prompts for cue in scenario.cues if cue.prompts is not None)
    return frozenset(used)


_ASKED, _RUNS, _USED, _REST = range(4)


def _rank(action: ActionView, used: frozenset[str]) -> tuple[int, int]:
    if action.asked is not None:
        latest = action.asked.latest_ms
        return _ASKED, NEVER if latest is None else latest
    if action.running_ms is not None:
        return _RUNS, 0
    return (_USED if action.name in used else _REST), 0


def _asks(expected: tuple[Expected, ...]) -> dict[str, Ask]:
    """The soonest open item of each action; ``expected`` comes soonest first."""
    out: dict[str, Ask] = {}
    for one in expected:
        if one.standing == "open" and one.action is not None and one.action not in out:
            out[one.action] = Ask(one.item, one.title, one.opens_ms, one.ideal_ms, one.latest_ms)
    return out


def _running(scene: Scene, action: str) -> Performance | None:
    index = scene.fold.account.running.get(action)
    return scene.fold.account.performances[index] if index is not None else None


def _reads_at(scene: Scene) -> dict[str, int]:
    """When what an action began will read: the soonest of what it reveals."""
    out: dict[str, int] = {}
    for observation in scene.scenario.vocabulary.observations.values():
        for by in observation.revealed_by:
            last = next(
                (
                    one
                    for one in reversed(scene.session.record.performances)
                    if one.action == by.action and one.way in COUNTS
                ),
                None,
            )
            if last is None or (last.stop_ms is not None and last.stop_ms <= scene.now):
                continue
            reads = last.start_ms + by.delay_ms
            if reads > scene.now:
                out[by.action] = min(reads, out.get(by.action, reads))
                scene.changes_at(reads)
    return out


def _spoken(scene: Scene, action: Action) -> SpokenView | None:
    if action.reads is None:
        return None
    observation = scene.scenario.vocabulary.observations[action.reads]
    segment = segment_at(scene.session.curves.get(observation.name, ()), scene.now)
    label = plain(observation.label)
    if segment is not None:
        suggestion = Words("true", f"{label} {{value}}", curve_of(segment, observation))
    else:
        word = word_at(scene.session, observation.name, scene.now)
        suggestion = Words("true", word) if word is not None else Words("unknown", "")
    return SpokenView(
        observation=observation.name,
        label=observation.label,
        unit=observation.unit,
        decimals=observation.decimals,
        words=observation.words,
        suggestion=suggestion,
    )


def _dose(scene: Scene, action: Action, done: list[Performance]) -> DoseView | None:
    dose = action.dose
    if dose is None:
        return None
    whole, per, _ = dose.unit.partition("/")
    last = done[-1].dose if done else {}
    return DoseView(
        amount_units=(dose.unit, *units_like(whole)) if per else units_like(dose.unit),
        volume_units=_volume_units(dose.strength_unit),
        strength_units=units_like(dose.strength_unit) if dose.strength_unit else (),
        flush_units=units_like(dose.flush_unit) if dose.flush_unit else (),
        routes=tuple(dose.routes.items()),
        last=tuple((name, Figure(one.value, one.unit)) for name, one in last.items()),
        caution=scene.scenario.vocabulary.caution,
    )


def _volume_units(strength_unit: str | None) -> tuple[str, ...]:
    """A volume is asked where a strength turns it into an amount: what the strength is per."""
    if strength_unit is None or "/" not in strength_unit:
        return ()
    return units_like(strength_unit.partition("/")[2])
