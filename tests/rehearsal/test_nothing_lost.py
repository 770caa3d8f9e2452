"""A rehearsal outlives its server, and its player's name goes when they are erased."""

from __future__ import annotations

from pathlib import Path

from simengine.web.shelf import Shelf
from tests.console.consoles import Desk, SetClock, lay_index
from tests.coordinator.ward import Ward, words_of
from tests.rehearsal.playing import Player


def test_it_goes_on_where_it_was_after_the_server_was_away(tmp_path: Path) -> None:
    clock = SetClock()
    before = Desk(tmp_path / "data", clock=clock)
    with before.client:
        player = Player(before.sign_in()).begin(way="guided").turns("gas_flow", 8)
        player.wait(5).touch("begin")
        player.wait(1).does("mask_ventilation").does("call_for_help").wait(8)
        assert player.state == "chest_still"
        session = player.session
    clock.at_ms += 60_000
    after = Desk(tmp_path / "data", clock=clock)
    with after.client:
        player = Player(after.sign_in())
        player.session = session
        assert player.state == "chest_still"
        assert [act["action"] for act in player.view["running"]] == ["mask_ventilation"]
        assert {line["who"] for line in player.view["hands"]} == {"You", "Help"}
        assert player.log("cue")  # what was to be said meanwhile is said once it is back
        player.does("watch_chest")


def test_a_touch_that_is_sent_again_is_taken_once(player: Player) -> None:
    player.begin().wait(5).touch("begin")
    first = player.wait(1).touch("action", "dry")
    again = player.browser.client.post(
        f"/rehearse/{player.session}/do",
        content=first.request.content,
        headers={"content-type": "application/json", "x-csrf-token": player.browser.token},
    )
    assert again.status_code == 200
    assert [act["action"] for act in player.log("action")] == ["dry"]


def test_no_code_is_left_in_a_rehearsal_once_its_player_is_erased(tmp_path: Path) -> None:
    lay_index(tmp_path, ())
    ward = Ward(tmp_path, Shelf((), tmp_path / "scenarios.index"))
    with ward.client:
        ward.begin().import_roster()
        player = Player(ward, ward.trainee("N-104")).begin()
        player.wait(5).touch("begin")
        player.wait(30).touch("end")
        ward.results_made()
        answer = ward.coordinator.form("/cohort/people/N-104/erase", typed="N-104", by="Cora")
        assert answer.status_code < 400, words_of(answer)
        for stored in ward.hub.store.sessions():
            assert "N-104" not in str(stored.planned.plan)
            assert "N-104" not in str(ward.hub.store.events(stored.planned.session))
