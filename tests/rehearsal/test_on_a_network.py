"""A trainee rehearses by their own account: nobody else opens it, and it counts as practice."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.cohort.evidence import for_learning, for_totals
from simengine.people.consent import Said
from simengine.store import consents
from simengine.web.shelf import Shelf
from tests.console.consoles import LAN, lay_index
from tests.coordinator.ward import Ward, words_of
from tests.rehearsal.playing import Player


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A console on a network, with a roster."""
    lay_index(tmp_path, ())
    made = Ward(tmp_path, Shelf((), tmp_path / "scenarios.index"), LAN)
    with made.client:
        made.begin().import_roster()
        yield made


@pytest.fixture
def trainee(ward: Ward) -> Player:
    """N-104, signed in with their own account."""
    return Player(ward, ward.trainee("N-104"))


def rehearsed(player: Player) -> Player:
    player.begin().wait(5).touch("begin")
    player.wait(30).does("dry").wait(60).touch("end")
    page = player.browser.client.get(f"/rehearse/{player.session}/after")
    assert page.status_code == 200
    return player


def test_a_trainee_comes_from_their_own_page_and_needs_nobodys_set_up(trainee: Player) -> None:
    page = trainee.browser.client.get("/cohort/people/N-104").text
    assert 'href="/rehearse"' in page
    chosen = trainee.browser.client.get("/rehearse").text
    assert "Your code" not in chosen  # it is known by the account
    rehearsed(trainee)
    team = trainee.log("opened")[0]["team"]
    assert {code for codes in team.values() for code in codes} == {"N-104"}


def test_nobody_else_opens_it_whatever_their_role(ward: Ward, trainee: Player) -> None:
    rehearsed(trainee)
    others = {"colleague": ward.trainee("N-117"), "educator": ward, "coordinator": ward.coordinator}
    for role, browser in others.items():
        for page in ("", "/after", "/debrief", "/debrief.pdf", "/debrief/what-if"):
            address = f"/rehearse/{trainee.session}{page}"
            assert browser.client.get(address, follow_redirects=False).status_code == 403, role
    own = f"/cohort/people/N-104/debrief/{trainee.session}"
    for role, browser in others.items():
        assert browser.client.get(own).status_code == 403, role
        assert browser.client.get(f"{own}/what-if").status_code == 403, role
        put_away = browser.client.get(f"/s/{trainee.session}/put-away")
        assert put_away.status_code in (403, 404), role
    file = "/cohort/people/N-104/data"
    assert others["educator"].client.get(file).status_code == 403
    (session,) = others["coordinator"].client.get(file).json()["sessions"]
    assert set(session) == {"opened", "scenario", "title", "purpose"}
    assert others["coordinator"].client.get(file).json()["entries"] == []
    (mine,) = trainee.browser.client.get(file).json()["sessions"]
    assert mine["items"]


def test_the_coordinator_sees_that_there_was_practice_and_not_how_it_went(
    ward: Ward, trainee: Player
) -> None:
    rehearsed(trainee)
    rehearsed(trainee)
    home = words_of(ward.coordinator.client.get("/cohort"))
    assert "Rehearsed in the last 90 days: 2 rehearsals by 1 person." in home
    person = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    assert "Rehearsed in the last 90 days: 2 rehearsals, the last on" in person
    assert "for the learner alone" in person
    own = words_of(trainee.browser.client.get("/cohort/people/N-104"))
    assert "2 rehearsals" in own


def test_a_rehearsal_is_in_no_figure_of_competence(ward: Ward, trainee: Player) -> None:
    rehearsed(trainee)
    result = ward.hub.store.result(trainee.session)
    assert result is not None
    assert result.purpose == "rehearsal"
    for figures in (for_learning, for_totals):
        assert list(figures([result])) == []
    due = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    assert "Nothing yet: no assessment with a recorded standard has been confirmed." in due


def test_who_takes_no_part_in_recorded_sessions_rehearses_without_their_code(
    ward: Ward, trainee: Player
) -> None:
    refused = Said("N-104", "taking part", given=False, wall="2026-01-01T00:00:00.000Z")
    consents.say(ward.hub.store, refused)
    rehearsed(trainee)
    assert trainee.log("opened")[0]["team"] == {}
    person = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    assert "Rehearsed in the last" not in person
