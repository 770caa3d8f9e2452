"""Sessions to come: what is to be held when, where and with whom.

Rules of this file:

- Days and times of day are those of the place where it is held (``starts``: ``09:30``, empty where
  only the day is fixed).
- A team is codes by role. Under the empty role stand people of whom nobody has said what they do.
- A session is done once one was begun from it, or somebody ticked it off. What was cancelled stays,
  so that a calendar that has it can be told.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal
from uuid import uuid4

Team = Mapping[str, tuple[str, ...]]
"""Role → codes."""

_TIME = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")


@dataclass(frozen=True, slots=True)
class Booking:
    """One session to come. ``id``: a random UUID, by which a calendar knows it, too.

    ``purpose``: formative or summative. ``team_name``: what the team is called on the day's plan.
    ``changes``: how often it has been changed since it was made. ``session``: that was planned
    from it. ``ticked``: when somebody ticked it off, UTC, ISO 8601.
    """

    id: str
    day: date
    scenario: str
    starts: str = ""
    minutes: int = 60
    place: str = ""
    unit: str = ""
    purpose: Literal["formative", "summative"] = "formative"
    team_name: str = ""
    team: Team = field(default_factory=dict)
    note: str = ""
    changes: int = 0
    cancelled: bool = False
    session: str | None = None
    ticked: str | None = None

    @property
    def done(self) -> bool:
        """Whether it has been held, as far as anybody said."""
        return self.session is not None or self.ticked is not None

    @property
    def people(self) -> tuple[str, ...]:
        """Everybody who is to come, each once, in the order of the roles."""
        return people_of(self.team)


@dataclass(frozen=True, slots=True)
class NamedTeam:
    """A team that is kept to be taken again. ``unit``: whose it is, empty for any."""

    name: str
    team: Team
    unit: str = ""

    @property
    def people(self) -> tuple[str, ...]:
        """Everybody in it, each once."""
        return people_of(self.team)


def people_of(team: Team) -> tuple[str, ...]:
    """Return everybody in a team, each once, in the order of the roles."""
    return tuple(dict.fromkeys(code for codes in team.values() for code in codes))


def new_booking_id() -> str:
    """Return a random id."""
    return str(uuid4())


def read_time(typed: str) -> str:
    """Read a time of day: ``9:30`` is ``09:30``, nothing is nothing. Raises ``ValueError``."""
    if not typed.strip():
        return ""
    match = _TIME.fullmatch(typed.strip())
    if match is None:
        raise ValueError(f"expected a time of day such as 09:30, found '{typed[:20]}'")
    return f"{int(match[1]):02d}:{match[2]}"


def without(team: Team, code: str) -> dict[str, tuple[str, ...]]:
    """Return a team without one person; a role that nobody is left in goes."""
    left = {
        role: tuple(member for member in codes if member != code) for role, codes in team.items()
    }
    return {role: codes for role, codes in left.items() if codes}


def seated(team: Team, roles: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Seat a team in a scenario's roles (name → label), which may be others than it was made for.

    Who has a role that the scenario knows keeps it. Everybody else takes a role that is left, in
    order; where none is left, nobody's place is given away and they are left out.
    """
    known = {role: team[role] for role in roles if team.get(role)}
    open_roles = [role for role in roles if role not in known]
    placed = {code for codes in known.values() for code in codes}
    others = [code for codes in team.values() for code in codes if code not in placed]
    known |= {role: (code,) for role, code in zip(open_roles, dict.fromkeys(others), strict=False)}
    return {role: known[role] for role in roles if role in known}
