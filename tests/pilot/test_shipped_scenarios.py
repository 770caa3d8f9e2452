"""What a pilot must say of every shipped scenario, and of the one that people start from."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from simengine.pilot.findings import BY_OMISSION, TELLS_APART, Findings, find
from simengine.pilot.run_pilot import COMPARED, EVERYTHING, FAULTLESS, NOTHING, STOPS, pilot
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from tests.pilot.skill_levels import NAMES, skills

RUNS = 100
"""As many as a pilot plays; of fewer teams a share of those that achieve is luck."""
FILES = [scenarios_dir() / f"{name}.yaml" for name in NAMES] + [
    scenarios_dir() / "new" / "starting-scenario.yaml"
]


@cache
def piloted(file: Path) -> Findings:
    scenario = load_scenario(file)
    teams = pilot(scenario, skills(), runs=RUNS, seed=1)
    return find(scenario, skills(), teams, runs=RUNS, seed=1)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_slow_teams_are_told_from_steady_ones(file: Path) -> None:
    area = piloted(file).area
    assert area is not None
    assert area >= TELLS_APART


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_nobody_comes_off_well_by_leaving_things_out_or_doing_all_at_once(file: Path) -> None:
    compared = {team.name: team for team in piloted(file).compared}
    assert set(compared) == set(COMPARED)
    for name in (NOTHING, STOPS):
        assert (compared[name].total or 0.0) <= BY_OMISSION
    assert [compared[name].achieved for name in (NOTHING, STOPS, EVERYTHING)] == [0, 0, 0]
    assert piloted(file).gaming == ()


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_what_is_asked_can_be_done_and_is_reached(file: Path) -> None:
    findings = piloted(file)
    faultless = next(team for team in findings.compared if team.name == FAULTLESS)
    assert faultless.total == pytest.approx(1.0)
    assert findings.not_attained == ()
    assert findings.never_reached == ()


@pytest.mark.parametrize("file", FILES[:-1], ids=lambda file: file.stem)
def test_the_demonstration_mark_can_be_reached_and_is_not_given_away(file: Path) -> None:
    findings = piloted(file)
    slow, steady = findings.levels[0].not_achieved, findings.levels[-1].not_achieved
    assert next(team for team in findings.compared if team.name == FAULTLESS).achieved == 1
    assert slow is not None
    assert steady is not None
    assert slow.many >= 0.9 * slow.of
    # An invented mark, but not one that hardly any steady team reaches.
    assert steady.many <= 0.85 * steady.of


def test_the_starting_scenario_has_no_mark() -> None:
    assert load_scenario(FILES[-1]).scoring.pass_mark is None
