"""A session begun by mistake is put away from the desk, leaves the cohort, and comes back."""

from __future__ import annotations

import time
from html import unescape

import pytest

from tests.coordinator.ward import TEAM, Ward

WHY = "The wrong scenario was opened."


def put_away(ward: Ward, session: str) -> None:
    assert f"/s/{session}/put-away" in ward.first_page()
    answer = ward.form(f"/s/{session}/put-away", reason=f"  {WHY} ")
    assert (answer.status_code, answer.headers.get("location")) == (303, "/"), answer.text


def test_one_that_has_ended_leaves_lists_and_figures_and_comes_back(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held(purpose="summative", unit="birth unit")
    store = ward.hub.store
    outcome = f"/cohort/outcomes/{session}"
    assert [result.session for result in store.results()] == [session]
    assert outcome in ward.coordinator.client.get("/cohort/outcomes").text
    put_away(ward, session)
    ward.results_made()
    assert list(store.results()) == []
    assert outcome not in ward.coordinator.client.get("/cohort/outcomes").text
    assert outcome not in ward.coordinator.client.get("/cohort/people/N-104").text
    assert f"/s/{session}/review" not in ward.first_page()
    away = unescape(ward.client.get("/put-away").text)
    assert WHY in away
    assert f"/s/{session}/review" in away
    assert WHY in unescape(ward.client.get(f"/s/{session}/review").text)
    last = ward.log(session)[-1]
    assert (last["kind"], last["data"]) == ("put_away", {"reason": WHY})
    assert ward.form(f"/s/{session}/bring-back").status_code == 303
    ward.results_made()
    assert [result.session for result in store.results()] == [session]
    assert outcome in ward.coordinator.client.get("/cohort/outcomes").text
    assert f"/s/{session}/review" in ward.first_page()
    assert ward.log(session)[-1]["data"] == {"id": last["id"], "withdrawn": True}
    assert 'href="/put-away"' not in ward.first_page()


def test_one_that_still_runs_is_ended_by_it(ward: Ward) -> None:
    session = ward.start("term-responds", **TEAM)
    assert "is still running" in ward.client.get(f"/s/{session}/put-away").text
    put_away(ward, session)
    assert [line["kind"] for line in ward.log(session)[-2:]] == ["closed", "put_away"]
    assert not ward.hub.any_runs()


def test_one_that_was_never_started_is_put_away_and_brought_back(ward: Ward) -> None:
    session = ward.plan(**TEAM)
    put_away(ward, session)
    assert WHY in unescape(ward.client.get("/put-away").text)
    ward.form(f"/s/{session}/bring-back")
    assert f"/s/{session}/prebrief" in ward.first_page()


def test_with_faults_in_the_cot_it_is_returned_first(ward: Ward) -> None:
    session = ward.start("cot-term")
    answer = ward.form(f"/s/{session}/put-away", reason=WHY)
    assert answer.status_code == 422
    assert "it must be returned to service" in unescape(answer.text)
    assert not ward.hub.running(session).closed


def test_what_was_signed_is_not_put_away(ward: Ward) -> None:
    session = ward.held(purpose="summative")
    assert ward.signed(session).status_code == 303
    answer = ward.form(f"/s/{session}/put-away", reason=WHY)
    assert answer.status_code == 422
    assert "is signed and may be relied on" in unescape(answer.text)


def test_a_reason_is_asked_for(ward: Ward) -> None:
    session = ward.plan()
    answer = ward.form(f"/s/{session}/put-away", reason="  ")
    assert answer.status_code == 422
    assert "why it does not count" in answer.text
    assert ward.form("/s/nothing/put-away", reason=WHY).status_code == 404


def test_the_lists_tell_the_time_of_the_clocks_here(
    ward: Ward, monkeypatch: pytest.MonkeyPatch
) -> None:
    ward.plan(**TEAM)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        # 15 January 2027, 08:00 UTC; UTC+13 there in summer (IANA time zone database)
        page = ward.first_page()
    finally:
        monkeypatch.undo()
        time.tzset()
    assert "15 January 2027, 21:00" in page
    assert "UTC" not in page
