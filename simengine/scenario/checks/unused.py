"""Parts of a scenario that nothing else uses: a clock that nothing starts, faults that nobody asks.

All are warnings: a part may be there for the facilitator alone.
"""

from __future__ import annotations

from simengine.quantities import Range, format_duration
from simengine.scenario.checks.reach import Reach
from simengine.scenario.checks.walk import all_conditions
from simengine.scenario.conditions import FaultIs, SettingIs, leaves
from simengine.scenario.key import AskedFault, AskedKnowledge, AskedSetting
from simengine.scenario.model import MendedBySetting, Scenario
from simengine.scenario.place import Place
from simengine.scenario.wanted import OneOf, Wanted


def check_unused(root: Place, reach: Reach) -> None:
    """Note what stands in the scenario and is used by nothing."""
    scenario = reach.scenario
    _clock(root, scenario)
    _faults(root, scenario)
    _roles(root, scenario)
    _objectives(root, scenario)
    _settings(root, scenario)
    _cues(root, scenario)
    _planned(root, reach)
    _outcome(root, scenario)
    _waives(root, scenario)


def checked_settings(scenario: Scenario) -> set[str]:
    """Return the settings that the key looks at in any way."""
    names: set[str] = set()
    for item in scenario.key:
        names |= item.settings.keys()
        if isinstance(item.asked, AskedSetting):
            names.add(item.asked.setting)
        if isinstance(item.asked, AskedFault):
            mended = scenario.start.faults[item.asked.fault].mended_by
            if isinstance(mended, MendedBySetting):
                names.add(mended.setting)
        for condition in item.conditions:
            names |= {leaf.setting for leaf in leaves(condition) if isinstance(leaf, SettingIs)}
    return names


def asked_actions(scenario: Scenario) -> set[str]:
    """Return the actions that some key item asks for, or by which what it asks comes about."""
    names: set[str] = set()
    for item in scenario.key:
        names.update(item.actions)
        if isinstance(item.asked, AskedKnowledge):
            names.update(scenario.vocabulary.revealing(item.asked.observation))
        elif isinstance(item.asked, AskedFault):
            mended = scenario.start.faults[item.asked.fault].mended_by
            if isinstance(mended, str):
                names.add(mended)
    return names


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
    read = {
        leaf.fault
        for condition in all_conditions(scenario)
        for leaf in leaves(condition)
        if isinstance(leaf, FaultIs)
    }
    for item in scenario.key:
        if isinstance(item.asked, AskedFault):
            read.add(item.asked.fault)
        if item.anchor is not None and item.anchor.kind == "fault" and item.anchor.name:
            read.add(item.anchor.name)
    actions, settings = asked_actions(scenario), checked_settings(scenario)
    for name, fault in scenario.start.faults.items():
        place = faults.get(name)
        if place is None:
            continue
        mended = fault.mended_by
        by_setting = isinstance(mended, MendedBySetting) and mended.setting in settings
        if name not in read and mended not in actions and not by_setting:
            faults.key(name).say(
                "a key item or a guard that asks for this fault",
                "fault-unasked",
                found="none",
                level="warning",
                hint=f"ask for it with 'find: {name}' or 'mend: {name}'",
            )
        if not isinstance(mended, MendedBySetting):
            continue
        at_start = scenario.start.settings.get(mended.setting)
        to = place.get("mended_by")
        if (
            fault.planted_at_start
            and at_start is not None
            and _fits(at_start, mended.wanted)
            and to
        ):
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


def _roles(root: Place, scenario: Scenario) -> None:
    roles = root.get("roles")
    if roles is None:
        return
    for name in scenario.roles:
        if name not in scenario.vocabulary.roles and name not in scenario.covers:
            roles.key(name).say(
                "a role of the vocabulary, perhaps under another label, or one that 'covers' some",
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


def _cues(root: Place, scenario: Scenario) -> None:
    cues = root.get("cues")
    actions = asked_actions(scenario)
    for number, cue in enumerate(scenario.cues):
        prompts = cues.elements()[number].get("prompts") if cues is not None else None
        if prompts is None or cue.prompts is None or cue.prompts in actions:
            continue
        # To look once more is never wrong; what else is prompted ought to mark an item.
        if scenario.vocabulary.actions[cue.prompts].reads is None:
            prompts.say("an action that a key item asks for", "cue-unasked", level="warning")


def _planned(root: Place, reach: Reach) -> None:
    planned = root.get("planned_time")
    shortest = reach.shortest_ms
    if planned is not None and reach.scenario.planned_ms < shortest < float("inf"):
        planned.say(
            f"at least the {format_duration(round(shortest))} that any way to an end takes",
            "planned-too-short",
            level="warning",
        )


def _outcome(root: Place, scenario: Scenario) -> None:
    scoring = root.get("scoring")
    mark = scoring.get("pass") if scoring is not None else None
    if mark is not None and not any(item.importance == "essential" for item in scenario.key):
        mark.say(
            "a key item with 'importance: essential' beside a pass mark",
            "no-essential",
            found="none",
            level="warning",
            hint="without one that applies no outcome is proposed",
        )


def _waives(root: Place, scenario: Scenario) -> None:
    """Show what is set aside of what the protocol calls unsafe in any baby."""
    waives = root.get("waives")
    for name, reason in scenario.waives.items() if waives is not None else ():
        assert waives is not None
        waives.key(name).say(
            "all that the protocol calls unsafe in any baby",
            "waived",
            found=f"'{name}' set aside",
            level="warning",
            hint=reason,
        )
