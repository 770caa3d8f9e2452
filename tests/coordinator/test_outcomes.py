"""Outcomes: signed, countersigned, appealed, superseded, in the session's own log."""

from __future__ import annotations

import pytest

from simengine.session import verify_log
from tests.console.consoles import entry
from tests.coordinator.ward import Ward, words_of


@pytest.fixture
def session(ward: Ward) -> str:
    """An assessment that can be signed."""
    ward.import_roster()
    return ward.held(purpose="summative")


def told(ward: Ward, session: str) -> str:
    return words_of(ward.client.get(f"/cohort/outcomes/{session}"))


def test_an_outcome_goes_from_signed_to_countersigned_with_names_and_credentials(
    ward: Ward, session: str
) -> None:
    assert "not signed: proposed: not yet achieved" in told(ward, session)
    assert ward.signed(session, "Greta Educator", outcome="not yet achieved").status_code == 303
    signed = told(ward, session)
    assert "signed: not yet achieved" in signed
    assert "“not yet achieved”, by Greta Educator (registered nurse)" in signed
    again = ward.signed(session, "greta  educator", do="countersign")
    assert again.status_code == 422
    assert "Somebody else countersigns" in words_of(again)
    assert ward.signed(session, "Hugo Chief", do="countersign").status_code == 303
    assert "not yet achieved, countersigned" in told(ward, session)


def test_nobody_signs_their_own_outcome_or_without_a_name(ward: Ward, session: str) -> None:
    own = ward.signed(session, "Ada Example")
    assert own.status_code == 422
    assert "nobody signs their own outcome" in words_of(own)
    assert ward.signed(session, " ").status_code == 422
    assert ward.signed(session, credentials="").status_code == 422
    assert ward.signed(session, outcome="excellent").status_code == 422
    assert ward.signed(session, do="nothing known").status_code == 422
    assert [event["kind"] for event in ward.log(session)].count("signed") == 0


def test_a_trainee_appeals_and_somebody_who_has_not_signed_answers(
    ward: Ward, session: str
) -> None:
    ward.signed(session)
    browser = ward.trainee("N-104")
    page = words_of(browser.client.get(f"/cohort/outcomes/{session}"))
    assert "I see this differently" in page
    assert "M-021" not in page
    assert "Countersign" not in page
    answer = browser.form(f"/cohort/outcomes/{session}", do="appeal", text="I called for help.")
    assert answer.status_code == 303
    assert "under appeal" in told(ward, session)
    assert "Appealed by N-104, awaiting an answer from somebody" in told(ward, session)
    other = words_of(ward.trainee("M-021").client.get(f"/cohort/outcomes/{session}"))
    assert "I called for help" not in other
    assert "Answer the appeal of N-104" in told(ward, session)
    assert ward.signed(session, "Greta Educator", person="N-104").status_code == 422
    assert ward.signed(session, "Hugo Chief", person="N-104").status_code == 303
    assert "Appealed by N-104, answered" in told(ward, session)
    assert "Answer the appeal" not in told(ward, session)


def test_a_trainee_signs_and_supersedes_nothing(ward: Ward, session: str) -> None:
    browser = ward.trainee("N-104")
    for what in ("sign", "countersign", "supersede"):
        answer = browser.form(
            f"/cohort/outcomes/{session}", do=what, name="N", credentials="N", by="x",
            outcome="achieved",
        )  # fmt: skip
        assert answer.status_code == 422
        assert "it is for an educator or the coordinator" in words_of(answer)


def test_a_trainee_leaves_a_remark_at_an_item_before_anything_is_signed(
    ward: Ward, session: str
) -> None:
    item = ward.hub.store.result(session).items[0].id  # type: ignore[union-attr]
    browser = ward.trainee("N-104")
    answer = browser.form(
        f"/cohort/outcomes/{session}", do="appeal", item=item, text="It was done, unseen."
    )
    assert answer.status_code == 303
    assert f"Seen differently On item {item}: It was done, unseen." in told(ward, session)


def test_a_superseded_outcome_stays_to_be_read_and_another_is_signed(
    ward: Ward, session: str
) -> None:
    ward.signed(session)
    assert ward.signed(session, do="supersede", by="").status_code == 422
    assert ward.signed(session, do="supersede", by="signed by mistake").status_code == 303
    page = told(ward, session)
    assert "superseded: achieved" in page
    assert "Superseded signed by mistake" in page
    assert ward.signed(session, outcome="not yet achieved").status_code == 303
    page = told(ward, session)
    assert "signed: not yet achieved" in page
    assert "“achieved”, by Greta Educator" in page


