"""Erasing a person from the pages: told first, typed to mean it, and then gone."""

from __future__ import annotations

import pytest

from simengine.session import verify_log
from simengine.store import people
from simengine.store.settings import RETENTION_MONTHS, SESSION_MONTHS, setting
from tests.console.consoles import entry
from tests.coordinator.ward import Ward, words_of


def test_a_person_is_erased_once_their_code_is_typed_and_the_figures_stay(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held(purpose="summative")
    ward.signed(session)
    browser = ward.trainee("N-104")
    assert browser.client.get(f"/cohort/people/N-104/debrief/{session}").status_code == 200
    page = words_of(ward.coordinator.client.get("/cohort/people/N-104/erase"))
    assert "What goes" in page
    assert "What stays" in page
    assert "the records of 1 session," in page
    wrong = ward.coordinator.form("/cohort/people/N-104/erase", typed="N-10")
    assert wrong.status_code == 422
    assert "Nothing was erased" in words_of(wrong)
    total = ward.hub.store.result(session).total  # type: ignore[union-attr]
    done = ward.coordinator.form("/cohort/people/N-104/erase", typed="N-104")
    assert done.status_code == 200, words_of(done)
    assert "N-104 has been erased" in words_of(done)
    for address in ("/cohort", "/cohort/matrix", "/cohort/access", f"/cohort/outcomes/{session}"):
        text = ward.coordinator.client.get(address).text
        assert "N-104" not in text, address
        assert "Ada Example" not in text, address
    assert browser.client.get("/cohort/people/N-104").status_code == 404
    assert browser.client.get(f"/cohort/people/N-104/debrief/{session}").status_code == 404
    assert not list((ward.data / "debriefs").rglob("*N-104*"))
    assert ward.hub.store.result(session).total == total  # type: ignore[union-attr]
    running = ward.hub.running(session)
    assert "N-104" not in str(running.plan)
    assert verify_log(running.scenario, ward.hub.store.events(session)) is None
    assert {trainee.code for trainee in people.roster(ward.hub.store).trainees} == {
        "M-021", "D-009", "N-117",
    }  # fmt: skip


def test_nobody_is_erased_while_a_session_runs(ward: Ward) -> None:
    ward.import_roster()
    session = ward.start(role__airway="N-117")
    answer = ward.coordinator.form("/cohort/people/N-104/erase", typed="N-104")
    assert answer.status_code == 422
    assert "a session is running" in words_of(answer)
    ward.send(session, entry("closed", 0, {"why": "finished"}))
    assert ward.coordinator.form("/cohort/people/N-104/erase", typed="N-104").status_code == 200


def test_a_code_that_was_handed_out_opens_nothing_once_the_person_is_erased(ward: Ward) -> None:
    ward.import_roster()
    ticket = ward.app.state.web.tickets.make("N-104", ward.clock.now_ms())
    ward.coordinator.form("/cohort/people/N-104/erase", typed="N-104")
    assert ward.app.state.web.tickets.spend(ticket, ward.clock.now_ms()) is None


def test_who_is_past_the_time_that_records_are_kept_is_listed_and_nobody_erased(
    ward: Ward,
) -> None:
    ward.import_roster(
        "code,name,profession,unit,since,until\n"
        "N-104,Ada Example,nurse,birth unit,2020-03-01,2024-06-30\n"
        "M-021,Ben Example,midwife,birth unit,2020-03-01,2026-12-31\n"
        "D-009,Cleo Example,doctor,birth unit,2020-03-01,\n"
    )
    assert "Past this time" not in words_of(ward.coordinator.client.get("/cohort/settings"))
    answer = ward.coordinator.form("/cohort/settings", retention_months="24")
    assert answer.status_code == 303
    page = words_of(ward.coordinator.client.get(answer.headers["location"]))
    assert "Kept." in page
    assert "Ada Example (N-104), last day 30 June 2024: erase" in page
    assert "Ben Example" not in page
    assert len(people.roster(ward.hub.store).trainees) == 3


@pytest.mark.parametrize("typed", ["two years", "0", "-3", "1e3", "601", "٣"])
def test_what_is_no_number_of_months_is_refused_in_words(ward: Ward, typed: str) -> None:
    ward.coordinator.form("/cohort/settings", retention_months="36")
    answer = ward.coordinator.form("/cohort/settings", retention_months=typed)
    assert answer.status_code == 422
    assert "expected whole months from 1 to 600" in words_of(answer)
    assert setting(ward.hub.store, RETENTION_MONTHS) == 36
    ward.coordinator.form("/cohort/settings", retention_months="", session_months="120")
    assert setting(ward.hub.store, RETENTION_MONTHS) is None
    assert setting(ward.hub.store, SESSION_MONTHS) == 120
