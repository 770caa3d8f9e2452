"""A trainee's own pages: opened by a code, kept to that trainee, and who read them is told."""

from __future__ import annotations

import json
import re
import time
from html import unescape
from pathlib import Path

import pytest
from sqlalchemy import delete

from simengine.store.tables import fault_results, item_results, results, takings
from simengine.web.shelf import Shelf
from tests.console.consoles import ODD_IDS, Browser, entry, token_in
from tests.coordinator.ward import TEAM, Ward, words_of


@pytest.fixture
def code(ward: Ward) -> str:
    """A code that opens the pages of N-104."""
    ward.import_roster()
    made = ward.form("/cohort/code", trainee="N-104")
    match = re.search(r'<p class="code">([^<]+)</p>', made.text)
    assert match is not None
    return match.group(1)


def test_an_educator_makes_a_code_that_opens_one_trainees_pages_once(ward: Ward, code: str) -> None:
    first, second = ward.another(), ward.another()
    for browser in (first, second):
        browser.token = token_in(browser.client.get("/join").text)
    answer = first.form("/join", who="trainee", code=f" {code[:4].lower()}-{code[4:]} ")
    assert answer.headers["location"] == "/cohort/people/N-104"
    assert first.client.get("/cohort/people/N-104").status_code == 200
    assert first.client.get("/cohort/people/M-021").status_code == 403
    assert first.client.get("/", follow_redirects=False).headers["location"] == (
        "/cohort/people/N-104"
    )
    again = second.form("/join", who="trainee", code=code)
    assert again.status_code == 422
    assert "This code opens nothing" in again.text
    assert second.client.get("/cohort/people/N-104").status_code == 403


@pytest.mark.parametrize("who", ["display", "observer"])
def test_a_trainees_code_opens_the_trainees_pages_whatever_is_chosen(
    ward: Ward, code: str, who: str
) -> None:
    browser = ward.another()
    browser.token = token_in(browser.client.get("/join").text)
    answer = browser.form("/join", who=who, code=code)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/cohort/people/N-104"


def test_a_code_ends_after_a_quarter_of_an_hour_and_the_pages_after_two_hours(
    ward: Ward, code: str
) -> None:
    late = ward.another()
    late.token = token_in(late.client.get("/join").text)
    ward.later(minutes=15)
    assert late.form("/join", who="trainee", code=code).status_code == 422
    browser = ward.trainee("N-104")
    ward.later(minutes=119)
    assert browser.client.get("/cohort/people/N-104").status_code == 200
    ward.later(minutes=1)
    assert browser.client.get("/cohort/people/N-104").status_code == 403


def test_a_new_code_ends_the_one_before(ward: Ward, code: str) -> None:
    ward.form("/cohort/code", trainee="N-104")
    browser = ward.another()
    browser.token = token_in(browser.client.get("/join").text)
    assert browser.form("/join", who="trainee", code=code).status_code == 422


def test_a_trainee_closes_their_pages(ward: Ward) -> None:
    ward.import_roster()
    browser = ward.trainee("N-104")
    assert browser.form("/leave").headers["location"] == "/join"
    assert browser.client.get("/cohort/people/N-104").status_code == 403


def test_an_educators_browser_does_not_turn_into_a_trainees(ward: Ward, code: str) -> None:
    answer = ward.form("/join", who="trainee", code=code)
    assert answer.status_code == 422
    assert "in another browser, or in a private window" in answer.text
    assert ward.client.get("/cohort/people/N-104").status_code == 403


def test_a_code_is_made_for_nobody_who_is_not_known(ward: Ward) -> None:
    ward.import_roster()
    answer = ward.form("/cohort/code", trainee="N-999")
    assert answer.status_code == 422
    assert "Nobody has the code" in answer.text
    assert 'class="code"' not in answer.text


def test_the_trainee_and_the_coordinator_see_the_same_in_other_words(ward: Ward) -> None:
    ward.import_roster()
    ward.held(purpose="summative")
    own = words_of(ward.trainee("N-104").client.get("/cohort/people/N-104"))
    coordinators = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    assert "Your own page" in own
    assert "What is due for you" in own
    assert "I see this differently" in own
    assert "Erase this person" not in own
    assert "Ada Example" not in own, "names are for the coordinator"
    assert "Ada Example" in coordinators
    for words in (own, coordinators):
        assert "Term newborn who is not breathing assessment airway record confirmed" in words
        assert "Who can read this page: this trainee" in words


