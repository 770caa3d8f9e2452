"""Checks of a scenario as a whole: what each part, right in itself, makes of the others.

Rules of this file:

- An error is what can't be meant: a state that nothing leads to, a baby that stays in a state for
  ever. A warning is what may be meant and is worth a second look.
- A guard is judged at the entry of its state with three answers (yes, no, not known); only a yes
  is a complaint.
- Each problem stands at the place that an educator would change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import inf

from simengine.quantities import Range, format_duration, format_quantity
from simengine.scenario.conditions import (
    All,
    AnyOf,
    Condition,
    Doing,
    Not,
    Observed,
    SettingIs,
)
from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    KeyItem,
    Respond,
)
from simengine.scenario.model import Course, MendedBySetting, Scenario, State, Transition
from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read
from simengine.scenario.wanted import OneOf, Steps, Wanted

CLOSE = 1e-9


def check_whole(root: Place, read: Read) -> None:
    """Note the problems of a scenario that has been read without errors."""
    scenario = read.scenario
    _reachable(root, scenario)
    for state in scenario.states.values():
        at = _state_place(root, state)
        _exits(at, state)
        for transition in state.next:
            _transition(_transition_place(at, transition), state, transition, scenario)
        _pre_empted(at, state)
    _clock(root, scenario)
    _faults(root, scenario)
    for item, place in read.key_places:
        _item(place, item, scenario)
    _roles(root, scenario)
    _objectives(root, scenario)
    _settings(root, scenario)
    _thresholds(root, scenario, read)
    _disputed(root, scenario)


def observed_in(condition: Condition) -> Iterator[Observed]:
    """Go through the clauses of a condition that look at the baby."""
    for leaf in leaves(condition):
        if isinstance(leaf, Observed):
            yield leaf


def leaves(condition: Condition) -> Iterator[Condition]:
    """Go through the single clauses of a condition."""
    match condition:
        case All(parts) | AnyOf(parts):
            for part in parts:
                yield from leaves(part)
        case Not(part):
            yield from leaves(part)
        case _:
            yield condition


def item_conditions(item: KeyItem) -> tuple[Condition, ...]:
    """Return the conditions that a key item depends on."""
    if isinstance(item, Respond):
        return (item.whenever,)
    if isinstance(item, Keep):
        return (item.condition,)
    if isinstance(item, Avoid) and not isinstance(item.what, AskedAction):
        return (item.what,)
    return ()


def checked_settings(scenario: Scenario) -> set[str]:
    """Return the settings that the key looks at in any way."""
    names: set[str] = set()
    for item in scenario.key:
        if isinstance(item, (Expect, Respond)):
            names |= item.settings.keys()
            if isinstance(item.asked, AskedSetting):
                names.add(item.asked.setting)
            if isinstance(item.asked, AskedFault):
                mended = scenario.start.faults[item.asked.fault].mended_by
                if isinstance(mended, MendedBySetting):
                    names.add(mended.setting)
        for condition in item_conditions(item):
            names |= {leaf.setting for leaf in leaves(condition) if isinstance(leaf, SettingIs)}
    return names


def _state_place(root: Place, state: State) -> Place:
    states = root.get("states")
    at = states.get(state.name) if states is not None else None
    assert at is not None
    return at


def _transition_place(state_at: Place, transition: Transition) -> Place:
    next_at = state_at.get("next")
    assert next_at is not None
    return next_at.elements()[transition.index]


def _reachable(root: Place, scenario: Scenario) -> None:
    reached = {scenario.start.state}
    todo = [scenario.start.state]
    while todo:
        for transition in scenario.states[todo.pop()].next:
            if transition.to not in reached:
                reached.add(transition.to)
                todo.append(transition.to)
    states = root.get("states")
    assert states is not None
    for name in scenario.states:
        if name not in reached:
            states.key(name).say(
                "a state that some transition leads to",
                "never-reached",
                found="none",
                hint="add a transition with 'to: " + name + "', or take the state away",
            )
    stuck = any(not scenario.states[name].next for name in reached)
    if not stuck and not any(scenario.states[name].ends for name in reached):
        states.say("a state with 'ends: true' that can be reached", "no-end", found="none")


def _exits(at: Place, state: State) -> None:
    if not state.next and not state.ends:
        at.say(
            "'next' (the ways out), or 'ends: true'",
            "dead-end",
            found="neither",
        )
    if state.ends and state.next:
        at.key("next").say(
            "no 'next' in a state with 'ends: true'",
            "needless-key",
            found="",
            hint="the session closes there",
        )
    if state.linger_ms and not state.ends:
        at.key("linger").say(
            "'linger' only in a state with 'ends: true'", "needless-key", found="", level="warning"
        )


def _transition(at: Place, state: State, transition: Transition, scenario: Scenario) -> None:
    if transition.after_ms == 0 and transition.when is None and transition.on is None:
        after = at.get("after")
        if after is not None:
            after.say(
                "a time above 0 s", "left-at-entry", hint="the state is left as it is entered"
            )
        return
    if (
        transition.when is None
        or transition.on is not None
        or transition.lasting_ms
        or transition.after_ms
    ):
        return
    when = at.get("when")
    if when is not None and _at_entry(transition.when, state) is True:
        when.say(
            "a condition that is not met as the state is entered",
            "left-at-entry",
            found="one that is",
            hint="the state would be left at once: add 'lasting'",
        )


def _at_entry(condition: Condition, state: State) -> bool | None:
    """Whether a condition holds as a state is entered; ``None`` where that depends."""
    match condition:
        case Observed(observation, wanted):
            return _shown_at_entry(state.shows.get(observation), wanted)
        case All(parts):
            answers = [_at_entry(part, state) for part in parts]
            return False if False in answers else None if None in answers else True
        case AnyOf(parts):
            answers = [_at_entry(part, state) for part in parts]
            return True if True in answers else None if None in answers else False
        case Not(part):
            answer = _at_entry(part, state)
            return None if answer is None else not answer
        case _:
            return None


def _shown_at_entry(shown: Course | str | None, wanted: Wanted) -> bool | None:
    if isinstance(shown, str):
        return shown in wanted.words if isinstance(wanted, OneOf) else None
    if shown is None or not isinstance(wanted, Range):
        return None
    if shown.start is not None:
        return wanted.contains(shown.start)
    if shown.within_ms is None and not shown.adjust:
        return wanted.contains(shown.to)
    return None


def _pre_empted(at: Place, state: State) -> None:
    """A plain ``after`` takes the baby away before what needs longer can come due."""
    plain = [
        (transition.after_ms, transition.index)
        for transition in state.next
        if transition.after_ms is not None and transition.when is None and transition.on is None
    ]
    if not plain:
        return
    soonest, index = min(plain)
    if soonest == 0:
        return
    for transition in state.next:
        place = _transition_place(at, transition)
        for key, needs in (("after", transition.after_ms), ("lasting", transition.lasting_ms)):
            told = place.get(key)
            # Due at the same instant the first listed is taken.
            if told is not None and needs and (needs, transition.index) > (soonest, index):
                told.say(
                    f"less than the {format_duration(soonest)} of next[{index}]",
                    "never-due",
                    hint="this transition never comes due",
                )


def _clock(root: Place, scenario: Scenario) -> None:
    events = {
        transition.on
        for state in scenario.states.values()
        for transition in state.next
        if transition.on is not None
    }
    start = root.get("start")
    clock = start.get("clock") if start is not None else None
    if clock is not None and scenario.start.clock not in events:
        clock.say(
            "an event that some transition waits for with 'on'",
            "clock-unused",
            level="warning",
            hint=f"there are: {', '.join(sorted(events))}" if events else "none waits for any",
        )


def _faults(root: Place, scenario: Scenario) -> None:
    start = root.get("start")
    faults = start.get("faults") if start is not None else None
    if faults is None:
        return
    for name, fault in scenario.start.faults.items():
        place = faults.get(name)
        if place is None:
            continue
        mended = fault.mended_by
        if not isinstance(mended, MendedBySetting):
            continue
        found = scenario.start.settings.get(mended.setting)
        to = place.get("mended_by")
        if fault.planted_at_start and found is not None and _fits(found, mended.wanted) and to:
            to.say(
                "a setting that is wrong as found",
                "mended-as-found",
                found=f"'{mended.setting}' right from the start",
                level="warning",
            )


def _fits(value: float | str, wanted: Wanted) -> bool:
    if isinstance(value, str):
        return isinstance(wanted, OneOf) and value in wanted.words
    return isinstance(wanted, Range) and wanted.contains(value)


def _item(place: Place, item: KeyItem, scenario: Scenario) -> None:
    shown = {name for state in scenario.states.values() for name in state.shows}
    for condition in item_conditions(item):
        for leaf in observed_in(condition):
            if leaf.observation not in shown:
                place.say(
                    f"an observation that some state shows ('{leaf.observation}' is shown by none)",
                    "never-shown",
                    found="",
                    level="warning",
                )
    if isinstance(item, Respond):
        whenever = place.get("whenever")
        if whenever is not None and any(isinstance(leaf, Doing) for leaf in leaves(item.whenever)):
            whenever.say(
                "a condition on the baby",
                "whenever-doing",
                found="'doing'",
                level="warning",
                hint="'doing' is needed for it to begin, not for it to go on",
            )
    if isinstance(item, Expect):
        _expect_in_time(place, item, scenario)


def _expect_in_time(place: Place, item: Expect, scenario: Scenario) -> None:
    """A window from a state that is surely left sooner, by a state that closes the window."""
    if item.anchor.kind != "state" or item.anchor.name is None or not item.until:
        return
    state = scenario.states[item.anchor.name]
    ends = [
        transition.after_ms
        for transition in state.next
        if transition.after_ms is not None
        and transition.when is None
        and transition.on is None
        and transition.to in item.until
    ]
    ideal = place.get("ideal")
    if ends and min(ends) < item.ideal_ms and ideal is not None:
        ideal.say(
            f"at most the {format_duration(min(ends))} after which '{state.name}' is left",
            "window-outlasts-state",
            level="warning",
        )


def _roles(root: Place, scenario: Scenario) -> None:
    roles = root.get("roles")
    if roles is None:
        return
    for name in scenario.roles:
        if name not in scenario.vocabulary.roles:
            roles.key(name).say(
                "a role of the vocabulary, perhaps under another label",
                "own-role",
                found=f"'{name}'",
                level="warning",
            )


def _objectives(root: Place, scenario: Scenario) -> None:
    objectives = root.get("objectives")
    if objectives is None:
        return
    named = {item.objective for item in scenario.key}
    for name in scenario.objectives:
        if name not in named:
            objectives.key(name).say(
                "a key item with this objective", "no-item", found="none", level="warning"
            )
    key = root.get("key")
    for number, item in enumerate(scenario.key):
        if item.objective is None and key is not None:
            key.elements()[number].say(
                "'objective', one of those of the scenario",
                "no-objective",
                found="none",
                level="warning",
            )


def _settings(root: Place, scenario: Scenario) -> None:
    start = root.get("start")
    settings = start.get("settings") if start is not None else None
    if settings is None:
        return
    unchecked = [
        f"'{name}'" for name in scenario.start.settings if name not in checked_settings(scenario)
    ]
    if unchecked:
        settings.say(
            "settings that the key checks",
            "never-checked",
            found=f"{', '.join(unchecked)}, which it does not",
            level="warning",
        )


def _thresholds(root: Place, scenario: Scenario, read: Read) -> None:
    """A curve never reaches its target: a threshold that lies there is met by no baby."""
    for state in scenario.states.values():
        at = _state_place(root, state)
        for transition in state.next:
            when = _transition_place(at, transition).get("when")
            if transition.when is None or when is None:
                continue
            for leaf in observed_in(transition.when):
                own = state.shows.get(leaf.observation)
                _threshold(when, leaf, [own] if own is not None else [], scenario)
    for item, place in read.key_places:
        for condition in item_conditions(item):
            whole = place.get("whenever") or place.get("keep") or place.get("avoid")
            for leaf in observed_in(condition):
                courses = [
                    state.shows[leaf.observation]
                    for state in scenario.states.values()
                    if leaf.observation in state.shows
                    and (not item.during or state.name in item.during)
                ]
                if whole is not None:
                    _threshold(whole, leaf, courses, scenario)


def _threshold(
    place: Place, leaf: Observed, courses: Iterable[Course | str], scenario: Scenario
) -> None:
    ends = [end for end in _ends(leaf.wanted) if abs(end) < inf]
    for course in courses:
        if isinstance(course, str) or course.within_ms is None or course.adjust:
            continue
        for end in ends:
            if abs(end - course.to) <= CLOSE * max(1.0, abs(end)):
                unit = scenario.vocabulary.observations[leaf.observation].unit or ""
                place.say(
                    f"a threshold of '{leaf.observation}' away from a target",
                    "threshold-at-target",
                    found=f"{format_quantity(end, unit)}, which a state has as its 'to'",
                    level="warning",
                    hint="a curve comes near its target and never reaches it",
                )
                return


def _ends(wanted: Wanted) -> list[float]:
    if isinstance(wanted, Range):
        return [wanted.low, wanted.high]
    if isinstance(wanted, Steps):
        return [end for _, row in wanted.rows for end in (row.low, row.high)]
    return []


def _disputed(root: Place, scenario: Scenario) -> None:
    """Say it where the protocol itself says that guidelines disagree for a baby like this one."""
    infant_at = root.get("infant")
    gestation = infant_at.get("gestation") if infant_at is not None else None
    if gestation is None:
        return
    days = scenario.infant.gestation_days
    for name in sorted(protocol_values_used(scenario)):
        value = scenario.protocol.values[name]
        dispute = value.disputed
        if dispute is not None and dispute.since <= days < dispute.below:
            gestation.say(
                f"care with '{name}' from {dispute.since / 7:g} to {dispute.below / 7:g} wk",
                "disputed",
                level="warning",
                hint=dispute.why,
            )


def protocol_values_used(scenario: Scenario) -> set[str]:
    """Return the names of the protocol values that faults, guards and key depend on."""
    wanted: list[Wanted | None] = [
        fault.mended_by.wanted
        for fault in scenario.start.faults.values()
        if isinstance(fault.mended_by, MendedBySetting)
    ]
    conditions = [
        transition.when
        for state in scenario.states.values()
        for transition in state.next
        if transition.when is not None
    ]
    for item in scenario.key:
        conditions += item_conditions(item)
        if isinstance(item, (Expect, Respond)):
            wanted += item.settings.values()
            if isinstance(item.asked, AskedSetting):
                wanted.append(item.asked.to)
            if item.dose is not None:
                dose = item.dose
                wanted += [dose.amount, *dose.by_route.values(), dose.strength, dose.flush]
    for condition in conditions:
        wanted += [
            leaf.wanted for leaf in leaves(condition) if isinstance(leaf, (SettingIs, Observed))
        ]
    return {
        part.protocol
        for part in wanted
        if isinstance(part, (Range, Steps)) and part.protocol is not None
    }
