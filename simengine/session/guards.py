"""When the transitions out of the present state come due.

Rules of this file:

- A guard is judged from the entry of its state on, over what is known now: the first stretch
  that is long enough. It is judged again only when a name that it reads is touched.
- A named event makes its transitions due while it is the newest instant, if all else holds then.
- What was due before it was known is due now. Of what is due at one instant the first listed is
  taken.
- A guard that holds at the very entry of its state is due 1 ms after it, since a state can't be
  left at the instant at which it is entered; where that leads in a circle it is not due at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from simengine.scenario.conditions import Name
from simengine.scenario.model import Transition
from simengine.session.plan import StatePlan
from simengine.session.record import NEVER
from simengine.session.truth import Timeline, truth

CLOSING = -1
"""In the place of a transition's index: the session closes as finished."""


class Due(NamedTuple):
    """What comes next by itself: at ``at_ms`` (scenario time), and when it had come due.

    ``rule`` is the transition's index, or ``CLOSING``. ``ripe_ms`` is earlier than ``at_ms``
    where it came due before it was known, or during a hold.
    """

    at_ms: int
    rule: int
    ripe_ms: int


class Guards:
    """The transitions out of the state entered last. ``entry`` is its entry."""

    __slots__ = ("_awaiting", "_hurried", "_plan", "_ripe", "_timeline", "entry")

    def __init__(self, timeline: Timeline, plan: StatePlan) -> None:
        self._timeline = timeline
        self._plan = plan
        self._ripe: list[int | None] = []
        self._awaiting: list[str] = []
        self._hurried: set[str] = set()
        self.entry = 0

    def enter(self, plan: StatePlan, entry: int) -> None:
        """Begin with a state that is entered."""
        self._plan = plan
        self.entry = entry
        self._awaiting.clear()
        ripe: list[int | None] = [None] * len(plan.state.next)
        self._ripe = ripe
        for transition in plan.judged:
            ripe[transition.index] = self._solved(transition)

    def leave(self, rule: int | None, at_ms: int) -> bool:
        """Note how a state is left; whether a guard took it as soon as it was entered."""
        ways = self._plan.state.next
        if rule is not None and 0 <= rule < len(self._ripe) and at_ms <= self.entry + 1:
            ripe = self._ripe[rule]
            if ripe is not None and ripe <= self.entry and ways[rule].on is None:
                self._hurried.add(self._plan.state.name)
                return True
        if self._hurried:
            self._hurried.clear()
        return False

    def judge(self, names: Iterable[Name], now: int) -> None:
        """Judge again the guards that read any of ``names``."""
        watchers = self._plan.watchers
        judged: set[int] = set()
        for name in names if watchers else ():
            judged.update(watchers.get(name, ()))
        for transition in judged:
            self._ripe[transition] = self._solved(self._plan.state.next[transition])
        if self._awaiting:
            self._judge_events(now)

    def judge_all(self, now: int) -> None:
        """Judge again every guard."""
        for transition in self._plan.judged:
            self._ripe[transition.index] = self._solved(transition)
        if self._awaiting:
            self._judge_events(now)

    def awaits(self, name: str) -> bool:
        """Whether a transition waits for the event ``name``."""
        return name in self._plan.awaited

    def event(self, name: str, now: int) -> None:
        """Take in a named event."""
        self._awaiting.append(name)
        self._judge_events(now)

    def move_on(self, now: int) -> None:
        """Let time go on to ``now``: the events of before are over."""
        if self._awaiting:
            self._awaiting.clear()
            self._judge_events(now)

    def first(self, now: int) -> Due | None:
        """Return the transition to be taken next, at ``now`` at the earliest."""
        entry = self.entry
        earliest = now if now > entry else entry + 1
        due: Due | None = None
        for rule, ripe in enumerate(self._ripe):
            if ripe is None:
                continue
            at = ripe if ripe > earliest else earliest
            if (due is None or at < due.at_ms) and (ripe > entry or not self._circular(rule)):
                due = Due(at, rule, ripe)
        return due

    def _circular(self, rule: int) -> bool:
        way = self._plan.state.next[rule]
        return way.on is None and (way.to == self._plan.state.name or way.to in self._hurried)

    def _solved(self, transition: Transition) -> int | None:
        entry = self.entry
        earliest = entry + (transition.after_ms or 0)
        if transition.when is None:
            return earliest
        for start, end in truth(transition.when, self._timeline, entry, NEVER):
            due = start + transition.lasting_ms
            if due < earliest:
                due = earliest
            if due < end:
                return due
        return None

    def _judge_events(self, now: int) -> None:
        for name, transitions in self._plan.awaited.items():
            for transition in transitions:
                holds = name in self._awaiting and self._holds(transition, now)
                self._ripe[transition.index] = now if holds else None

    def _holds(self, transition: Transition, now: int) -> bool:
        if now < self.entry + (transition.after_ms or 0):
            return False
        if transition.when is None:
            return True
        return any(
            start + transition.lasting_ms <= now < end
            for start, end in truth(transition.when, self._timeline, self.entry, NEVER)
        )
