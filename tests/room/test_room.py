"""The debriefing room: four steps, led from a tablet, followed by a wall that names nobody."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import httpx2
import pytest

from tests.console.consoles import Browser, Desk, entry, first_view
from tests.room.held import NOTE, held

STEPS = ("feelings", "story", "reasons", "along")


@pytest.fixture
def session(desk: Desk) -> str:
    """A session that has ended, with a team and the facilitator's notes."""
    return held(desk.hub)


def content_of(page: str) -> Any:
    match = re.search(r'data-content="([^"]*)"', page)
    assert match is not None
    return json.loads(unescape(match.group(1)))


def told(desk: Desk, session: str, what: str, body: Any) -> httpx2.Response:
    return desk.client.post(
        f"/s/{session}/room/{what}",
        content=json.dumps(body),
        headers={"content-type": "application/json", "x-csrf-token": desk.token},
    )


def wall_of(desk: Desk, session: str) -> tuple[Browser, str]:
    """A projector's browser, and the address of the wall."""
    code = desk.app.state.web.keys.wall_code(session)
    return desk.another(), f"/wall/{code}"


def test_the_room_begins_with_how_it_was_and_nothing_of_the_score(desk: Desk, session: str) -> None:
    page = desk.client.get(f"/s/{session}/room")
    assert page.status_code == 200, page.text[:500]
    view = first_view(page.text)
    assert view["step"] == "feelings"
    assert view["with_score"] is False
    assert told(desk, session, "show", {"step": "score"}).status_code == 400
    for step in STEPS:
        assert told(desk, session, "show", {"step": step}).json()["step"] == step
    shown = told(desk, session, "show", {"with_score": True, "step": "score"}).json()
    assert shown["step"] == "score"
    assert told(desk, session, "show", {"with_score": False}).json()["step"] == "along"


def test_the_wall_waits_until_the_room_is_open_and_after_its_end(desk: Desk, session: str) -> None:
    wall, address = wall_of(desk, session)
    page = wall.client.get(address)
    assert content_of(page.text) is None
    assert first_view(page.text)["open"] is False
    desk.client.get(f"/s/{session}/room")
    assert content_of(wall.client.get(address).text)["title"]
    answer = desk.form(f"/s/{session}/room/end")
    assert answer.headers["location"] == f"/s/{session}/review"
    assert content_of(wall.client.get(address).text) is None


def test_the_wall_never_holds_the_facilitators_words_nor_codes_unless_chosen(
    desk: Desk, session: str
) -> None:
    page = desk.client.get(f"/s/{session}/room").text
    assert NOTE in unescape(page)
    words = {"code": "N-104", "kind": "take along", "words": "seal the mask first"}
    assert told(desk, session, "words", words).status_code == 200
    wall, address = wall_of(desk, session)
    shown = wall.client.get(address).text
    assert "seal the mask first" in shown
    assert NOTE not in unescape(shown)
    for code in ("N-104", "M-021", "D-009"):
        assert code not in shown
    assert [stop["at_ms"] for stop in content_of(shown)["stops"]], "where they are is shown"
    told(desk, session, "show", {"codes": True})
    assert "N-104" in wall.client.get(address).text


def test_every_step_of_the_wall_is_without_a_figure_of_the_score_until_it_is_chosen(
    desk: Desk, session: str
) -> None:
    desk.client.get(f"/s/{session}/room")
    wall, address = wall_of(desk, session)
    assert content_of(wall.client.get(address).text)["score"] == []
    told(desk, session, "show", {"with_score": True})
    assert "%" in " ".join(content_of(wall.client.get(address).text)["score"])


def test_a_code_opens_the_wall_where_displays_join_and_nothing_else(
    desk: Desk, session: str
) -> None:
    wall, address = wall_of(desk, session)
    wall.open("/join")
    answer = wall.form("/join", who="display", code=address.rpartition("/")[2].lower())
    assert answer.headers["location"] == address
    assert wall.client.get(f"/s/{session}/room").status_code == 403
    assert wall.client.get("/wall/WRONGONE").status_code == 404


def test_the_room_of_a_session_that_still_runs_is_not_open_yet(desk: Desk) -> None:
    running = desk.start()
    answer = desk.client.get(f"/s/{running}/room")
    assert answer.status_code == 409
    assert "once the session has ended" in answer.text
    wall, address = wall_of(desk, running)
    assert wall.client.get(address).status_code == 404


