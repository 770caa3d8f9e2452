"""What counts for what."""

from dataclasses import replace
from datetime import timedelta

from simengine.cohort.evidence import (
    SAME_SESSION_S,
    as_practice,
    doubles,
    each_once,
    for_learning,
    for_totals,
    is_evidence,
    opened_at,
)
from simengine.cohort.records import SessionResult
from simengine.cohort.too_few import is_too_few
from tests.cohort.made import item, result

GOOD = result(1, item())


def test_a_rehearsal_and_a_safety_stop_count_for_nothing() -> None:
    rehearsal = replace(GOOD, purpose="rehearsal")
    real_patient = replace(GOOD, closed="safety stop")
    assert list(for_learning([rehearsal, real_patient, GOOD])) == [GOOD]
    assert list(for_totals([rehearsal, real_patient, GOOD])) == [GOOD]
    assert [is_evidence(session) for session in (rehearsal, real_patient, GOOD)] == [
        *(False, False, True)
    ]


def test_of_a_rehearsal_it_is_told_that_it_was_and_never_how_it_went() -> None:
    rehearsal = as_practice(replace(GOOD, purpose="rehearsal"))
    assert (rehearsal.session, rehearsal.day, rehearsal.team) == (GOOD.session, GOOD.day, GOOD.team)
    assert (rehearsal.total, rehearsal.outcome, rehearsal.items) == (None, None, ())
    assert as_practice(GOOD) == GOOD


def test_a_formative_session_teaches_about_the_cohort_and_proves_nothing_of_a_person() -> None:
    formative = replace(GOOD, purpose="formative")
    assert list(for_learning([formative])) == [formative]
    assert not is_evidence(formative)


def test_evidence_is_confirmed_finished_and_under_a_recorded_standard() -> None:
    short_of = [
        replace(GOOD, confirmed=False),
        replace(GOOD, closed="stopped early"),
        replace(GOOD, closed=None),
        replace(GOOD, standard=None),
    ]
    assert not any(is_evidence(session) for session in short_of)


def test_a_session_stopped_early_has_times_and_no_total_to_compare() -> None:
    early = replace(GOOD, closed="stopped early")
    assert list(for_learning([early])) == [early]
    assert list(for_totals([early])) == []


def _beside(seconds: float, **fields: object) -> SessionResult:
    wall = (opened_at(GOOD) + timedelta(seconds=seconds)).isoformat()
    return replace(GOOD, session="other", wall=wall, **{"by": ("second",), **fields})  # type: ignore[arg-type]


def test_two_observers_logs_of_one_session_count_once() -> None:
    other = _beside(40.0)
    assert doubles([other, GOOD]) == [(GOOD, other)]
    assert each_once([other, GOOD]) == [GOOD]


def test_sessions_of_another_team_time_scenario_or_by_the_same_recorder_are_their_own() -> None:
    for other in (
        _beside(SAME_SESSION_S + 1),
        _beside(40.0, by=GOOD.by),
        _beside(40.0, scenario="preterm"),
        _beside(40.0, team={"airway": ("somebody-else",)}),
    ):
        assert each_once([GOOD, other]) == [GOOD, other]


def test_four_are_few_and_five_are_not() -> None:
    assert is_too_few(4)
    assert not is_too_few(5)
