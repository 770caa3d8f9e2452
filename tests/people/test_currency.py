"""Who is current on a day. Every day here was worked out by hand on a calendar of 2026."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from simengine.people.currency import Currency, Evidence, Status, currency, to_do
from simengine.people.roster import (
    Certificate,
    Leave,
    Posting,
    Requirement,
    Roster,
    Trainee,
)

NURSE = Trainee("n1", "nurse", (Posting("north", date(2025, 1, 6)),))
EVERY_6 = Requirement("cot", "Prepare the cot", 6, scenarios=("cot-term",), warn_days=60)
DONE = Evidence("n1", "s1", date(2026, 1, 15), "cot-term", ("leader",))


def standing(
    today: date,
    *evidence: Evidence,
    leaves: tuple[Leave, ...] = (),
    certificates: tuple[Certificate, ...] = (),
    trainee: Trainee = NURSE,
    requirement: Requirement = EVERY_6,
) -> Currency:
    roster = Roster((trainee,), (requirement,), leaves, certificates)
    (only,) = currency(roster, evidence, today)
    return only


@pytest.mark.parametrize(
    ("today", "status"),
    [
        (date(2026, 1, 15), "current"),
        (date(2026, 5, 15), "current"),  # 61 days before 15 July
        (date(2026, 5, 16), "due"),  # 60 days before
        (date(2026, 7, 15), "due"),  # the last day counts
        (date(2026, 7, 16), "overdue"),
    ],
)
def test_evidence_holds_for_calendar_months_and_is_due_before_it_runs_out(
    today: date, status: Status
) -> None:
    state = standing(today, DONE)
    assert state.status == status
    assert state.until == date(2026, 7, 15)
    assert state.proof == DONE


def test_evidence_of_31_august_holds_to_the_last_of_february() -> None:
    late = Evidence("n1", "s1", date(2025, 8, 31), "cot-term", ())
    assert standing(date(2026, 2, 28), late).status == "due"
    assert standing(date(2026, 3, 1), late).status == "overdue"


@pytest.mark.parametrize(
    ("first", "last", "until", "days"),
    [
        # all of March: 31 days
        (date(2026, 3, 1), date(2026, 3, 31), date(2026, 8, 15), 31),
        # begins on the last day on which it holds: ten days
        (date(2026, 7, 15), date(2026, 7, 24), date(2026, 7, 25), 10),
        # begins the day after it ran out: nothing
        (date(2026, 7, 16), date(2026, 7, 25), date(2026, 7, 15), 0),
        # was over before: nothing
        (date(2026, 1, 1), date(2026, 1, 15), date(2026, 7, 15), 0),
        # began before, went on for 5 days after
        (date(2026, 1, 10), date(2026, 1, 20), date(2026, 7, 20), 5),
    ],
)
def test_leave_pauses_what_still_held_and_gives_nothing_back_after(
    first: date, last: date, until: date, days: int
) -> None:
    state = standing(date(2026, 12, 1), DONE, leaves=(Leave("n1", first, last),))
    assert (state.until, state.paused_days) == (until, days)


def test_leave_that_overlaps_counts_once_and_leave_in_paused_time_counts_too() -> None:
    leaves = (
        Leave("n1", date(2026, 3, 1), date(2026, 3, 20)),
        Leave("n1", date(2026, 3, 10), date(2026, 3, 31)),  # together 31 days: 15 August
        Leave("n1", date(2026, 8, 1), date(2026, 8, 10)),  # in the days won: 10 more
        Leave("other", date(2026, 4, 1), date(2026, 4, 30)),
    )
    assert standing(date(2026, 4, 1), DONE, leaves=leaves).until == date(2026, 8, 25)


def test_who_is_on_leave_is_neither_due_nor_overdue_and_comes_back_to_what_was_left() -> None:
    away = (Leave("n1", date(2026, 7, 1), date(2026, 9, 30), "parental leave"),)
    during = standing(date(2026, 8, 1), DONE, leaves=away)
    assert during.status == "on leave"
    assert during.back == date(2026, 9, 30)
    # 15 days were left on 30 June, and 15 are left on 30 September
    assert standing(date(2026, 6, 30), DONE, leaves=away).until == date(2026, 10, 15)
    assert standing(date(2026, 10, 15), DONE, leaves=away).status == "due"
    assert standing(date(2026, 10, 16), DONE, leaves=away).status == "overdue"


@pytest.mark.parametrize(
    ("expires", "until"),
    [(date(2026, 10, 1), date(2026, 10, 1)), (None, date(2026, 8, 2))],
)
def test_a_certificate_holds_to_its_own_last_day_or_as_evidence_would(
    expires: date | None, until: date
) -> None:
    proof = Certificate("n1", "cot", date(2026, 2, 2), "Centre", expires)
    state = standing(date(2026, 3, 1), certificates=(proof,))
    assert (state.until, state.proof) == (until, proof)
    other = Certificate("n1", "else", date(2026, 2, 2), "Centre", expires)
    assert standing(date(2026, 3, 1), certificates=(other,)).status == "never"


def test_leave_does_not_move_a_certificates_own_last_day() -> None:
    proof = Certificate("n1", "cot", date(2026, 2, 2), "Centre", date(2026, 10, 1))
    away = (Leave("n1", date(2026, 3, 1), date(2026, 3, 31)),)
    assert standing(date(2026, 4, 1), certificates=(proof,), leaves=away).until == date(2026, 10, 1)


def test_what_holds_longest_counts_and_what_is_yet_to_come_does_not() -> None:
    old = Certificate("n1", "cot", date(2024, 1, 1), "Centre", date(2027, 1, 1))
    future = Evidence("n1", "s9", date(2026, 3, 2), "cot-term", ())
    state = standing(date(2026, 3, 1), DONE, future, certificates=(old,))
    assert state.until == date(2027, 1, 1)
    assert standing(date(2026, 3, 1), DONE, future).proof == DONE


def test_another_scenario_or_role_is_no_evidence() -> None:
    airway = Requirement("airway", "Airway", 12, role="airway")
    led = Evidence("n1", "s1", date(2026, 1, 15), "term", ("leader",))
    both = Evidence("n1", "s2", date(2025, 6, 1), "term", ("leader", "airway"))
    assert standing(date(2026, 2, 1), led).status == "never"
    assert standing(date(2026, 2, 1), led, requirement=airway).status == "never"
    assert standing(date(2026, 2, 1), led, both, requirement=airway).proof == both


def test_new_starters_have_their_days_and_then_show_as_never() -> None:
    starter = Trainee("n1", "nurse", (Posting("north", date(2026, 3, 2)),))
    within = Requirement("cot", "Prepare the cot", 6, starter_days=30)
    state = standing(date(2026, 3, 10), trainee=starter, requirement=within)
    assert (state.status, state.until) == ("never", date(2026, 4, 1))
    assert state.days_left(date(2026, 3, 10)) == 22
    away = (Leave("n1", date(2026, 3, 9), date(2026, 3, 13)),)  # 5 days
    later = standing(date(2026, 3, 20), trainee=starter, requirement=within, leaves=away)
    assert later.until == date(2026, 4, 6)


def test_nothing_is_asked_before_the_first_day_after_the_last_or_of_another_profession() -> None:
    doctors = Requirement("cot", "Prepare the cot", 6, professions=("doctor",))
    gone = Trainee("n1", "nurse", (Posting("north", date(2025, 1, 6)),), left=date(2026, 1, 31))
    roster = Roster((NURSE,), (EVERY_6,))
    assert currency(roster, (), date(2025, 1, 5)) == ()
    assert currency(Roster((NURSE,), (doctors,)), (), date(2026, 1, 1)) == ()
    assert len(currency(Roster((gone,), (EVERY_6,)), (), date(2026, 1, 31))) == 1
    assert currency(Roster((gone,), (EVERY_6,)), (), date(2026, 2, 1)) == ()


def test_who_moves_site_is_asked_what_the_new_unit_asks_and_keeps_what_was_done() -> None:
    moved = Trainee(
        "n1",
        "nurse",
        (
            Posting("north", date(2025, 1, 6), date(2026, 2, 28)),
            Posting("south", date(2026, 3, 1)),
        ),
    )
    south = Requirement("cot", "Prepare the cot", 6, units=("south",), starter_days=14)
    anywhere = Requirement("any", "Any", 12, starter_days=14)
    roster = Roster((moved,), (south, anywhere))
    assert [entry.requirement for entry in currency(roster, (), date(2026, 2, 28))] == ["any"]
    at_south, everywhere = currency(roster, (), date(2026, 3, 1))
    assert at_south.until == date(2026, 3, 15)  # 14 days from the move
    assert everywhere.until == date(2025, 1, 20)  # asked without a gap since the first day
    kept, _ = currency(roster, (DONE,), date(2026, 3, 1))
    assert (kept.status, kept.until) == ("current", date(2026, 7, 15))


def test_after_a_gap_between_stays_a_person_starts_anew() -> None:
    back = Trainee(
        "n1",
        "nurse",
        (
            Posting("north", date(2024, 1, 1), date(2024, 12, 31)),
            Posting("north", date(2026, 1, 1)),
        ),
    )
    cot = Requirement("cot", "Prepare the cot", 6, starter_days=31)
    state = standing(date(2026, 1, 10), trainee=back, requirement=cot)
    assert state.until == date(2026, 2, 1)
    assert currency(Roster((back,), (cot,)), (), date(2025, 6, 1)) == ()


def test_what_is_to_be_done_comes_with_the_most_urgent_first() -> None:
    people = tuple(Trainee(code, "nurse", NURSE.postings) for code in ("a", "b", "c", "d"))
    done = [
        Evidence("a", "s", date(2026, 1, 15), "cot-term", ()),  # 15 July: due
        Evidence("b", "s", date(2026, 6, 1), "cot-term", ()),  # current
        Evidence("c", "s", date(2025, 1, 15), "cot-term", ()),  # 15 July 2025: overdue
    ]
    listed = to_do(currency(Roster(people, (EVERY_6,)), done, date(2026, 7, 1)))
    assert [(entry.code, entry.status) for entry in listed] == [
        ("d", "never"), ("c", "overdue"), ("a", "due"),
    ]  # fmt: skip


DAYS = st.dates(date(2024, 1, 1), date(2027, 12, 31))


@given(DAYS, st.lists(st.tuples(DAYS, st.integers(0, 90)), max_size=6), st.integers(1, 24))
def test_pausing_is_what_one_gets_by_counting_days_one_by_one(
    done: date, stretches: list[tuple[date, int]], months: int
) -> None:
    # The reference: a stock of days that one day after another uses up, but days of leave do not.
    leaves = tuple(Leave("n1", day, day + timedelta(days=n)) for day, n in stretches)
    stock = (done + relativedelta(months=months) - done).days
    day = done
    while stock or any(leave.since <= day + timedelta(days=1) <= leave.until for leave in leaves):
        day += timedelta(days=1)
        if not any(leave.since <= day <= leave.until for leave in leaves):
            stock -= 1
        elif not stock and not any(
            leave.since <= day - timedelta(days=1) <= leave.until for leave in leaves
        ):
            day -= timedelta(days=1)  # leave that begins after it ran out
            break
    evidence = Evidence("n1", "s1", done, "cot-term", ())
    requirement = Requirement("cot", "Prepare the cot", months)
    old = Trainee("n1", "nurse", (Posting("north", date(2020, 1, 1)),))
    state = standing(
        date(2030, 1, 1), evidence, leaves=leaves, trainee=old, requirement=requirement
    )
    assert state.until == day
