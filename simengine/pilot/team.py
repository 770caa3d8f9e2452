"""What a team is to whoever plays it, and the teams that take no skill.

Rules of this file:

- A team is told of each new state and each event said aloud; it is asked when it next does
  something, and what it does then.
- What it does are entries of a log at their true instants; a recorder writes them down.
- A marking guide must not reward these two: one that does nothing, and one that does everything
  at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from simengine.pilot.entries import (
    Entry,
    action_entry,
    asked_settings,
    dose_data,
    set_entry,
    value_data,
)
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.values import moved_value, right_value, wanted_now
from simengine.quantities import Range
from simengine.scenario.key import AskedSetting
from simengine.scenario.model import MendedBySetting, Scenario
from simengine.scenario.wanted import AsShown, OneOf, Told, Value
from simengine.session.gauges import range_shown
from simengine.session.record import Level
from simengine.session.truth import Timeline


class Team(Protocol):
    """A team at work. Instants are scenario time in ms; ``real`` is what the infant truly does."""

    def state_entered(self, state: str, at_ms: int, real: Timeline) -> None:
        """Take note of a new state, as far as it can be known."""

    def named(self, event: str, at_ms: int) -> None:
        """Take note of what was said aloud, such as a birth."""

    def planted(self, fault: str, at_ms: int) -> None:
        """Come to work with a fault that was planted in mid-session."""

    def next_ms(self) -> int | None:
        """Return when it next does something; ``None`` if it has nothing in mind."""

    def act(self, now_ms: int, real: Timeline) -> list[Entry]:
        """Do what is due now."""

    def busy_until(self, before_ms: int) -> int | None:
        """Return the last instant before ``before_ms`` for which something is planned or done."""


class IdleTeam:
    """Does nothing at all."""

    def state_entered(self, state: str, at_ms: int, real: Timeline) -> None:
        """Look on."""

    def named(self, event: str, at_ms: int) -> None:
        """Look on."""

    def planted(self, fault: str, at_ms: int) -> None:
        """Look on."""

    def next_ms(self) -> int | None:
        """Never."""
        return None

    def act(self, now_ms: int, real: Timeline) -> list[Entry]:
        """Do nothing."""
        return []

    def busy_until(self, before_ms: int) -> int | None:
        """Return nothing: nothing is planned."""
        return None


class EverythingTeam(IdleTeam):
    """One second after time zero sets all that is asked, and does all that the vocabulary has."""

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._moment: int | None = None if scenario.start.clock else 1_000
        self._acted = False

    def named(self, event: str, at_ms: int) -> None:
        """Time zero is the moment."""
        if event == self._scenario.start.clock and self._moment is None:
            self._moment = at_ms + 1_000

    def next_ms(self) -> int | None:
        """Return the moment, once it is known, until it has passed."""
        return None if self._acted else self._moment

    def act(self, now_ms: int, real: Timeline) -> list[Entry]:
        """Do everything."""
        self._acted = True
        return [*self._settings(), *self._finds(), *self._actions()]

    def _settings(self) -> list[Entry]:
        scenario = self._scenario
        wanted = asked_settings(scenario)
        for fault in scenario.start.faults.values():
            if isinstance(fault.mended_by, MendedBySetting):
                wanted.setdefault(fault.mended_by.setting, fault.mended_by.wanted)
        settings = scenario.vocabulary.settings
        values: dict[str, Value] = {
            name: right_value(now, settings[name])
            for name, what in wanted.items()
            if (now := wanted_now(what, 0)) is not None
        }
        for item in scenario.key:
            subject = item.asked
            if (
                isinstance(subject, AskedSetting)
                and subject.direction
                and subject.setting not in values
            ):
                value = scenario.start.settings.get(subject.setting)
                if isinstance(value, float):
                    values[subject.setting] = moved_value(
                        value, settings[subject.setting], subject.direction
                    )
        return [set_entry(scenario, name, value) for name, value in values.items()]

    def _finds(self) -> list[Entry]:
        return [
            Entry("fault", {"fault": fault.name, "status": status})
            for fault in self._scenario.start.faults.values()
            if fault.planted_at_start
            for status in (("found",) if fault.mended_by else ("found", "mended"))
        ]

    def _actions(self) -> list[Entry]:
        scenario = self._scenario
        of_teams, out = asked_of_teams(scenario), []
        for action in scenario.vocabulary.actions.values():
            if action.name in scenario.start.doing:
                continue
            more: dict[str, object] = {}
            dose = of_teams.doses[action.name]
            if dose is not None and action.dose is not None:
                more["dose"] = dose_data(dose, action.dose)
            settings = self._right(of_teams.settings[action.name])
            if settings:
                more["settings"] = settings
            out.append(
                action_entry(scenario, action.name, "start" if action.lasting else "done", more)
            )
        return out

    def _right(self, wanted: Mapping[str, Told]) -> dict[str, object]:
        settings = self._scenario.vocabulary.settings
        return {
            name: value_data(right_value(now, settings[name]), settings[name].unit)
            for name, what in wanted.items()
            if (now := self._now(what)) is not None
        }

    def _now(self, wanted: Told) -> Range | OneOf | None:
        """Return what is right before anything has been done."""
        if not isinstance(wanted, AsShown):
            return wanted_now(wanted, 0)
        supplies = self._scenario.start.supplies
        as_found = {name: (Level(0, contents, 0.0),) for name, contents in supplies.items()}
        return range_shown(wanted, as_found, 0)