def test_every_reading_is_written_down_and_the_trainee_sees_by_whom(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held(purpose="summative")
    ward.coordinator.client.get("/cohort/people/N-104")
    ward.client.get(f"/s/{session}/review.json")
    ward.client.get(f"/cohort/outcomes/{session}")
    ward.coordinator.client.get("/cohort/people/M-021")
    browser = ward.trainee("N-104")
    words = words_of(browser.client.get("/cohort/people/N-104")).partition("Who read your record")[
        2
    ]
    for read in (
        "the coordinator (p-",
        "page of one person",
        "an educator (p-",
        "review of a session",
        "outcome of a session",
        "yourself page of one person twice",
    ):
        assert read in words, read
    log = words_of(ward.coordinator.client.get("/cohort/access"))
    assert "page of one person M-021" in log
    some = words_of(ward.coordinator.client.get("/cohort/access?whom=M-021&role=coordinator"))
    assert "page of one person M-021" in some
    assert "page of one person N-104" not in some


def test_a_reading_that_was_refused_shows_nothing_and_is_no_reading(ward: Ward) -> None:
    ward.import_roster()
    ward.trainee("N-104").client.get("/cohort/people/M-021")
    assert "page of one person M-021" not in words_of(ward.coordinator.client.get("/cohort/access"))


def test_a_person_takes_their_data_away_as_a_file(ward: Ward) -> None:
    ward.import_roster()
    ward.held(purpose="summative")
    answer = ward.trainee("N-104").client.get("/cohort/people/N-104/data")
    assert answer.headers["content-disposition"] == 'attachment; filename="N-104.json"'
    record = json.loads(answer.content)
    assert record["code"] == "N-104"
    assert len(record["sessions"]) == 1
    assert "M-021" not in answer.text
    assert "D-009" not in answer.text


def test_a_personal_debrief_is_of_a_session_that_the_person_took_part_in(ward: Ward) -> None:
    ward.import_roster()
    session = ward.start(**TEAM)
    ward.send(session, entry("event", 0, {"name": "birth"}))
    for at_s, action, role in ((10, "dry", "airway"), (20, "clamp_cord", "circulation")):
        data = {"action": action, "phase": "done", "role": role}
        ward.clock.at_ms += 15_000  # type: ignore[attr-defined]
        ward.send(session, entry("action", at_s * 1000, data))
    ward.later(minutes=3)
    ward.end(session)
    assert (
        ward.trainee("N-117").client.get(f"/cohort/people/N-117/debrief/{session}").status_code
        == 404
    )
    browser = ward.trainee("N-104")
    answer = browser.client.get(f"/cohort/people/N-104/debrief/{session}")
    assert answer.status_code == 200, answer.text[:500]
    assert "Your debrief" in answer.text
    for colleague in ("M-021", "D-009"):
        assert colleague not in answer.text
    whole = words_of(browser.client.get(f"/cohort/people/N-104/debrief/{session}?part=whole"))
    own, others = asked_of(ward, session, "N-104"), asked_of(ward, session, "M-021")
    assert own, "something was asked of the learner's role, or this tells nothing"
    assert others
    role_part = whole.partition("What your role was there to do")[2].partition("About this page")[0]
    for title in own:
        assert title in role_part, title
    for title in others - own:
        assert title not in role_part, title
    assert "unsafe" not in answer.headers["content-security-policy"]


def test_a_person_asks_what_if_of_their_own_late_steps_and_of_nobody_elses(ward: Ward) -> None:
    ward.import_roster()
    session = ward.start(**TEAM)
    ward.send(session, entry("event", 0, {"name": "birth"}))
    for at_s, action, role in ((75, "dry", "airway"), (170, "clamp_cord", "circulation")):
        data = {"action": action, "phase": "done", "role": role}
        ward.clock.at_ms += 90_000  # type: ignore[attr-defined]
        ward.send(session, entry("action", at_s * 1000, data))
    ward.end(session)
    own = f"/cohort/people/N-104/debrief/{session}"
    learner = ward.trainee("N-104").client
    assert f'href="{session}/what-if?item=expect%3Adry"' in learner.get(f"{own}?part=whole").text
    shown = words_of(learner.get(f"{own}/what-if"))
    assert "Drying the baby: what if I had done this by 0:30?" in shown
    assert "cord" not in shown.lower()
    drying = words_of(learner.get(f"{own}/what-if", params={"item": "expect:dry"}))
    assert "In this scenario, drying the baby by 0:30 would have" in drying
    cord = words_of(learner.get(f"{own}/what-if", params={"item": "expect:clamp_cord"}))
    assert "Nothing to ask here" in cord
    kept = set((ward.data / "debriefs").glob("**/what-if/*"))
    assert kept
    for item in ODD_IDS:
        odd = learner.get(f"{own}/what-if", params={"item": item})
        assert odd.status_code == 404, item
        assert "Nothing to ask here" in words_of(odd)
    assert set((ward.data / "debriefs").glob("**/what-if/*")) == kept
    for code in ("M-021", "D-009"):
        assert code not in shown + drying + cord
        colleague = ward.trainee(code).client
        assert colleague.get(f"{own}/what-if").status_code == 403
    assert ward.client.get(f"{own}/what-if").status_code == 403, "it is the learner's alone"
    assert ward.trainee("N-104").form(own, do="share").status_code == 303
    assert ward.client.get(f"{own}/what-if").status_code == 200


def asked_of(ward: Ward, session: str, *codes: str) -> set[str]:
    """The titles of what was asked of some people alone, by the session's result."""
    result = ward.hub.store.result(session)
    assert result is not None
    return {item.title for item in result.items if item.person in codes and item.applied}


def test_the_trend_is_drawn_from_several_sessions_and_told_in_words(ward: Ward) -> None:
    ward.import_roster()
    ward.held()
    own = ward.trainee("N-104").client
    assert "Over several sessions" not in words_of(own.get("/cohort/people/N-104"))
    ward.held()
    page = own.get("/cohort/people/N-104").text
    assert "Team and own share in each session, in order of time" in page
    picture = own.get("/cohort/people/N-104/trend.svg")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert b"<svg" in picture.content


def test_a_debrief_leads_its_learner_to_the_sessions_over_time_once_there_are_several(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.held()
    own, address = ward.trainee("N-104"), f"/cohort/people/N-104/debrief/{session}"
    link = '<a href="/cohort/people/N-104#trend-title">My sessions over time</a>'
    assert link not in own.client.get(address).text
    ward.held()
    assert link in own.client.get(address).text
    assert 'id="trend-title"' in own.client.get("/cohort/people/N-104").text
    own.form(address, do="share")
    assert "over time" not in ward.client.get(address).text, "figures are the learner's"


def test_days_of_reading_are_those_of_the_calendar_here(
    ward: Ward, monkeypatch: pytest.MonkeyPatch
) -> None:
    ward.import_roster()
    ward.held(purpose="summative")
    # 15 January 2027, 08:00 UTC: still the 14th in Honolulu, UTC-10 (IANA time zone database)
    monkeypatch.setenv("TZ", "Pacific/Honolulu")
    time.tzset()
    try:
        ward.coordinator.client.get("/cohort/people/N-104")
        page = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    finally:
        monkeypatch.undo()
        time.tzset()
    reads = page.partition("Who read this record")[2]
    assert "14 January 2027" in reads
    assert "15 January" not in reads
    assert "UTC" not in page


def test_the_coordinator_sees_figures_of_assessments_alone(ward: Ward) -> None:
    ward.import_roster()
    ward.held()
    ward.held()
    page = "/cohort/people/N-104"
    assert "Over several sessions" not in words_of(ward.coordinator.client.get(page))
    ward.held(purpose="summative")
    ward.held(purpose="summative")
    page_text = ward.coordinator.client.get(page).text
    assert page_text.count("Term newborn who is not breathing: team") == 2


def test_a_debrief_of_a_session_for_learning_opens_for_the_learner_alone(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held()
    address = f"/cohort/people/N-104/debrief/{session}"
    for browser in (ward, ward.coordinator):
        for what in (address, f"{address}.pdf"):
            answer = browser.client.get(what)
            assert answer.status_code == 403
            assert "opens for the learner alone" in words_of(answer)
    colleague = ward.trainee("M-021")
    assert colleague.client.get(address).status_code == 403
    assert colleague.form(address, do="share").status_code == 403
    assert ward.coordinator.form(address, do="share").status_code == 403
    page = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    assert "for the learner alone" in page


def test_a_learner_shares_a_debrief_and_takes_it_back(ward: Ward) -> None:
    ward.import_roster()
    session = ward.held()
    address = f"/cohort/people/N-104/debrief/{session}"
    own = ward.trainee("N-104")
    assert "Your personal debrief of a session for learning opens for you alone until you" in (
        words_of(own.client.get("/cohort/people/N-104"))
    )
    assert own.form(address, do="share").status_code == 303
    assert "shared since" in words_of(own.client.get("/cohort/people/N-104"))
    for browser in (ward, ward.coordinator):
        assert address in browser.client.get("/cohort/shared").text
        assert browser.client.get(address).status_code == 200
    assert (
        "personal debrief"
        in words_of(own.client.get("/cohort/people/N-104")).partition("Who read your record")[2]
    )
    assert own.form(address, do="take-back").status_code == 303
    for browser in (ward, ward.coordinator):
        assert address not in browser.client.get("/cohort/shared").text
        assert browser.client.get(address).status_code == 403
    record = own.client.get("/cohort/people/N-104/data").json()
    assert record["shares the debriefs of"] == {}


def link(page: str, words: str) -> str:
    """Where the first link of these words leads."""
    match = re.search(rf'<a[^>]* href="([^"]+)"[^>]*>(?:← )?{words}</a>', unescape(page))
    assert match is not None, words
    return match.group(1)


def opened(browser: Browser, address: str) -> str:
    answer = browser.client.get(address)
    assert answer.status_code == 200, address
    return answer.text


def test_from_matrix_to_person_to_session_to_debrief_and_back_to_the_matrix(ward: Ward) -> None:
    ward.import_roster()
    ward.held(purpose="summative")
    matrix = opened(ward.coordinator, "/cohort/matrix")
    person = opened(ward.coordinator, link(matrix, "Ada Example"))
    assert "Sessions and outcomes" in person
    debrief = opened(ward.coordinator, link(person, "Read"))
    assert "Your debrief" in debrief
    whole = opened(ward.coordinator, link(person, "In full"))
    for page in (debrief, whole):
        assert link(page, "The person's page") == "/cohort/people/N-104"
    assert ward.coordinator.client.get(link(person, "PDF")).content.startswith(b"%PDF")
    back = opened(ward.coordinator, link(debrief, "The person's page"))
    assert link(back, "People and objectives").startswith("/cohort/matrix")


def test_a_debrief_of_a_session_for_learning_says_who_opens_it_and_leads_each_back(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.held()
    address = f"/cohort/people/N-104/debrief/{session}"
    closed = opened(ward.coordinator, "/cohort/people/N-104")
    assert address not in closed
    assert "for the learner alone" in closed
    assert "Who may open a personal debrief: of a session for learning the learner alone" in closed
    own = ward.trainee("N-104")
    mine = opened(own, "/cohort/people/N-104")
    assert "opens for you alone until you share it" in mine
    assert link(mine, "Read") == address
    assert link(opened(own, address), "My page") == "/cohort/people/N-104"
    own.form(address, do="share")
    shared = opened(ward.coordinator, "/cohort/people/N-104")
    assert link(shared, "Read") == address
    assert link(opened(ward.coordinator, address), "The person's page") == ("/cohort/people/N-104")
    assert address in opened(ward, "/cohort/shared")
    assert link(opened(ward, address), "Shared debriefs") == "/cohort/shared"


def test_a_debrief_of_an_assessment_opens_for_the_coordinator_too_and_is_not_shared(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.held(purpose="summative")
    address = f"/cohort/people/N-104/debrief/{session}"
    assert ward.coordinator.client.get(address).status_code == 200
    assert ward.client.get(address).status_code == 403
    assert ">Share</button>" not in ward.trainee("N-104").client.get("/cohort/people/N-104").text


def test_a_code_that_nobody_has_is_told_to_the_coordinator(ward: Ward) -> None:
    for address in ("", "/audit", "/data", "/erase"):
        answer = ward.coordinator.client.get(f"/cohort/people/N-999{address}")
        assert answer.status_code == 404, address


def test_who_stands_in_a_list_is_read_too(ward: Ward) -> None:
    ward.import_roster()
    for address in ("/cohort?profession=midwife", "/cohort/matrix?profession=midwife"):
        ward.coordinator.client.get(address)
    log = words_of(ward.coordinator.client.get("/cohort/access"))
    assert "list of who is due M-021" in log
    assert "list of people and objectives M-021" in log
    assert "list of who is due N-104" not in log


def test_a_result_that_the_server_was_ended_before_is_made_when_it_starts_again(
    tmp_path: Path, shelf: Shelf
) -> None:
    first = Ward(tmp_path, shelf)
    with first.client:
        session = first.begin().held()
        with first.hub.store.begin() as connection:
            for table in (item_results, fault_results, takings, results):
                connection.execute(delete(table))
        assert first.hub.store.result(session) is None
    again = Ward(tmp_path, shelf)
    with again.client:
        again.late_results_made()
        assert again.hub.store.result(session) is not None
