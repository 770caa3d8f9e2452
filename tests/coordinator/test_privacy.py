"""One page tells the privacy officer what is kept until when, who agreed, and who read."""

from __future__ import annotations

from simengine.store.settings import RETENTION_MONTHS, SESSION_MONTHS, set_setting
from tests.coordinator.ward import Ward, words_of


def test_the_page_tells_what_is_kept_who_agreed_and_who_read(ward: Ward) -> None:
    ward.import_roster()
    ward.held()
    planned = ward.plan()
    before = words_of(ward.coordinator.client.get("/cohort/privacy"))
    assert before.count("until somebody erases it, since no time has been set") == 2
    assert "not confirmed in the record" not in before
    assert planned not in before, "a session that was not opened has nobody who agreed"
    set_setting(ward.hub.store, RETENTION_MONTHS, 24)
    set_setting(ward.hub.store, SESSION_MONTHS, 120)
    ward.coordinator.client.get("/cohort/people/N-104")
    words = words_of(ward.coordinator.client.get("/cohort/privacy"))
    assert "24 months after their last day; 0 people are past that now" in words
    assert "120 months after the session was opened" in words
    assert "formative" in words
    assert "the coordinator (p-" in words.partition("Who read what, the latest")[2]
    assert "N-104" in words.partition("Who read what, the latest")[2]


def test_a_session_in_which_nobody_confirmed_it_says_so(ward: Ward) -> None:
    from simengine.session import read_log
    from simengine.store import Planned
    from tests.shipped import log_file

    log = read_log(log_file("term-not-breathing-steady"))
    session = str(log[0].data["session"])
    ward.hub.store.create(Planned(session, "2026-01-01T00:00:00Z", {"title": "By another way"}))
    ward.hub.store.append(session, log)
    words = words_of(ward.coordinator.client.get("/cohort/privacy"))
    assert "By another way" in words
    assert "not confirmed in the record" in words