def test_what_was_signed_stands_in_a_log_that_verifies_and_the_console_goes_on_with_it(
    ward: Ward, session: str
) -> None:
    ward.signed(session)
    ward.send(session, entry("note", 0, {"text": "said after the signature"}))
    running = ward.hub.running(session)
    events = ward.hub.store.events(session)
    assert [event.kind for event in events][-2:] == ["signed", "note"]
    assert verify_log(running.scenario, events) is None
    assert running.live is not None
    assert running.live.events == events


def test_a_correction_after_the_signature_stands_beside_it(ward: Ward, session: str) -> None:
    ward.signed(session)
    ward.send(session, entry("action", 0, {"action": "dry", "phase": "done", "role": "airway"}))
    ward.results_made()
    note = next(event["id"] for event in ward.log(session) if event["kind"] == "action")
    ward.send(session, entry("amend", 0, {"id": note, "withdrawn": True, "reason": "not seen"}))
    ward.results_made()
    page = told(ward, session)
    assert "signed: achieved" in page
    assert "the record was corrected after it was signed" in page


@pytest.mark.parametrize(
    ("purpose", "confirmed", "scenario", "why"),
    [
        ("summative", False, "term-not-breathing", "Somebody has to confirm the record first"),
        ("summative", True, "term-vigorous", "The scenario has no recorded standard"),
    ],
)
def test_signing_is_offered_only_where_it_can_be_done(
    ward: Ward, purpose: str, confirmed: bool, scenario: str, why: str
) -> None:
    session = ward.start(scenario, purpose=purpose)
    ward.send(session, entry("closed", 0, {"why": "finished"}))
    if confirmed:
        ward.send(session, entry("confirmed", 0, {}))
    ward.results_made()
    page = told(ward, session)
    assert why in page
    assert "Sign the outcome" not in page
    assert ward.signed(session).status_code == 422


def test_a_learning_session_has_no_outcome_at_all(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held(purpose="formative")
    answer = ward.client.get(f"/cohort/outcomes/{session}")
    assert answer.status_code == 404
    assert "Learning sessions and rehearsals have no outcome" in words_of(answer)
    assert "No assessment here yet" in words_of(ward.client.get("/cohort/outcomes"))


def test_the_list_says_how_each_outcome_stands(ward: Ward, session: str) -> None:
    first = words_of(ward.client.get("/cohort/outcomes"))
    assert "Term newborn who is not breathing ○ not signed proposed: not yet achieved" in first
    ward.signed(session)
    assert "● signed achieved" in words_of(ward.client.get("/cohort/outcomes"))


def test_the_audit_page_goes_from_guideline_to_signature_and_says_what_it_does_not_prove(
    ward: Ward, session: str
) -> None:
    before = words_of(ward.coordinator.client.get("/cohort/people/N-104/audit"))
    assert "No session of this person counts as evidence yet" in before
    assert "no outcome has been signed" in before
    ward.signed(session)
    page = words_of(ward.coordinator.client.get("/cohort/people/N-104/audit"))
    links = ["Guideline", "Protocol file", "Scenario", "Standard", "Pilot", "Observers", "Record"]
    places = [page.index(f" {link} ") for link in (*links, "Signatures")]
    assert places == sorted(places)
    assert "Pass mark 50 %, set by Angoff." in page
    assert "An invented panel of the tests" in page
    assert "signed by Greta Educator" in page
    assert "Unsigned: no local clinician has put a name to its figures" in page
    assert "What this does not prove" in page
    assert "Too few to tell" in page
    log = ward.log(session)
    assert log[-1]["hash"] in page


def test_the_unit_of_a_session_is_set_right_and_what_was_signed_stays(
    ward: Ward, session: str
) -> None:
    ward.signed(session, outcome="not yet achieved")
    before = told(ward, session)
    assert "which is no unit of the roster" in before
    wrong = ward.form(f"/cohort/outcomes/{session}", do="unit", unit="birth units")
    assert wrong.status_code == 422
    assert "Choose a unit of the roster." in words_of(wrong)
    right = ward.form(f"/cohort/outcomes/{session}", do="unit", unit="birth unit")
    assert right.status_code == 303
    after = told(ward, session)
    assert "signed: not yet achieved" in after
    assert "which is no unit of the roster" not in after
    assert "· birth unit" in after
    trainee = ward.trainee("N-104")
    refused = trainee.form(f"/cohort/outcomes/{session}", do="unit", unit="neonatal unit")
    assert refused.status_code == 422
    assert "Correct the unit" not in words_of(trainee.client.get(f"/cohort/outcomes/{session}"))
