"""What a scenario that is played by one person needs beside its own rules, read from YAML.

Rules of this file:

- Names are those of a vocabulary; what a scenario's vocabulary does not have is left out of it.
- What no task names keeps one hand, and what is said keeps none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from simengine.quantities import parse_duration
from simengine.scenario.vocabulary import Action


@dataclass(frozen=True, slots=True)
class Task:
    """Hands that something keeps: ``takes_ms`` long, or ``None`` as long as it runs.

    ``people``: how many have to be at the cot for it.
    """

    hands: int
    takes_ms: int | None
    people: int = 1


@dataclass(frozen=True, slots=True)
class Helper:
    """Who comes once called, how long after, and with how many hands."""

    called: str
    after_ms: int
    hands: int


@dataclass(frozen=True, slots=True)
class Following:
    """An event that a facilitator would give, so long after an action."""

    action: str
    delay_ms: int


@dataclass(frozen=True, slots=True)
class AloneRules:
    """The rules of playing alone: ``help``, ``looks``, ``tasks`` by action, ``events`` by event.

    ``hint_ms``: how long without progress until the next step is told, in the guided way.
    """

    hands: int
    prepare_ms: int
    help: Mapping[str, Helper]
    events: Mapping[str, Following]
    late_fault_ms: int
    skips_ms: tuple[int, ...]
    hint_ms: int
    last_look_ms: int
    longest: int
    looks: Mapping[str, tuple[str, ...]]
    usual_ms: int
    tasks: Mapping[str, Task]

    def task(self, action: Action) -> Task:
        """Return the hands that an action keeps."""
        named = self.tasks.get(action.name)
        if named is not None:
            return named
        if action.by_voice:
            return Task(0, 0)
        return Task(1, None if action.lasting else self.usual_ms)


@cache
def alone_rules() -> AloneRules:
    """Return the rules that come with the program."""
    return read_rules(Path(__file__).with_name("alone.yaml"))


def read_rules(path: Path) -> AloneRules:
    """Read rules. Raises ``KeyError``, ``TypeError`` or ``QuantityError`` on a slip in the file."""
    raw: Mapping[str, Any] = yaml.safe_load(path.read_text("utf-8"))
    return AloneRules(
        hands=raw["hands"],
        prepare_ms=parse_duration(raw["prepare"]),
        help={
            name: Helper(one["called"], parse_duration(one["after"]), one["hands"])
            for name, one in raw["help"].items()
        },
        events={
            name: Following(one["after"], parse_duration(one["delay"]))
            for name, one in raw["events"].items()
        },
        late_fault_ms=parse_duration(raw["late_fault"]),
        skips_ms=tuple(parse_duration(one) for one in raw["skips"]),
        hint_ms=parse_duration(raw["hint"]),
        last_look_ms=parse_duration(raw["last_look"]),
        longest=raw["longest"],
        looks={name: tuple(shown) for name, shown in raw["looks"].items()},
        usual_ms=parse_duration(raw["usual"]),
        tasks={name: _task(**one) for name, one in raw["tasks"].items()},
    )


def _task(hands: int, takes: str | None = None, people: int = 1) -> Task:
    return Task(hands, None if takes is None else parse_duration(takes), people)
