"""A retry goes on from a state that a session came to, as all was at that instant."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from simengine.debrief.run_again import is_same_course, run_again
from simengine.session.account import PROGRAM
from simengine.session.chain import FIRST, hash_of
from simengine.session.dynamics import curve_at
from simengine.session.fold import fold
from simengine.session.live import LiveSession, RefusedError
from simengine.session.record import Session, Stay
from simengine.session.retry import LASTS_MS, Retry, log_of_retry, retry_of
from simengine.session.verify import verify_log
from tests import shipped

ID = "0f8fad5b-d9cb-469f-a165-70867728950e"
NOW = datetime(2026, 2, 1, 9, 30, tzinfo=UTC)
FIRST_TRY = "term-not-breathing-first-try"


def again(first: Session, stay: Stay, lasts_ms: int = LASTS_MS) -> LiveSession:
    """A retry of ``first`` from the entry of ``stay``, under way."""
    retry = Retry(first.session_id, stay.state, stay.entry_ms, lasts_ms)
    log = log_of_retry(first.events, first.events[stay.seq], retry, session=ID, now=NOW)
    return LiveSession(first.scenario, log)


def act_as_before(live: LiveSession, first: Session, after: int) -> None:
    """Enter what people entered in the first session after an event, at the same times."""
    for event in first.events[after + 1 :]:
        if event.by != PROGRAM and not live.closed:
            live.run(event.noted_ms - 1)
            try:
                live.record(
                    event.kind,
                    event.data,
                    at_ms=event.at_ms,
                    noted_ms=event.noted_ms,
                    by=event.by,
                    id=event.id,
                )
            except RefusedError:
                assert live.closed, event
    if not live.closed:
        live.run(first.end_ms + LASTS_MS)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_the_same_acts_give_the_same_course_to_the_last_digit(name: str) -> None:
    first = shipped.session(name)
    states = first.scenario.states
    if not first.stays or first.scenario.returns_cot:
        return  # in a retry, as in any rehearsal, the end waits for no cot
    for stay in [stay for stay in first.stays[1:] if not states[stay.state].ends][:3]:
        live = again(first, stay, lasts_ms=10 * first.end_ms)
        act_as_before(live, first, stay.seq)
        assert is_same_course(first, live.session()), stay


def test_it_ends_by_itself_after_three_minutes_of_scenario_time_and_verifies() -> None:
    first = shipped.session(FIRST_TRY)
    stay = first.stays[1]
    live = again(first, stay)
    act_as_before(live, first, stay.seq)
    session = live.session()
    assert session.closed == "finished"
    assert session.end_ms == stay.entry_ms + LASTS_MS
    assert verify_log(first.scenario, live.events) is None
    # until then the infant went the very way of the first time
    for at_ms in range(stay.entry_ms, session.end_ms, 1_000):
        rates = [curve_at(each.curves["heart_rate"], at_ms) for each in (first, session)]
        assert rates[0] == rates[1]


def test_a_hold_does_not_keep_it_from_ending_and_a_pause_does() -> None:
    first = shipped.session(FIRST_TRY)
    stay = first.stays[1]
    live = again(first, stay)
    begun = live.fold.noted_ms
    live.record("hold", {}, noted_ms=begun + 1_000, by="greta")
    live.record("pause", {}, noted_ms=begun + 10_000, by="greta")
    live.advance(begun + 400_000)
    assert live.session().closed is None
    live.record("resume", {}, noted_ms=begun + 400_000, by="greta")
    live.advance(begun + 400_000 + LASTS_MS)
    assert live.session().closed == "finished"
    assert live.session().end_ms == stay.entry_ms + LASTS_MS


def test_settings_and_lasting_actions_are_as_they_were_at_that_instant() -> None:
    first = shipped.session(FIRST_TRY)
    stay = first.stays[2]
    live = again(first, stay)
    before = LiveSession(first.scenario, first.events[: stay.seq + 1])
    assert dict(live.fold.account.values) == dict(before.fold.account.values)
    assert dict(live.fold.account.running) == dict(before.fold.account.running)
    assert live.fold.account.running, "something lasts, or the test tells nothing"


def test_it_is_marked_for_good_and_is_a_rehearsal() -> None:
    first = shipped.session(FIRST_TRY)
    stay = first.stays[1]
    live = again(first, stay)
    session = live.session()
    assert session.purpose == "rehearsal"
    assert session.session_id == ID
    assert retry_of(session.events[0]) == Retry(
        first.session_id, stay.state, stay.entry_ms, LASTS_MS
    )
    assert not live.fold.must_return
    with pytest.raises(RefusedError, match="a fact"):
        live.record(
            "amend",
            {"id": live.events[0].id, "fields": {"data": {"retry": None}}},
            noted_ms=live.fold.noted_ms,
            by="greta",
        )


def test_the_log_is_a_whole_chain_that_begins_as_of_its_own_start() -> None:
    first = shipped.session(FIRST_TRY)
    stay = first.stays[1]
    events = again(first, stay).events
    prev = FIRST
    for event in events:
        assert event.prev == prev
        prev = event.hash
        assert hash_of(event) == event.hash
    assert datetime.fromisoformat(events[-1].wall) == NOW
    assert fold(first.scenario, events).stays[-1].state == stay.state


def test_asked_what_if_a_retry_runs_again_to_its_own_end() -> None:
    first = shipped.session(FIRST_TRY)
    stay = first.stays[1]
    live = again(first, stay)
    act_as_before(live, first, stay.seq)
    session = live.session()
    other = run_again(session)
    assert other is not None
    assert is_same_course(session, other)
