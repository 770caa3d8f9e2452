"""The unit: latent safety threats, how observers agree, and the report's four questions."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

from simengine.cohort.records import SessionResult
from simengine.store.threats import threats
from tests.cohort.made import FIRST_DAY, fault, item, result
from tests.coordinator.ward import Ward, words_of

THREATS = "/cohort/threats"


def test_what_a_session_met_by_chance_is_proposed_and_taken_up_once(ward: Ward) -> None:
    ward.keep(result(1, item(), faults=(fault("probe", planted=False, title="probe is broken"),)))
    page = ward.client.get(THREATS).text
    assert "probe is broken" in page
    (session,) = re.findall(r'name="session" value="([^"]+)"', page)
    taken = {"session": session, "source": "probe", "category": "equipment"}
    assert ward.form(THREATS, **taken).status_code == 303
    again = ward.form(THREATS, **taken)
    assert again.status_code == 422
    assert "It has been taken up already" in words_of(again)
    (threat,) = threats(ward.hub.store)
    assert (threat.words, threat.unit, threat.session) == ("probe is broken", "Birth unit", session)
    assert "Met in sessions" not in words_of(ward.client.get(THREATS))


def test_a_threat_gets_an_owner_and_a_day_is_late_closed_and_opened_again(ward: Ward) -> None:
    ward.import_roster()
    answer = ward.coordinator.form(
        THREATS, words="The second gas key is elsewhere", category="systems", unit="birth unit"
    )
    (threat,) = threats(ward.hub.store)
    assert answer.headers["location"] == f"{THREATS}#t-{threat.id}"
    own = f"{THREATS}/{threat.id}"
    assert "◆ open" in words_of(ward.client.get(THREATS))
    ward.form(own, do="assign", owner="charge nurse", due="2027-01-20")
    assert "owner charge nurse · due 20 January 2027" in words_of(ward.client.get(THREATS))
    ward.later(days=6)
    assert "▼ past its day" in words_of(ward.client.get(THREATS))
    assert ward.form(own, do="close", closing=" ").status_code == 422
    ward.form(own, do="close", closing="A key hangs at every cot.")
    page = words_of(ward.client.get(f"{THREATS}?standing=closed"))
    assert "Closed on 21 January 2027: A key hangs at every cot." in page
    assert "No threats here" in words_of(ward.client.get(f"{THREATS}?standing=open"))
    ward.form(own, do="reopen")
    assert "past its day" in words_of(ward.client.get(f"{THREATS}?standing=open"))


def test_a_threat_without_words_or_with_a_day_that_is_none_is_refused_and_stays_typed(
    ward: Ward,
) -> None:
    answer = ward.form(THREATS, words="", category="drugs", due="soon", owner="pharmacy")
    assert answer.status_code == 422
    words = words_of(answer)
    assert "Say what was found." in words
    assert "expected a day such as 2026-03-01, found &#39;soon&#39;" in words
    assert 'value="pharmacy"' in answer.text
    assert ward.form(THREATS, words="x", category="ghosts").status_code == 422
    assert ward.form(f"{THREATS}/nothing", do="reopen").status_code == 404
    assert threats(ward.hub.store) == ()


def twice(number: int, *, same: bool) -> tuple[SessionResult, SessionResult]:
    """One session as two observers recorded it."""
    first = result(number, item(), item("call", 1.0), by=("first",), team={"airway": ("A1",)})
    verdict = "on time" if same else "late"
    other = replace(
        first,
        session=f"{first.session}-again",
        wall=first.wall.replace("09:00:00", "09:00:03"),
        by=("second",),
        items=(replace(first.items[0], verdict=verdict, time_s=33.0), first.items[1]),
    )
    return first, other


def test_few_sessions_with_two_records_are_called_few(ward: Ward) -> None:
    assert "None yet" in words_of(ward.client.get("/cohort/agreement"))
    for record in twice(1, same=False):
        ward.keep(record)
    words = words_of(ward.client.get("/cohort/agreement"))
    assert "1 session with two records: too few to tell how far observers agree" in words
    assert "Same verdict for a step 1 of 2 steps" in words
    assert "too few to tell" in words


def test_agreement_over_several_sessions_has_intervals_and_what_it_rests_on(ward: Ward) -> None:
    for number in range(8):
        for record in twice(number, same=number % 2 == 0):
            ward.keep(record)
    words = words_of(ward.client.get("/cohort/agreement"))
    assert "8 were recorded twice" in words
    assert "Same verdict for a step 12 of 16 (" in words
    assert "Times, limits of agreement" in words
    assert re.search(r"Verdicts, Cohen&#39;s kappa −?\d\.\d\d", words)


def test_two_logs_of_one_session_stand_side_by_side(ward: Ward) -> None:
    first, second = ward.held(), ward.held()
    kept = ward.hub.store.result(second)
    assert kept is not None
    # the second one as another observer's console would have recorded it
    ward.hub.store.put_result(replace(kept, by=("another",)), {})
    words = words_of(ward.client.get(f"/cohort/agreement/{first}/{second}"))
    assert "Side by side: Term newborn who is not breathing" in words
    assert "One session shows where two people differ" in words
    assert ward.client.get(f"/cohort/agreement/{first}/{first}").status_code == 404
    assert "two records side by side" in words_of(
        ward.coordinator.client.get("/cohort/access?whom=N-104")
    )


def test_the_report_is_made_on_demand_and_answers_the_four_questions(ward: Ward) -> None:
    ward.import_roster()
    for number in range(3):
        ward.keep(result(number, item(), team={"airway": ("N-104",)}))
    page = "/cohort/figures"
    assert "No report of this unit and period has been made yet" in words_of(ward.client.get(page))
    days = {"since": FIRST_DAY.isoformat(), "until": (FIRST_DAY + timedelta(days=9)).isoformat()}
    for browser, codes in ((ward, False), (ward.coordinator, True)):
        answer = browser.form(page, unit="", **days)
        assert answer.status_code == 303
        ward.reports_made()
        shown = browser.client.get(answer.headers["location"])
        words = words_of(shown)
        for question in ("Who is current", "hardest", "better", "prove"):
            assert question.lower() in words.lower(), (question, words)
        assert ("It holds trainee codes" in words) == codes
        files = re.findall(r'(?:href|src)="(/cohort/figures/[^"]+)"', shown.text)
        assert len(files) >= 2
        kinds = {
            browser.client.get(file).headers["content-type"].partition(";")[0] for file in files
        }
        pictures = {"image/svg+xml"} if codes else set()  # few people: none for others to see
        assert kinds == {"text/html", "application/pdf"} | pictures
    (own,) = [file for file in files if file.endswith(".html")]
    assert ward.client.get(own).status_code == 403, "an educator gets no report with codes"


def test_a_period_that_is_none_is_refused_in_words(ward: Ward) -> None:
    answer = ward.form("/cohort/figures", since="2026-05-01", until="2026-04-01")
    assert answer.status_code == 422
    assert "expected a day not after 2026-04-01" in words_of(answer)
    answer = ward.form("/cohort/figures", since="yesterday")
    assert "expected a day such as 2026-03-01" in words_of(answer)
    assert ward.client.get("/cohort/figures/..%2f..%2fcookie.key/made.json").status_code == 404
    assert ward.client.get(f"/cohort/figures/{'0' * 24}/made.json").status_code == 404
