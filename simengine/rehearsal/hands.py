"""Who is at the cot with how many hands, and what keeps them.

Rules of this file:

- One person has as many hands as the rules say; help that was called adds its own once it is there.
- Whoever the log says did something did it with their own hands; what has nobody of those who were
  called beside it was done by whoever plays.
- What lasts keeps its hands until it is stopped; what does not, for the time that it takes. What
  takes two people takes hands of others, too, once those of who does it are full.
- The cot is worked with one hand, which goes from one thing to the next. What it keeps closed keeps
  it until it is let go.
- All of it follows from the log, but for hands that are on the cot, which are in no log.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from simengine.desk.scene import Scene
from simengine.quantities.formatting import in_a_sentence
from simengine.rehearsal.alone_rules import AloneRules, Task
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.model import Scenario
from simengine.session.record import NEVER, Performance

ONESELF = ""
"""Whoever plays, where people are told apart by the action that called them."""


@dataclass(frozen=True, slots=True)
class Kept:
    """Hands of ``by`` that something keeps until ``until_ms`` (``NEVER``: until it is stopped).

    ``action``: what is done, else empty: the hand is on the cot. ``doing``: in words. ``frees``:
    what lets go of it, in words; empty where it ends by itself.
    """

    by: str
    action: str
    doing: str
    frees: str
    hands: int
    people: int
    until_ms: int

    @property
    def works_the_cot(self) -> bool:
        """Whether the hand is at the cot for a moment, and can go on to the next thing there."""
        return not self.action and self.until_ms < NEVER


@dataclass(frozen=True, slots=True)
class AtTheCot:
    """Somebody with hands, and what each of them is kept by.

    ``by``: the action that called them, empty for oneself, whose ``called`` is empty too.
    """

    by: str
    called: str
    hands: tuple[Kept | None, ...]

    @property
    def free(self) -> int:
        """How many hands nothing keeps."""
        return self.hands.count(None)

    @property
    def keeps(self) -> tuple[Kept, ...]:
        """What keeps hands, each once."""
        return tuple(dict.fromkeys(kept for kept in self.hands if kept is not None))


@dataclass(frozen=True, slots=True)
class Coming:
    """Help that was called and is still on its way, there at ``at_ms``."""

    by: str
    called: str
    at_ms: int


@dataclass(frozen=True, slots=True)
class Hands:
    """Everybody's hands at an instant. ``changes_ms``: when that changes by itself, if it does."""

    people: tuple[AtTheCot, ...]
    coming: tuple[Coming, ...]
    changes_ms: int | None

    def of(self, by: str) -> AtTheCot | None:
        """Return somebody who is at the cot; ``None`` for who is not."""
        return next((person for person in self.people if person.by == by), None)

    def keeps(self, action: str) -> bool:
        """Whether an action keeps somebody's hand."""
        return any(kept.action == action for person in self.people for kept in person.keeps)

    def lacking(self, task: Task, by: str) -> str:
        """Return what somebody lacks for a task: ``people``, ``hands``, or nothing."""
        if task.people > len(self.people):
            return "people"
        able = self.people if task.people > 1 else (self.of(by),)
        free = sum(person.free for person in able if person is not None)
        return "hands" if task.hands > free else ""

    def anybody_can(self, task: Task) -> bool:
        """Whether somebody at the cot lacks nothing for a task."""
        return any(not self.lacking(task, person.by) for person in self.people)

    def can_work_the_cot(self, by: str) -> bool:
        """Whether somebody has a hand for the cot: a free one, or the one that is at it."""
        person = self.of(by)
        return person is not None and (
            person.free > 0 or any(kept.works_the_cot for kept in person.keeps)
        )


def has_baby(scenario: Scenario) -> bool:
    """Whether a scenario is of a baby, and not of a cot alone."""
    return any(state.shows for state in scenario.states.values())


def called_of(rules: AloneRules, by: str) -> str:
    """Return what somebody is called who was called by an action; empty for oneself."""
    helper = rules.help.get(by)
    return helper.called if helper is not None else ""


def who_did(rules: AloneRules, role: str | None) -> str:
    """Return the action that called whoever the log has beside something; empty for oneself."""
    return next((by for by, helper in rules.help.items() if helper.called == role), ONESELF)


def hands_at(
    scene: Scene, rules: AloneRules, cot: CotAtHand | None, without: Sequence[str] = ()
) -> Hands:
    """Return everybody's hands at an instant. ``without``: actions taken not to be done."""
    performances = scene.session.record.performances
    arriving = dict(_arriving(rules, performances))
    there = [by for by, at in arriving.items() if at <= scene.now]
    coming = tuple(
        Coming(by, rules.help[by].called, at) for by, at in arriving.items() if at > scene.now
    )
    hands: dict[str, list[Kept | None]] = {ONESELF: [None] * rules.hands}
    hands |= {by: [None] * rules.help[by].hands for by in there}
    kept = [keeping for keeping in _kept(scene, rules, cot) if keeping.action not in without]
    if cot is not None:
        kept += [
            Kept(by, "", doing, frees, 1, 1, until)
            for by, doing, frees, until in cot.hands_on(scene, rules.cot_ms)
        ]
    for keeping in kept:
        _give(keeping, hands)
    instants = [keeping.until_ms for keeping in kept if keeping.until_ms < NEVER]
    instants += [helper.at_ms for helper in coming]
    return Hands(
        tuple(
            AtTheCot(by, called_of(rules, by), tuple(of_person)) for by, of_person in hands.items()
        ),
        coming,
        min(instants, default=None),
    )


def _give(kept: Kept, hands: dict[str, list[Kept | None]]) -> None:
    """Give something the hands that it keeps: of whoever does it first, then of others there."""
    left = kept.hands
    others = [of_person for by, of_person in hands.items() if by != kept.by]
    own = hands.get(kept.by, [])
    for of_person in [own] if kept.works_the_cot else [own, *others]:
        for place, keeps in enumerate(of_person):
            if keeps is None and left:
                of_person[place] = kept
                left -= 1


def _kept(scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Iterator[Kept]:
    """Go through what is done and keeps hands; what is done by working the cot is its hand's."""
    actions = scene.scenario.vocabulary.actions
    by_hand = cot.by_hand if cot is not None else frozenset()
    for done in scene.session.record.performances:
        action = actions.get(done.action)
        if action is None or not done.acts or done.start_ms > scene.now:
            continue
        if action.name in by_hand and not action.lasting:
            continue
        task = rules.task(action)
        stop = NEVER if done.stop_ms is None else done.stop_ms
        until = stop if task.takes_ms is None else min(stop, done.start_ms + task.takes_ms)
        if task.hands and until > scene.now:
            by = who_did(rules, done.role)
            lasts = until == NEVER
            frees = in_a_sentence(say("stop", noun=action.noun)) if lasts else ""
            yield Kept(by, action.name, action.doing, frees, task.hands, task.people, until)


def _arriving(rules: AloneRules, performances: Sequence[Performance]) -> Iterator[tuple[str, int]]:
    """Yield each call that was made, the first of its kind, with when it is answered."""
    called: set[str] = set()
    for done in performances:
        helper = rules.help.get(done.action)
        if helper is not None and done.action not in called:
            called.add(done.action)
            yield done.action, done.start_ms + helper.after_ms
