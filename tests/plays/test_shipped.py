"""The plays that travel with the scenarios: each comes out as it says, and none is missing."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.debrief.scores_told import made_by_signs
from simengine.plays import perform, result_of
from simengine.plays.files import FOLDER, read_file
from simengine.plays.play_model import Play
from simengine.resources import scenarios_dir
from simengine.session import Session, verify_log
from tests.scoring.denials import denials
from tests.shipped import SCENARIOS, scenario

PLAYS = sorted((scenarios_dir() / FOLDER).glob("*/*.yaml"))
ALWAYS = ("by-the-book", "ahead", "dangerous", "slow")


AFTER_THE_FIRST_EDITION = {"cot-after-use"}


def scores_told_wrong(session: Session) -> list[str]:
    """Apgar scores that a play tells and that the baby's signs do not make, give or take one.

    Asked of teams who care well: the others may tell what their baby does not show.
    """
    score = session.scenario.vocabulary.observations["apgar_score"]
    assert score.adds_up is not None
    wrong = []
    for done in session.record.performances:
        spoken = done.spoken.get(score.name)
        made = made_by_signs(score.adds_up, session, done.start_ms)
        if spoken is not None and made is not None and abs(int(str(spoken.value)) - made) > 1:
            wrong.append(f"{spoken.value} at {done.start_ms} ms, and the signs make {made}")
    return wrong


def name_of(file: Path) -> str:
    return f"{file.parent.name}/{file.stem}"


def play_in(file: Path) -> Play:
    play, book = read_file(file, scenario(file.parent.name))
    assert [str(problem) for problem in book.problems] == []
    assert play is not None
    return play


@pytest.mark.parametrize("file", PLAYS, ids=name_of)
def test_a_play_comes_out_as_it_says(file: Path) -> None:
    result = result_of(perform(play_in(file), chained=True))
    otherwise = [
        f"{line.what}: {line.expected}, came {line.came}" for line in result.lines if not line.met
    ]
    assert otherwise == []
    assert denials(result.performed.session, result.card) == []
    if file.stem in ("by-the-book", "ahead"):
        assert scores_told_wrong(result.performed.session) == []
    assert verify_log(result.performed.session.scenario, result.performed.session.events) is None


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_scenario_has_four_plays_and_two_of_what_was_marked_wrongly_before(name: str) -> None:
    """What came out before was found by replaying each under the first edition of the rules."""
    here = {file.stem: play_in(file) for file in PLAYS if file.parent.name == name}
    assert set(ALWAYS) <= set(here)
    about = [play.about for stem, play in here.items() if stem not in ALWAYS]
    assert all("Before: " in text or "For comparison: " in text for text in about)
    # A scenario of after that edition has two with what they are compared with.
    was = "For comparison: " if name in AFTER_THE_FIRST_EDITION else "Before: "
    assert sum(was in text for text in about) >= 2


@pytest.mark.parametrize("name", SCENARIOS)
@pytest.mark.parametrize("team", ["by-the-book", "ahead"])
def test_good_teams_are_held_to_97_per_cent_and_achieve(name: str, team: str) -> None:
    expected = play_in(scenarios_dir() / FOLDER / name / f"{team}.yaml").expected
    assert expected.total is not None
    assert expected.total[0].low >= 97
    assert expected.outcome is not None
    assert expected.outcome[0] == "achieved"
    assert expected.unsafe is not None
    assert expected.unsafe.names == ()


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_dangerous_team_does_not_achieve_and_all_that_was_unsafe_is_named(name: str) -> None:
    expected = play_in(scenarios_dir() / FOLDER / name / "dangerous.yaml").expected
    assert expected.outcome is not None
    assert expected.outcome[0] == "not yet achieved"
    assert expected.unsafe is not None
    assert expected.unsafe.names


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_slow_team_is_held_between_two_figures(name: str) -> None:
    expected = play_in(scenarios_dir() / FOLDER / name / "slow.yaml").expected
    assert expected.total is not None
    assert 0 < expected.total[0].low < expected.total[0].high < 97


def test_every_play_belongs_to_a_scenario_that_is_shipped() -> None:
    assert {file.parent.name for file in PLAYS} == set(SCENARIOS)
