"""Who is at the cot with how many hands, and what keeps them: worked out from the log alone.

Rules of this file:

- One person has as many hands as the rules say; help that was called adds its own once it is there.
- What lasts keeps its hands until it is stopped; what does not, for the time that it takes.
- Hands are given in the order in which things were begun: first one's own, then those of help; what
  one person does is done by one, with all the hands that it takes.
- Where no state shows a baby nobody counts hands: a cot is prepared one thing after the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from simengine.rehearsal.alone_rules import AloneRules, Task
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action
from simengine.session.record import NEVER, Performance


@dataclass(frozen=True, slots=True)
class Kept:
    """Hands that something keeps until ``until_ms`` (``NEVER``: until it is stopped)."""

    action: str
    hands: int
    since_ms: int
    until_ms: int


@dataclass(frozen=True, slots=True)
class AtTheCot:
    """Somebody with hands: ``called`` is empty for oneself. ``doing``: an action for each hand."""

    called: str
    doing: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Coming:
    """Help that was called and is still on its way, there at ``at_ms``."""

    called: str
    at_ms: int


@dataclass(frozen=True, slots=True)
class Hands:
    """Everybody's hands at an instant. ``changes_ms``: when that changes by itself, if it does."""

    people: tuple[AtTheCot, ...]
    coming: tuple[Coming, ...]
    kept: tuple[Kept, ...]
    changes_ms: int | None

    def free_for(self, task: Task) -> int:
        """How many hands are free for a task: of all, or of whoever has the most."""
        free = [person.doing.count(None) for person in self.people]
        return sum(free) if task.people > 1 else max(free)


def has_baby(scenario: Scenario) -> bool:
    """Whether a scenario is of a baby, and not of a cot alone."""
    return any(state.shows for state in scenario.states.values())


def hands_at(
    scenario: Scenario, rules: AloneRules, performances: Sequence[Performance], now: int
) -> Hands:
    """Return everybody's hands at an instant (scenario time, ms)."""
    actions = scenario.vocabulary.actions
    kept = tuple(_kept(rules, actions, performances, now)) if has_baby(scenario) else ()
    arriving = dict(_arriving(rules, performances))
    there = [rules.help[call] for call, at in arriving.items() if at <= now]
    coming = tuple(Coming(rules.help[call].called, at) for call, at in arriving.items() if at > now)
    people: list[tuple[str, list[str | None]]] = [("", [None] * rules.hands)]
    people += [(helper.called, [None] * helper.hands) for helper in there]
    for running in kept:
        _given(running, rules.task(actions[running.action]), [hands for _, hands in people])
    instants = [running.until_ms for running in kept if running.until_ms < NEVER]
    instants += [helper.at_ms for helper in coming]
    return Hands(
        tuple(AtTheCot(called, tuple(doing)) for called, doing in people),
        coming,
        kept,
        min(instants, default=None),
    )


def lacking(hands: Hands, task: Task) -> str:
    """Return what a task lacks: ``people``, ``hands``, or nothing."""
    if task.people > len(hands.people):
        return "people"
    return "hands" if task.hands > hands.free_for(task) else ""


def _given(kept: Kept, task: Task, people: Sequence[list[str | None]]) -> None:
    """Give something the hands that it keeps."""
    able = [hands for hands in people if hands.count(None) >= kept.hands]
    left = kept.hands
    for hands in able[:1] if able and task.people == 1 else people:
        for place, doing in enumerate(hands):
            if doing is None and left:
                hands[place] = kept.action
                left -= 1


def _kept(
    rules: AloneRules,
    actions: Mapping[str, Action],
    performances: Sequence[Performance],
    now: int,
) -> Iterator[Kept]:
    for done in performances:
        action = actions.get(done.action)
        if action is None or not done.acts or done.start_ms > now:
            continue
        task = rules.task(action)
        stop = NEVER if done.stop_ms is None else done.stop_ms
        until = stop if task.takes_ms is None else min(stop, done.start_ms + task.takes_ms)
        if task.hands and until > now:
            yield Kept(done.action, task.hands, done.start_ms, until)


def _arriving(rules: AloneRules, performances: Sequence[Performance]) -> Iterator[tuple[str, int]]:
    """Yield each call that was made, the first of its kind, with when it is answered."""
    called: set[str] = set()
    for done in performances:
        helper = rules.help.get(done.action)
        if helper is not None and done.action not in called:
            called.add(done.action)
            yield done.action, done.start_ms + helper.after_ms
