"""A result in which some people are not told apart.

Rules of this file:

- Whoever is not to be counted under their code leaves the team's list, and what they did is the
  team's, as where nobody was named for a role: the session counts as before, and nothing in it is
  theirs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from simengine.cohort.records import SessionResult


def told_apart(result: SessionResult, counts: Callable[[str], bool]) -> SessionResult:
    """Return a result in which those alone are told apart who ``counts`` says may be."""
    if all(counts(code) for held in result.team.values() for code in held):
        return result
    return replace(
        result,
        team={
            role: tuple(code for code in held if counts(code)) for role, held in result.team.items()
        },
        items=tuple(
            item if item.person is None or counts(item.person) else replace(item, person=None)
            for item in result.items
        ),
    )
