"""Sessions of scenarios that share a title, told apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from simengine.cohort.records import SessionResult
from simengine.scenario.titles import titles_apart


def told_apart(results: Iterable[SessionResult]) -> tuple[SessionResult, ...]:
    """Return the same sessions; the title of one says which copy it is, where there are several."""
    results = tuple(results)
    titles = titles_apart((one.scenario, one.scenario_title) for one in results)
    return tuple(
        one
        if titles[one.scenario, one.scenario_title] == one.scenario_title
        else replace(one, scenario_title=titles[one.scenario, one.scenario_title])
        for one in results
    )
