"""A play as plain data.

Rules of this file:

- Times are whole milliseconds; ranges are in the unit that their field names.
- Whatever a complaint may be about keeps its place in the file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from simengine.quantities import Range
from simengine.scenario.conditions import Condition
from simengine.scenario.model import Scenario
from simengine.scenario.place import Place
from simengine.session.events import Kind


@dataclass(frozen=True, slots=True)
class When:
    """When something is done: ``after_ms`` from what is named.

    ``clock``: time zero of the team's clock; ``start``: the beginning of the session; ``state``:
    an entry of the state ``name``; ``action``: a doing or start of the action ``name``;
    ``condition``: once ``condition`` has held for ``lasting_ms``.
    """

    kind: Literal["clock", "start", "state", "action", "condition"]
    name: str = ""
    condition: Condition | None = None
    after_ms: int = 0
    lasting_ms: int = 0


@dataclass(frozen=True, slots=True)
class Act:
    """One entry of the log: its kind and data.

    ``tells``: the observation whose true value is said with it. ``undoes``: the kind of event of
    which the newest by hand is undone.
    """

    kind: Kind
    data: Mapping[str, Any] = field(default_factory=dict)
    tells: str | None = None
    undoes: str | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """What it does by name: its action, setting, fault, event or state."""
        keys = ("action", "setting", "fault", "name", "state", "observation")
        return tuple(str(self.data[key]) for key in keys if key in self.data)


@dataclass(frozen=True, slots=True)
class Step:
    """What is done at one time, written down ``late_ms`` afterwards.

    ``every_ms``: done again after so long, until ``until``. ``each``: each time that what ``when``
    names happens, not the first time alone.
    """

    number: int
    when: When
    acts: tuple[Act, ...]
    place: Place
    every_ms: int | None = None
    until: When | None = None
    each: bool = False
    late_ms: int = 0


@dataclass(frozen=True, slots=True)
class ItemExpected:
    """What must come of one key item; ``None``: anything. ``credit`` in per cent."""

    id: str
    place: Place
    verdict: str | None = None
    credit: Range | None = None


@dataclass(frozen=True, slots=True)
class Names:
    """A list of names that must come, neither more nor fewer."""

    names: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Expected:
    """What must come of a play; ``None``: anything. ``total`` in per cent.

    ``outcome`` is ``none`` where none must be proposed.
    """

    states: Names | None = None
    total: tuple[Range, Place] | None = None
    outcome: tuple[str, Place] | None = None
    items: tuple[ItemExpected, ...] = ()
    unsafe: Names | None = None
    findings: Names | None = None


@dataclass(frozen=True, slots=True)
class Play:
    """A play of ``scenario``. ``clock_at_ms``: when the team's clock starts."""

    name: str
    title: str
    about: str
    scenario: Scenario
    steps: tuple[Step, ...]
    expected: Expected
    clock_at_ms: int
