"""What is so at one instant of a session, as whoever guides a player has to know it.

Rules of this file:

- It is judged as the marking guide judges it, by the same conditions on the same timeline.
- What whoever plays can know is what was read, or is in plain sight.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from simengine.desk.scene import Scene
from simengine.pilot.needs import Eyes
from simengine.pilot.scenario_asks import AskedOfTeams, asked_of_teams
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.hands import Hands, hands_at
from simengine.scenario.conditions import Condition, Observed, Seen
from simengine.scenario.model import Scenario, State
from simengine.scenario.vocabulary import Action
from simengine.scenario.wanted import Value
from simengine.session.timeline import timeline_of
from simengine.session.truth import Timeline, truth


class Moment:
    """A session at the instant of ``scene``. ``done``: the actions that were done so far."""

    def __init__(self, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> None:
        self.scene = scene
        self.rules = rules
        self.cot = cot
        self.asked: AskedOfTeams = asked_of_teams(scene.scenario)
        self.done = {each.action for each in scene.session.record.performances}

    @property
    def scenario(self) -> Scenario:
        """The scenario that is played."""
        return self.scene.scenario

    @property
    def state(self) -> State | None:
        """The state that the session is in."""
        stay = self.scene.fold.stay
        return None if stay is None else self.scenario.states[stay.state]

    @property
    def clock_ms(self) -> int | None:
        """What the team's clock shows; ``None`` before it has started."""
        zero = self.scene.fold.account.clock_ms
        return None if zero is None else self.scene.now - zero

    @cached_property
    def hands(self) -> Hands:
        """Everybody's hands."""
        return hands_at(self.scene, self.rules, self.cot)

    @property
    def eyes(self) -> Eyes:
        """How it is judged what a condition still needs."""
        return Eyes(self.holds, self.is_seen)

    def holds(self, condition: Condition) -> bool:
        """Whether it is so."""
        now = self.scene.now
        return bool(truth(condition, self._timeline, now, now + 1))

    def is_seen(self, condition: Condition) -> bool:
        """Whether it is so, and whoever plays can know it."""
        if isinstance(condition, Observed | Seen):
            observation = self.scenario.vocabulary.observations[condition.observation]
            last = self.scene.sensing[observation.name].last_reading(self.scene.now)
            if observation.revealed_by and last is None:
                return False
        return self.holds(condition)

    def is_unsafe(self, action: str) -> bool:
        """Whether to begin it now is unsafe in any baby."""
        return any(
            self.holds(condition) for condition in self.asked.unsafe_to_begin.get(action, ())
        )

    def shows(self, observation: str) -> bool:
        """Whether a sensor shows it now."""
        return self.scene.sensing[observation].streams_at(self.scene.now)

    def reads_nothing(self, action: Action) -> bool:
        """Whether it is to read out what nothing shows now."""
        reads = self.scenario.vocabulary.observations.get(action.reads or "")
        if reads is None or not action.by_voice or reads.adds_up is not None:
            return False
        return not self.shows(reads.name)

    def runs(self, action: str) -> bool:
        """Whether something that lasts is under way."""
        return action in self.scene.fold.account.running

    def value(self, setting: str) -> Value | None:
        """What a setting stands at; ``None`` where nobody knows."""
        return self.scene.fold.account.values.get(setting)

    def fault(self, name: str) -> str:
        """How far whoever plays is with a fault; empty where it is not planted."""
        steps = self.scene.fold.account.fault_steps.get(name, ())
        return steps[-1][1] if steps else ""

    @cached_property
    def _timeline(self) -> Timeline:
        return replace(timeline_of(self.scene.session), sensing=self.scene.sensing)
