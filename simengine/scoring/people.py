"""Who held which role when, and what can fairly be called one person's own.

Rules of this file:

- An item is a person's own only where the record has been confirmed, the item (or who did it)
  has a role, and nobody else held that role at that instant. What has no instant of its own
  (``keep``, ``repeat``, ``order``) goes over the session: nobody else ever held that role.
- A miss without a named role belongs to the team.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from simengine.problems import InputError, Problem
from simengine.scoring.card import ItemScore
from simengine.session.record import NEVER, Session

Standing = Literal["own", "shared", "unconfirmed", "other"]


@dataclass(frozen=True, slots=True)
class Holding:
    """A person held a role in [``start_ms``, ``end_ms``) of scenario time."""

    person: str
    role: str
    start_ms: int
    end_ms: int


def holdings(session: Session) -> tuple[Holding, ...]:
    """Return who held which role when, from the opening and from joins, leaves and swaps."""
    open_: dict[tuple[str, str], int] = {}
    out: list[Holding] = []

    def ends(person: str, role: str | None, at_ms: int) -> None:
        for key in [key for key in open_ if key[0] == person and role in (None, key[1])]:
            out.append(Holding(key[0], key[1], open_.pop(key), at_ms))

    for event in session.effective:
        data = event.data
        at_ms = session.times.scenario(event.at_ms, event.seq)
        if event.kind == "opened":
            for role, people in data.get("team", {}).items():
                for person in people:
                    open_.setdefault((person, role), 0)
        elif event.kind in ("joined", "role"):
            person, role = data.get("person"), data.get("role")
            if event.kind == "role" and data.get("leaves"):
                ends(str(person), str(data["leaves"]), at_ms)
            if person and role:
                open_.setdefault((str(person), str(role)), at_ms)
        elif event.kind == "left":
            ends(str(data.get("person")), data.get("role"), at_ms)
    out += [Holding(person, role, since, NEVER) for (person, role), since in open_.items()]
    return tuple(sorted(out, key=lambda held: (held.start_ms, held.role, held.person)))


def everybody(session: Session) -> tuple[str, ...]:
    """Return the keys of all persons of a session, in order of first appearance."""
    return tuple(dict.fromkeys(held.person for held in holdings(session)))


def check_trainee(session: Session, trainee: str) -> None:
    """Raise ``InputError`` where ``trainee`` held no role in the session."""
    people = everybody(session)
    if trainee in people:
        return
    raise InputError(
        [
            Problem(
                f"session {session.session_id}",
                0,
                0,
                "opened › team",
                f"one of the codes of its team ({', '.join(people) or 'none was recorded'})",
                f"{trainee!r}",
                "trainee-unknown",
            )
        ]
    )


def roles_of(session: Session, trainee: str) -> tuple[str, ...]:
    """Return the roles that a person held, in order."""
    return tuple(dict.fromkeys(h.role for h in holdings(session) if h.person == trainee))


def standing(
    session: Session, score: ItemScore, trainee: str, held: Sequence[Holding] | None = None
) -> Standing:
    """Return whether an item's result is this person's own.

    ``held``: the session's ``holdings``, where the caller has them at hand.
    """
    held = holdings(session) if held is None else held
    if not score.occasions:
        holders = {h.person for h in held if h.role == score.role}
        if trainee not in holders:
            return "other"
        return _own(session) if len(holders) == 1 else "shared"
    instants = [
        (
            occasion.role or score.role,
            occasion.opened_ms if occasion.done_ms is None else occasion.done_ms,
        )
        for occasion in score.occasions
    ]
    mine = [
        (role, at_ms)
        for role, at_ms in instants
        if any(
            h.person == trainee and h.role == role and h.start_ms <= at_ms < h.end_ms for h in held
        )
    ]
    if not mine:
        return "other"
    shared = any(
        h.person != trainee and h.role == role and h.start_ms <= at_ms < h.end_ms
        for role, at_ms in mine
        for h in held
    )
    if shared or len(mine) < len(instants):
        return "shared"
    return _own(session)


def _own(session: Session) -> Standing:
    return "own" if session.record.confirmed else "unconfirmed"


def without_names(text: str, people: Iterable[str]) -> str:
    """Return ``text`` with the keys of these people replaced."""
    for person in people:
        text = re.sub(rf"(?<!\w){re.escape(person)}(?!\w)", "a colleague", text)
    return text
