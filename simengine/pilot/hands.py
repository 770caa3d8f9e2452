"""The hands of a simulated team: how something that it means to do turns out.

Rules of this file:

- A setting that goes with an action is put right, left as it stands or turned off the mark, by
  the team's share of errors; a dial turned for its own sake may come to rest off the mark.
- A dose that is off is half, double or, now and then, ten-fold.
- What is told with an action is what the infant truly shows at that instant; a gauge is read as it
  stands, or off the mark.
"""

from __future__ import annotations

from random import Random
from typing import Any

from simengine.pilot.entries import (
    Entry,
    action_entry,
    dose_data,
    set_entry,
    value_data,
)
from simengine.pilot.known_to_team import Memory
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.skills import Level, Skills
from simengine.pilot.values import is_right, right_value, wanted_now, wrong_value
from simengine.quantities import Range
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action
from simengine.scenario.wanted import AsShown, OneOf, Value, Wanted
from simengine.session.gauges import range_shown
from simengine.session.readings import true_value
from simengine.session.truth import Timeline


class Hands:
    """Does things, and notes them in the team's memory. Instants are scenario time in ms."""

    def __init__(
        self, scenario: Scenario, memory: Memory, skills: Skills, level: Level, chance: Random
    ) -> None:
        self._scenario = scenario
        self._asked = asked_of_teams(scenario)
        self._memory = memory
        self._chance = chance
        self._setting_error = level.setting_error.value
        self._dose_error = skills.shared["doses", "error"].value
        self._tenfold = skills.shared["doses", "tenfold"].value

    def perform(self, action: Action, now_ms: int, real: Timeline) -> Entry:
        """Do an action, or begin it if it lasts, with the settings and the dose that go with it."""
        scenario = self._scenario
        more: dict[str, Any] = {}
        settings = self._settings(action, now_ms, real)
        if settings:
            more["settings"] = settings
        dose = self._asked.doses[action.name]
        if dose is not None and action.dose is not None:
            more["dose"] = dose_data(dose, action.dose, times=self._times())
        if action.reads is not None:
            value = true_value(action.reads, real.curves, real.words, now_ms)
            if value is not None:
                observation = scenario.vocabulary.observations[action.reads]
                spoken = value if isinstance(value, str) else round(value, observation.decimals)
                more["spoken"] = {action.reads: value_data(spoken, observation.unit)}
        self._memory.did(action.name, now_ms)
        for fault in scenario.start.faults.values():
            if fault.mended_by == action.name and fault.name in self._memory.faults:
                self._memory.fault(fault.name, "mended", now_ms)
        return action_entry(scenario, action.name, "start" if action.lasting else "done", more)

    def stop(self, action: str, now_ms: int) -> list[Entry]:
        """Stop a lasting action, if it runs."""
        if not self._memory.runs(action):
            return []
        self._memory.stopped(action, now_ms)
        return [action_entry(self._scenario, action, "stop")]

    def bring(self, name: str, wanted: Wanted, now_ms: int) -> list[Entry]:
        """Turn a dial to where it is wanted, or off the mark; not at all if it stands right."""
        now = wanted_now(wanted, self._memory.clock(now_ms))
        if now is None or is_right(self._memory.value(name), now):
            return []
        setting = self._scenario.vocabulary.settings[name]
        if self._chance.random() < self._setting_error:
            return self.put(name, wrong_value(now, setting, self._chance), now_ms)
        return self.put(name, right_value(now, setting), now_ms)

    def put(self, name: str, value: Value | None, now_ms: int) -> list[Entry]:
        """Set a value, if it is another than now."""
        if value is None or value == self._memory.value(name):
            return []
        self._memory.set(name, value, now_ms)
        return [set_entry(self._scenario, name, value)]

    def _settings(self, action: Action, now_ms: int, real: Timeline) -> dict[str, Any]:
        out = {}
        for name, wanted in self._asked.settings[action.name].items():
            setting = self._scenario.vocabulary.settings[name]
            if isinstance(wanted, AsShown):
                now: Range | OneOf | None = range_shown(wanted, real.supplies, now_ms)
            else:
                now = wanted_now(wanted, self._memory.clock(now_ms))
            if now is None:
                continue
            value = self._memory.value(name)
            right = is_right(value, now)
            new = value if right else right_value(now, setting)
            if self._chance.random() < self._setting_error:
                new = wrong_value(now, setting, self._chance) if right or value is None else value
            if new is not None:
                out[name] = value_data(new, setting.unit)
                self._memory.set(name, new, now_ms)
        return out

    def _times(self) -> float:
        """How many times over the dose is given."""
        if self._chance.random() >= self._dose_error:
            return 1.0
        tenfold = self._chance.random() < self._tenfold
        return self._chance.choice((0.1, 10.0) if tenfold else (0.5, 2.0))
