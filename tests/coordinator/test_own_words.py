"""A learner's own words: a goal before, something to take along, another view that is answered."""

from __future__ import annotations

from pathlib import Path

from simengine.store.erase import erase
from simengine.store.own_words import of_session
from tests.coordinator.ward import TEAM, Ward, words_of
from tests.store.logs import WALL

GOAL = "say out loud what I hear"
ALONG = "seal the mask before I turn the pressure up"
VIEW = "I did listen, before the mask was on"


def first_item(ward: Ward, session: str) -> str:
    result = ward.hub.store.result(session)
    assert result is not None
    return result.items[0].id


def test_a_goal_is_written_before_the_session_and_stands_in_its_prebrief(ward: Ward) -> None:
    ward.import_roster()
    session = ward.plan(**TEAM)
    own = ward.trainee("N-104")
    address = f"/cohort/people/N-104/words/{session}"
    assert address in own.client.get("/cohort/people/N-104").text
    assert own.form(address, goal=GOAL).status_code == 303
    assert GOAL in ward.client.get(f"/s/{session}/prebrief").text
    ward.form(f"/s/{session}/start", acknowledged="yes", **{"goal__N-104": "something else"})
    (kept,) = of_session(ward.hub.store, session)
    assert kept.words == "something else", "said in the prebrief, it is kept as it was said"
    assert own.form(address, goal="too late").status_code != 303


def test_what_was_taken_along_is_shown_in_the_next_prebrief_of_the_same_people_alone(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.held()
    own = ward.trainee("N-104")
    assert own.form(f"/cohort/people/N-104/words/{session}", along=ALONG).status_code == 303
    words = words_of(ward.client.get(f"/s/{ward.plan(**TEAM)}/prebrief"))
    assert f"From last time: “{ALONG}”" in words
    others = ward.plan(role__airway="N-117")
    assert ALONG not in ward.client.get(f"/s/{others}/prebrief").text


def test_another_view_reaches_the_educators_and_is_answered(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held()
    item = first_item(ward, session)
    own = ward.trainee("N-104")
    address = f"/cohort/people/N-104/words/{session}"
    assert own.form(address, item=item, words=VIEW).status_code == 303
    assert "Not answered yet" in own.client.get(address).text
    for browser in (ward, ward.coordinator):
        assert VIEW in browser.client.get("/cohort/views").text
    answer = {"session": session, "code": "N-104", "item": item}
    assert ward.form("/cohort/views", **answer, answer="Right: put in.").status_code == 303
    assert "Right: put in." in own.client.get(address).text
    assert ward.form("/cohort/views", **answer, answer="").status_code == 303
    assert "Read and noted" in own.client.get(address).text
    assert own.form(address, item="no-such-item", words=VIEW).status_code == 400
    assert ward.form("/cohort/views", **{**answer, "item": "x"}, answer="").status_code == 404


def test_nobody_else_writes_or_reads_them(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held()
    address = f"/cohort/people/N-104/words/{session}"
    for browser in (ward, ward.coordinator, ward.trainee("M-021")):
        assert browser.client.get(address).status_code == 403
        assert browser.form(address, along=ALONG).status_code == 403
    assert of_session(ward.hub.store, session) == ()
    stranger = ward.trainee("N-117")
    assert stranger.client.get(f"/cohort/people/N-117/words/{session}").status_code == 404
    assert stranger.client.get("/cohort/views").status_code == 403


def test_they_are_in_the_persons_file_and_go_with_the_person(ward: Ward, tmp_path: Path) -> None:
    ward.import_roster()
    session = ward.held()
    own = ward.trainee("N-104")
    address = f"/cohort/people/N-104/words/{session}"
    own.form(address, along=ALONG)
    own.form(address, item=first_item(ward, session), words=VIEW)
    texts = own.client.get("/cohort/people/N-104/data").json()["own words"]
    assert {text["words"] for text in texts} == {ALONG, VIEW}
    assert all("code" not in text for text in texts)
    done = erase(ward.hub.store, "N-104", wall=WALL)
    assert done.removed["own words"] == 2
    assert of_session(ward.hub.store, session) == ()


def test_the_personal_debrief_shows_the_goal_what_is_taken_along_and_the_other_view(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.plan(**TEAM)
    ward.form(f"/s/{session}/start", acknowledged="yes", **{"goal__N-104": GOAL})
    ward.later(minutes=1)
    ward.end(session)
    own = ward.trainee("N-104")
    address = f"/cohort/people/N-104/words/{session}"
    own.form(address, along=ALONG)
    own.form(address, item=first_item(ward, session), words=VIEW)
    page = f"/cohort/people/N-104/debrief/{session}"
    home, whole = own.client.get(page).text, own.client.get(f"{page}?part=whole").text
    for text in (GOAL, ALONG):
        assert text in home
        assert text in whole
    assert VIEW in whole
