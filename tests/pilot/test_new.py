"""`simengine new`: what it writes can be checked and played as it stands."""

from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.pilot.run_pilot import FAULTLESS, session_of
from simengine.scenario import check_file, load_scenario
from tests.pilot.skill_levels import skills


def test_a_new_scenario_has_no_problem_and_plays_to_its_end(tmp_path: Path) -> None:
    assert main(["new", "my-scenario", "--output", str(tmp_path)]) == 0
    file = tmp_path / "my-scenario.yaml"
    assert check_file(file) == []
    scenario = load_scenario(file)
    assert scenario.id == "my-scenario"
    session = session_of(scenario, skills(), 1, FAULTLESS, 0)
    assert session.closed == "finished"
    assert session.stays[-1].state == "settled"


def test_a_new_scenario_has_two_plays_and_they_come_out_as_they_say(tmp_path: Path) -> None:
    assert main(["new", "my-scenario", "--output", str(tmp_path)]) == 0
    plays = sorted((tmp_path / "plays" / "my-scenario").glob("*.yaml"))
    assert [play.stem for play in plays] == ["by-the-book", "no-breaths"]
    assert main(["play", *map(str, plays)]) == 0
    assert main(["check", str(tmp_path)]) == 0


def test_a_file_of_this_name_is_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text("mine")
    assert main(["new", "mine", "--output", str(tmp_path)]) == 1
    assert (tmp_path / "mine.yaml").read_text() == "mine"


def test_a_name_that_is_no_id_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SystemExit):
        main(["new", "My Scenario", "--output", str(tmp_path)])
