"""What a scenario that is played by one person needs beside its own rules, read from YAML.

Rules of this file:

- Names are those of a vocabulary; what a scenario's vocabulary does not have is left out of it.
- What no task names keeps one hand, and what is said keeps none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from simengine.scenario.forms import (
    NAME,
    TEXT,
    TIME,
    ListOf,
    MapOf,
    Record,
    Value,
    given,
    keys_of,
)
from simengine.scenario.opened import finish, opened_or_error
from simengine.scenario.place import Place
from simengine.scenario.read_fields import PLAIN, Scope, read_fields
from simengine.scenario.vocabulary import Action

_HANDS = Value(
    "a whole number from 0 to 8", {"type": "integer", "minimum": 0, "maximum": 8}, reads="whole"
)
_TIMES = Value("a whole number", {"type": "integer", "minimum": 1, "maximum": 20}, reads="whole")


@dataclass(frozen=True, slots=True)
class Task:
    """Hands that something keeps: ``takes_ms`` long, or ``None`` as long as it runs.

    ``people``: how many have to be at the cot for it. ``after``: what has to be done before it, any
    one of these; the guide hints it first.
    """

    hands: int = field(metadata=given(_HANDS, "How many hands it keeps."))
    takes_ms: int | None = field(
        default=None,
        metadata=given(TIME, "For how long; left out: as long as it runs.", key="takes"),
    )
    people: int = field(
        default=1, metadata=given(_HANDS, "How many people have to be at the cot for it.")
    )
    after: tuple[str, ...] = field(
        default=(),
        metadata=given(
            ListOf(NAME, "a list of actions", 1, reads="list"),
            "One of these is hinted before it.",
        ),
    )


@dataclass(frozen=True, slots=True)
class Helper:
    """Who comes once called, how long after, and with how many hands."""

    called: str = field(metadata=given(TEXT, "What whoever comes is called."))
    after_ms: int = field(metadata=given(TIME, "How long after the call.", key="after"))
    hands: int = field(metadata=given(_HANDS, "With how many hands."))


@dataclass(frozen=True, slots=True)
class Following:
    """An event that a facilitator would give, so long after an action."""

    action: str = field(metadata=given(NAME, "The action that it follows.", key="after"))
    delay_ms: int = field(metadata=given(TIME, "How long after that.", key="delay"))


TASK = Record("a task", keys_of(Task), name="task")
HELPER = Record("help", keys_of(Helper), name="helper")
FOLLOWING = Record("what an event follows", keys_of(Following), name="following")


@dataclass(frozen=True, slots=True)
class AloneRules:
    """The rules of playing alone: ``help``, ``looks``, ``tasks`` by action, ``events`` by event.

    ``hint_ms``: how long without progress until the next step is told, in the guided way.
    """

    hands: int = field(metadata=given(_HANDS, "How many hands one person has."))
    prepare_ms: int = field(
        metadata=given(TIME, "Before the event that starts the team's clock.", key="prepare")
    )
    help: Mapping[str, Helper] = field(
        metadata=given(
            MapOf(HELPER, "a map of calls", free=True), "Who comes, by the action that calls."
        )
    )
    events: Mapping[str, Following] = field(
        metadata=given(
            MapOf(FOLLOWING, "a map of events", free=True), "What else a facilitator would give."
        )
    )
    late_fault_ms: int = field(
        metadata=given(TIME, "From time zero to a fault that is planted later.", key="late_fault")
    )
    skips_ms: tuple[int, ...] = field(
        metadata=given(
            ListOf(TIME, "a list of times", 1, reads="list"),
            "How much time one touch lets go by.",
            key="skips",
        )
    )
    hint_ms: int = field(
        metadata=given(TIME, "How long without progress until the next step is told.", key="hint")
    )
    hint_urgent_ms: int = field(
        metadata=given(TIME, "How long until a step that can't wait is told.", key="hint_urgent")
    )
    last_look_ms: int = field(
        metadata=given(TIME, "The last look at a state that ends a scenario.", key="last_look")
    )
    longest: int = field(
        metadata=given(_TIMES, "After how many times its planned time a session is ended.")
    )
    looks: Mapping[str, tuple[str, ...]] = field(
        metadata=given(
            MapOf(ListOf(NAME, "a list of observations", 1, reads="list"), "looks", free=True),
            "What is in plain sight, by the action that looks.",
        )
    )
    put_right_ms: int = field(
        metadata=given(TIME, "How long putting a part of a cot right takes.", key="put_right")
    )
    usual_ms: int = field(
        metadata=given(TIME, "How long a hand is kept by what no task names.", key="usual")
    )
    cot_ms: int = field(
        metadata=given(TIME, "How long a hand is kept by one thing done at the cot.", key="cot")
    )
    tasks: Mapping[str, Task] = field(
        metadata=given(MapOf(TASK, "a map of tasks", free=True), "Hands that tasks keep.")
    )

    def task(self, action: Action) -> Task:
        """Return the hands that an action keeps."""
        named = self.tasks.get(action.name)
        if named is not None:
            return named
        if action.by_voice:
            return Task(0, 0)
        return Task(1, None if action.lasting else self.usual_ms)


FILE = Record(
    "rules of playing alone",
    keys_of(AloneRules),
    about="What a scenario that is played by one person needs beside its own rules.",
)
"""What a file of such rules holds."""

_SCOPE = Scope({}, PLAIN)


@cache
def alone_rules() -> AloneRules:
    """Return the rules that come with the program."""
    return load_alone_rules(Path(__file__).with_name("alone.yaml"))


def load_alone_rules(path: Path) -> AloneRules:
    """Read rules. Raises ``InputError`` with everything that is wrong."""
    root = opened_or_error("alone", path)
    fields: dict[str, Any] = read_fields(AloneRules, root, _SCOPE)
    read: dict[str, Any] = {
        name: {key: kind(**read_fields(kind, at, _SCOPE)) for key, at in _entries(root, name)}
        for name, kind in (("help", Helper), ("events", Following), ("tasks", Task))
    }
    read["looks"] = {
        name: tuple(observation.text() for observation in at.elements("a list of observations"))
        for name, at in _entries(root, "looks")
    }
    finish(root)
    return AloneRules(**fields, **read)


def _entries(root: Place, name: str) -> list[tuple[str, Place]]:
    at = root.need(name)
    return list(at.entries()) if at is not None else []
