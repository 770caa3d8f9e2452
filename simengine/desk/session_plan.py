"""A session as it was planned: what is chosen before its log is opened.

Rules of this file:

- A plan is kept as JSON beside the log and never changes. Codes that open a display or let a
  second recorder join belong to it; they are no part of the log.
- People are codes. What a person types is checked here, and all that is wrong is told at once.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from simengine.web.security import new_code

Purpose = Literal["formative", "summative", "rehearsal"]

HERE = "here"
"""Who plays alone at a console of this machine alone, which knows nobody."""

PURPOSES: tuple[Purpose, ...] = ("formative", "summative", "rehearsal")
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,15}")
_MOST_PEOPLE = 12


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """What was chosen. ``digest``, ``protocol_digest``: of the files as they were.

    ``protocol``, ``gestation``, ``weight``: empty where the scenario's own stand. ``team``: role
    → codes. ``real_cot``: there is a cot to read, so the display shows no equipment readings.
    ``display``: the code that opens a bedside display; ``recorder``: the code with which a
    second recorder joins. ``unit``: where it is held, empty where nobody said.
    ``returns_cot``: its cot has to be returned to service. ``alone``: it is played without a
    facilitator, and by whom: a trainee's code, an account, or ``HERE``; empty where there is one.
    ``guided``: whoever plays it alone is given the next step after a while. ``again``: which
    session and state it is a retry of, empty where it is none.
    """

    session: str
    scenario: str
    title: str
    digest: str
    protocol: str
    protocol_digest: str
    gestation: str
    weight: str
    purpose: Purpose
    real_cot: bool
    team: Mapping[str, tuple[str, ...]]
    display: str
    recorder: str
    unit: str = ""
    returns_cot: bool = False
    alone: str = ""
    guided: bool = False
    again: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON."""
        return asdict(self)


def plan_from_json(raw: Mapping[str, Any]) -> SessionPlan:
    """Return what ``as_json`` gave."""
    team = {role: tuple(people) for role, people in raw["team"].items()}
    return SessionPlan(**{**raw, "team": team})


def new_session_id() -> str:
    """Return a random id for a session."""
    return str(uuid.uuid4())


def new_codes() -> tuple[str, str]:
    """Return the codes of a display and of a second recorder."""
    return new_code(8), new_code(8)


def purpose_of(said: str, problems: list[str]) -> Purpose:
    """Read what a session is for."""
    if said not in PURPOSES:
        problems.append(f"What it is for: expected {', '.join(PURPOSES)}, found '{said[:40]}'.")
        return "formative"
    return said


def team_of(
    form: Mapping[str, str], roles: Mapping[str, str], problems: list[str]
) -> dict[str, tuple[str, ...]]:
    """Read who starts in which role: the fields ``role.NAME``, codes with commas between."""
    team: dict[str, tuple[str, ...]] = {}
    for role, label in roles.items():
        people: list[str] = []
        for code in _codes(form.get(f"role.{role}", "")):
            if not _CODE.fullmatch(code):
                problems.append(
                    f"{label}: expected a code of up to 16 letters, digits, - or _ (never a "
                    f"name; a comma between two codes), found '{code[:40]}'."
                )
            elif code not in people:
                people.append(code)
        if len(people) > _MOST_PEOPLE:
            problems.append(f"{label}: at most {_MOST_PEOPLE} people, found {len(people)}.")
        if people:
            team[role] = tuple(people)
    return team


def _codes(typed: str) -> list[str]:
    """Split at commas; at blanks only between words with digits, so that a name stays one."""
    codes: list[str] = []
    for part in re.split(r"[,;]", typed):
        words = part.split()
        if all(re.search(r"\d", word) for word in words):
            codes += words
        else:
            codes.append(" ".join(words))
    return codes
