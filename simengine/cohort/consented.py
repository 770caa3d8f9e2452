"""A result in which some people are not told apart.

Rules of this file:

- Whoever is not to be counted under their code leaves the team's list, and what they did is the
  team's, as where nobody was named for a role: the session counts as before, and nothing in it is
  theirs.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from simengine.cohort.records import SessionResult


def as_the_teams(result: SessionResult, codes: Collection[str]) -> SessionResult:
    """Return a result in which what these people did is the team's."""
    if not any(code in codes for held in result.team.values() for code in held):
        return result
    return replace(
        result,
        team={
            role: tuple(code for code in held if code not in codes)
            for role, held in result.team.items()
        },
        items=tuple(
            replace(item, person=None) if item.person in codes else item for item in result.items
        ),
    )
