"""The plays of a scenario as part of checking it: what is wrong in them, and what did not come."""

from __future__ import annotations

from pathlib import Path

from simengine.plays.files import Others, plays_of, read_file
from simengine.plays.results import problems_of, result_of
from simengine.plays.run_play import perform
from simengine.problems import Problem
from simengine.scenario.digest import not_stamped
from simengine.scenario.model import Scenario


def check_plays(file: Path, scenario: Scenario) -> list[Problem]:
    """Play every play that stands beside the scenario in ``file``; return all problems."""
    others: Others = {}
    return [
        problem
        for path in plays_of(file, scenario.id)
        for problem in check_play(path, scenario=scenario, others=others)
    ]


def check_play(
    path: Path,
    *,
    scenario: Scenario | None = None,
    protocol: str | None = None,
    others: Others | None = None,
) -> list[Problem]:
    """Return every problem of a play's file, and every expectation that was not met.

    ``scenario``: the one that it stands beside, read already. ``others``: what its plays are like,
    as far as it was read.
    """
    with not_stamped():
        play, book = read_file(path, scenario, protocol, others)
        if play is not None and not book.has_errors():
            problems_of(result_of(perform(play)))
    return sorted(set(book.problems))
