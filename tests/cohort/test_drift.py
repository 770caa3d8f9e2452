"""The drift of a unit from its own first rate: what it promises, and what it sees."""

from datetime import timedelta

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize
from scipy.special import expit
from scipy.stats import bernoulli

from simengine.cohort.drift import (
    EQUAL,
    Tried,
    _hardness,
    _levels,
    _limit,
    sessions_tried,
    units_drift,
)
from tests.amount import seeds
from tests.cohort.made import FIRST_DAY, item, result

TERM = ("term", "summative")
Floats = NDArray[np.float64]


def tried(failures: str, a_day: int = 1) -> list[Tried]:
    """Sessions by letters, F below standard; ``a_day`` on each training day."""
    return [
        Tried(f"s{n}", FIRST_DAY + timedelta(days=n // a_day), TERM, letter == "F")
        for n, letter in enumerate(failures)
    ]


def test_a_session_fails_below_its_standard() -> None:
    sessions = [
        result(1, item(credit=0.74)),
        result(0, item(credit=0.75)),
        result(2, item(credit=0.3)),
        result(3, item(credit=None)),
        result(4, item(credit=0.1), standard=None),
    ]
    assert [trial.failed for trial in sessions_tried(sessions)] == [False, True, True]
    assert {trial.hard for trial in sessions_tried(sessions)} == {TERM}


def test_a_unit_that_gets_worse_is_seen_to_drift_from_its_own_rate() -> None:
    charts = units_drift(
        {"steady": tried("SSSSF" * 12), "worse": tried("SSSSF" * 4 + "SFF" * 15), "new": tried("S")}
    )
    assert set(charts) == {"steady", "worse"}
    steady, worse = charts["steady"], charts["worse"]
    assert steady.p0 == pytest.approx(4.5 / 21)
    assert steady.p1 / (1 - steady.p1) == pytest.approx(2 * steady.p0 / (1 - steady.p0))
    assert steady.signals == ()
    assert worse.signals
    assert len(steady.watched) == 40
    assert steady.promise == pytest.approx(0.025 / 2)  # shared out over the two
    assert "Up means below standard" in steady.words()
    assert charts == units_drift(
        {"steady": tried("SSSSF" * 12), "worse": tried("SSSSF" * 4 + "SFF" * 15), "new": tried("S")}
    )  # seeded


def test_the_line_is_a_page_chart_of_the_likelihood_ratio_of_doubled_odds() -> None:
    """scipy.stats.bernoulli; Page 1954, Biometrika 41:100: never below 0, anew after a signal."""
    worse = units_drift({"worse": tried("SSSSF" * 4 + "SFF" * 15)})["worse"]
    line, values, signals = 0.0, [], []
    for n, session in enumerate(worse.watched):
        doubled, own = (bernoulli.logpmf(session.failed, rate) for rate in (worse.p1, worse.p0))
        line = max(0.0, line + doubled - own)
        values.append(line)
        if line >= worse.limit - EQUAL:
            signals.append(n)
            line = 0.0
    assert worse.values == pytest.approx(values)
    assert worse.signals == tuple(signals)
    assert len(signals) > 1


def test_a_unit_with_few_sessions_has_no_chart() -> None:
    assert units_drift({"few": tried("S" * 24)}) == {}
    assert units_drift({}) == {}


def test_a_bad_day_is_one_day_however_many_sessions_it_had() -> None:
    bad = "SSSSF" * 4 + "SSSSS" * 2 + "FFFFF" + "SSSSS" * 2
    alone, one_day = (units_drift({"unit": tried(bad, a_day)})["unit"].limit for a_day in (1, 5))
    assert one_day > alone


def test_a_run_of_hard_scenarios_is_no_drift() -> None:
    """The second half is all in the hard scenario, which is as hard for the other unit."""
    rng = np.random.default_rng(8)

    def unit(later_hard: bool) -> list[Tried]:
        out = []
        for n, session in enumerate(tried("S" * 120)):
            hard = rng.random() < (0.9 if later_hard and n >= 60 else 0.1 if later_hard else 0.5)
            kind = ("hard" if hard else "easy", "summative")
            failed = bool(rng.random() < (0.6 if hard else 0.15))
            out.append(Tried(session.session, session.day, kind, failed))
        return out

    drifts = units_drift({"a": unit(True), "b": unit(False)})
    assert drifts["a"].signals == ()
    blind = units_drift({"a": [Tried(o.session, o.day, TERM, o.failed) for o in unit(True)]})
    assert blind["a"].signals  # not held fixed, it looks like one


@pytest.mark.parametrize("seed", range(seeds(20)))
def test_a_runs_level_is_that_of_a_root_finder(seed: int) -> None:
    """scipy.optimize.brentq, to 1e-6."""
    rng = np.random.default_rng(seed)
    failed = (rng.random((3, 20)) < 0.3).astype(float)
    moved = rng.normal(0.0, 1.0, (3, 20))
    for level, wrong, odds in zip(_levels(failed, moved), failed, moved, strict=True):
        failures = (wrong.sum() + 0.5) / 21 * 20
        expected = brentq(
            lambda at, odds=odds, failures=failures: expit(at + odds).sum() - failures, -20, 20
        )
        assert level == pytest.approx(expected, abs=1e-6)


def test_how_hard_a_scenario_is_is_that_of_a_penalised_logistic_regression() -> None:
    """scipy.optimize.minimize of the same objective, written out session by session; to 1e-4."""
    rng = np.random.default_rng(1)
    kinds = [("a", "summative"), ("b", "summative"), ("b", "formative")]
    units = {
        unit: [
            Tried(str(n), FIRST_DAY, kinds[n % 3], bool(rng.random() < 0.2 + 0.2 * (n % 3)))
            for n in range(60)
        ]
        for unit in ("one", "two")
    }
    rows, failed = [], []
    for number, some in enumerate(units.values()):
        for trial in some:
            row = np.zeros(5)
            row[number] = row[2 + sorted(kinds).index(trial.hard)] = 1.0
            rows.append(row)
            failed.append(trial.failed)
    table, wrong = np.array(rows), np.array(failed, dtype=float)
    weight = np.array([0.01, 0.01, 1.0, 1.0, 1.0])

    def loss(levels: Floats) -> float:
        odds = table @ levels
        return float(np.logaddexp(0.0, odds).sum() - wrong @ odds + 0.5 * weight @ levels**2)

    expected = minimize(loss, np.zeros(5), method="BFGS", options={"gtol": 1e-8}).x[2:]
    assert list(_hardness(units).values()) == pytest.approx(expected.tolist(), abs=1e-4)
    assert set(_hardness({"one": tried("SF")}).values()) == {0.0}


def test_a_limit_is_reached_by_no_more_than_was_promised() -> None:
    rng = np.random.default_rng(1)
    highest = rng.exponential(size=4_000)
    for promise in (0.2, 0.05, 0.0125):
        limit = _limit(highest, promise)
        assert (highest >= limit - EQUAL).mean() <= promise
    # rarer than the runs can show: no nearer than an exponential tail allows
    assert _limit(highest, 0.0005) == pytest.approx(_limit(highest, 0.005) + np.log(10))
