"""The made hospital: what is said to be true of it is so."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from simengine.cohort.evidence import doubles, each_once
from simengine.cohort.hospital import LIMIT_S, Effects, hospital
from simengine.cohort.learning import learning_curve, practised
from simengine.cohort.records import SessionResult

PLAIN = Effects(unit=0.0, scenario=0.0, step=0.0)
MANY = replace(PLAIN, sessions=3000, people=200)


def in_time(sessions: tuple[SessionResult, ...] | list[SessionResult]) -> float:
    """Return the share of all steps that were in time."""
    return float(
        np.mean([item.verdict == "on time" for session in sessions for item in session.items])
    )


def odds(share: float) -> float:
    return float(np.log(share / (1 - share)))


def test_one_seed_makes_one_hospital_and_another_another() -> None:
    assert hospital(Effects(), 1) == hospital(Effects(), 1)
    assert hospital(Effects(), 1).sessions != hospital(Effects(), 2).sessions


def test_it_has_as_many_sessions_units_and_people_as_it_says() -> None:
    made = hospital(Effects(a_day=3, people=12, twice=0.2), 3)
    once = each_once(made.sessions)
    assert len(once) == 240
    assert {session.unit for session in once} == {"Unit 0", "Unit 1", "Unit 2"}
    per_day = Counter(session.day for session in once)
    assert set(per_day.values()) <= {3, 6, 9}
    assert all(
        len({session.unit for session in once if session.day == day}) == 1 for day in per_day
    )
    unit_of: dict[str, set[str | None]] = {}
    for session in once:
        team = [code for held in session.team.values() for code in held]
        assert len(set(team)) == 3
        for code in team:
            unit_of.setdefault(code, set()).add(session.unit)
    assert all(len(units) == 1 for units in unit_of.values())
    assert len(unit_of) == 36
    assert all(session.wall < other.wall for session, other in pairwise(once))


def test_a_total_is_the_mean_credit_and_a_missed_step_has_no_time() -> None:
    for session in hospital(Effects(), 5).sessions[:20]:
        assert session.total == pytest.approx(np.mean([item.credit for item in session.items]))
        for item in session.items:
            assert (item.time_s is None) == (item.verdict == "missed")
            assert item.limit_s == LIMIT_S
            assert (item.person,) in session.team.values()


def test_without_effects_the_share_in_time_is_the_stated_one() -> None:
    made = hospital(MANY, 1)
    assert in_time(made.sessions) == pytest.approx(1 / (1 + np.exp(-0.4)), abs=0.01)
    assert list(made.in_time.values()) == pytest.approx([1 / (1 + np.exp(-0.4))] * 10)
    mean = float(np.mean([session.total or 0.0 for session in made.sessions]))
    assert made.mean_total == pytest.approx(mean, abs=0.01)


def test_the_truth_over_people_and_days_is_what_many_hospitals_show() -> None:
    effects = replace(MANY, sessions=300, day=0.6, person=0.6, habit=0.3, quirk=0.5)
    made = [hospital(effects, seed) for seed in range(12)]
    seen = float(np.mean([in_time(each.sessions) for each in made]))
    assert seen == pytest.approx(made[0].in_time["step-0"], abs=0.02)


def test_growth_is_in_log_odds_a_quarter() -> None:
    sessions = hospital(replace(MANY, growth=0.5), 2).sessions
    first, last = sessions[:300], sessions[-300:]
    quarters = (last[150].day - first[150].day).days / (365.25 / 4)
    assert odds(in_time(last)) - odds(in_time(first)) == pytest.approx(0.5 * quarters, abs=0.15)


def test_assessed_sessions_are_easier_and_more_and_more() -> None:
    sessions = hospital(replace(MANY, assessed=(0.1, 0.9), easier=0.8), 2).sessions
    assessed = [session for session in sessions if session.purpose == "summative"]
    others = [session for session in sessions if session.purpose == "formative"]
    assert odds(in_time(assessed)) - odds(in_time(others)) == pytest.approx(0.8, abs=0.1)
    shares = [
        np.mean([session.purpose == "summative" for session in part])
        for part in (sessions[:500], sessions[-500:])
    ]
    assert shares == pytest.approx([0.17, 0.83], abs=0.06)


def test_the_best_unit_trains_more_and_more() -> None:
    effects = replace(MANY, sessions=360, unit=1.0, busier=0.9)
    sessions = hospital(effects, 4).sessions
    late = Counter(session.unit for session in sessions[-120:])
    assert late.most_common(1)[0][0] == "Unit 2"
    by_unit = [
        in_time([session for session in sessions if session.unit == f"Unit {n}"]) for n in range(3)
    ]
    assert by_unit == sorted(by_unit)


def test_the_first_unit_alone_gets_worse_from_the_middle_on() -> None:
    sessions = hospital(replace(MANY, worse=1.0), 6).sessions
    half = len(sessions) // 2
    levels = [
        odds(in_time([session for session in part if session.unit == unit]))
        for unit in ("Unit 0", "Unit 1")
        for part in (sessions[:half], sessions[half:])
    ]
    assert levels[1] - levels[0] == pytest.approx(-1.0, abs=0.15)
    assert levels[3] - levels[2] == pytest.approx(0.0, abs=0.15)


def test_practice_takes_the_stated_share_of_the_time() -> None:
    sessions = hospital(replace(MANY, people=40, sessions=1200, doubling=np.log(0.8)), 3).sessions
    curve = learning_curve(practised(sessions, "step-1"))
    assert curve is not None
    assert curve.rate == pytest.approx(0.8, abs=0.03)
    assert curve.low < -np.log2(0.8) < curve.high


def test_a_second_observer_slips_as_often_as_stated() -> None:
    made = hospital(replace(PLAIN, sessions=1000, twice=1.0, slip=0.1), 3)
    pairs = doubles(made.sessions)
    assert len(pairs) == 1000
    differ = np.mean(
        [
            item.verdict != other.items[place].verdict
            for first, other in pairs
            for place, item in enumerate(first.items)
        ]
    )
    assert differ == pytest.approx(0.1, abs=0.01)
    assert len(doubles(hospital(replace(PLAIN, twice=0.2), 3).sessions)) == pytest.approx(
        48, abs=20
    )