def test_what_is_taken_along_is_kept_and_survives_a_restart(tmp_path: Path) -> None:
    first = Desk(tmp_path / "data")
    with first.client:
        first.sign_in()
        session = held(first.hub)
        page = first.client.get(f"/s/{session}/room").text
        for code, words in (("N-104", "seal the mask first"), ("M-021", "say what I see")):
            body = {"code": code, "kind": "take along", "words": words}
            assert told(first, session, "words", body).status_code == 200
        moments = content_of(page)["moments"]
        address = wall_of(first, session)[1]
    again = Desk(tmp_path / "data")
    with again.client:
        again.sign_in()
        page = again.client.get(f"/s/{session}/room").text
        along = {person["code"]: person["along"] for person in first_view(page)["people"]}
        assert {code: words for code, words in along.items() if words} == {
            "N-104": "seal the mask first",
            "M-021": "say what I see",
        }
        assert "D-009" in along
        assert content_of(page)["moments"] == moments
        assert again.another().client.get(address).status_code == 200


@pytest.mark.parametrize(
    "body",
    [
        {"step": "verdict"},
        {"at_ms": "soon"},
        {"at_ms": 0, "speed": 3},
        {"moment": "nothing"},
        {"what_if": 1},
        {"score": True},
    ],
)
def test_what_makes_no_sense_is_refused_in_words_and_changes_nothing(
    desk: Desk, session: str, body: Any
) -> None:
    before = first_view(desk.client.get(f"/s/{session}/room").text)
    answer = told(desk, session, "show", body)
    assert answer.status_code == 400
    assert answer.json()["words"]
    assert first_view(desk.client.get(f"/s/{session}/room").text) == before


def test_words_of_who_took_no_part_are_refused(desk: Desk, session: str) -> None:
    for body in (
        {"code": "X-1", "kind": "take along", "words": "x"},
        {"code": "N-104", "kind": "other view", "words": "x"},
        {"code": "N-104", "kind": "goal", "words": 7},
    ):
        assert told(desk, session, "words", body).status_code == 400


def test_a_moment_tells_what_was_seen_what_was_done_and_what_care_asks_for(
    desk: Desk, session: str
) -> None:
    content = content_of(desk.client.get(f"/s/{session}/room").text)
    moments = content["moments"]
    assert 2 <= len(moments) <= 8
    first = moments[:3]
    assert {moment["kind"] for moment in first} >= {"well"}, "one that went well is among them"
    assert [moment["at_ms"] for moment in first] == sorted(moment["at_ms"] for moment in first)
    for moment in moments:
        assert moment["seen"]
        assert moment["done"]
        assert moment["asked"]
    assert any(moment["what_if"].startswith("In this scenario") for moment in moments)


def test_a_retry_runs_at_once_from_the_state_and_is_a_rehearsal(desk: Desk, session: str) -> None:
    content = content_of(desk.client.get(f"/s/{session}/room").text)
    state = content["retries"][0]
    answer = desk.form(f"/s/{session}/retry", state=state["event"], minutes="3")
    assert answer.status_code == 303, answer.text[:500]
    again = answer.headers["location"].split("/")[2]
    assert again != session
    running = desk.hub.running(again)
    assert running.plan.purpose == "rehearsal"
    assert "again from" in running.plan.title
    log = desk.log(again)
    assert log[0]["data"]["retry"]["session"] == session
    assert log[0]["data"]["retry"]["lasts_ms"] == 180_000
    assert log[-1]["id"] == state["event"]
    view = desk.view(again)
    assert view["now"]["scenario_ms"] == log[0]["data"]["retry"]["from_ms"]
    desk.send(again, entry("action", view["now"]["log_ms"], {"action": "dry", "phase": "done"}))
    desk.clock.at_ms += 181_000  # type: ignore[attr-defined]
    desk.client.portal.call(running.catch_up)  # type: ignore[attr-defined]
    assert desk.hub.running(again).closed


@pytest.mark.parametrize("fields", [{"state": "nothing", "minutes": "3"}, {"minutes": "300"}])
def test_a_retry_from_nowhere_or_for_ever_is_refused(
    desk: Desk, session: str, fields: dict[str, str]
) -> None:
    content = content_of(desk.client.get(f"/s/{session}/room").text)
    form = {"state": content["retries"][0]["event"], **fields}
    assert desk.form(f"/s/{session}/retry", **form).status_code == 400
