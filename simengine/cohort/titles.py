"""Sessions of scenarios that share a title, told apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from simengine.cohort.records import SessionResult
from simengine.scenario.titles import titles_apart


def told_apart(results: Iterable[SessionResult]) -> tuple[SessionResult, ...]:
    """Return the same sessions; the title of one says which copy it is, where there are several."""
    results = tuple(results)
    titles = titles_apart((result.scenario, result.scenario_title) for result in results)
    return tuple(
        result
        if titles[result.scenario, result.scenario_title] == result.scenario_title
        else replace(result, scenario_title=titles[result.scenario, result.scenario_title])
        for result in results
    )
