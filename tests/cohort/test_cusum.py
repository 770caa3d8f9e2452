"""Cumulative-sum charts, against published figures and exact probabilities."""

from itertools import product

import pytest

from simengine.cohort.cusum import (
    Kind,
    Limit,
    chart,
    limit_for,
    wald,
    wald_chart,
    weights,
)

ANY = Limit(99.0, 0.0, 0.0, 1, 1, 1)


@pytest.mark.parametrize(
    ("p0", "p1", "s", "h"),
    [
        # Wald's formulae as printed by several authors; values recomputed, alpha = beta = .1
        (0.05, 0.10, 0.07236, 2.94055),
        (0.10, 0.20, 0.14524, 2.70951),
        (0.20, 0.40, 0.29330, 2.24017),
    ],
)
def test_walds_boundaries_are_those_published(p0: float, p1: float, s: float, h: float) -> None:
    found = wald(p0, p1)
    assert (round(found.s, 5), round(found.upper, 5), round(found.lower, 5)) == (s, h, h)


def test_the_errors_go_to_the_boundary_that_they_are_of() -> None:
    found = wald(0.1, 0.2, alpha=0.05, beta=0.2)
    assert found.upper > wald(0.1, 0.2, alpha=0.1, beta=0.2).upper  # a safer alarm is further off
    assert found.lower > wald(0.1, 0.2, alpha=0.05, beta=0.3).lower


def test_a_wald_chart_goes_up_with_failures_and_says_so() -> None:
    failures = wald_chart([True] * 5, wald(0.1, 0.2))
    assert (failures.reached_upper, failures.reached_lower) == (3, None)  # 4 × 0.85476 > 2.70951
    successes = wald_chart([False] * 30, wald(0.1, 0.2))
    assert (successes.reached_upper, successes.reached_lower) == (None, 18)  # 19 × 0.14524
    assert failures.words() == (
        "Up means failures. Acceptable failure rate 10 %, unacceptable 20 %; each failure adds "
        "0.855, each success takes 0.145 away. Upper line 2.71, lower line −2.71, for errors of "
        "10 % and 10 %."
    )


def test_the_learning_chart_of_a_known_run_is_that_worked_out() -> None:
    """Weights of Biau and Porcher 2010, from memory; the run is our own."""
    success, failure = weights("learning", 0.1, 0.2)
    assert (round(success, 5), round(failure, 5)) == (0.11778, -0.69315)
    run = [letter == "F" for letter in "SSFSSSSSSSSSSSFSSSSS"]
    found = chart(run, "learning", 0.1, 0.2, ANY)
    assert round(max(found.values), 4) == 1.2956
    assert found.values.index(max(found.values)) == 13  # the 14th
    assert round(found.values[-1], 4) == 1.1914
    assert found.values[2] == 0.0  # never below 0


def test_a_drift_chart_is_the_learning_chart_turned_round() -> None:
    success, failure = weights("learning", 0.1, 0.2)
    assert weights("drift", 0.1, 0.2) == (-success, -failure)


def test_a_drift_chart_starts_again_after_a_signal_and_a_learning_chart_signals_once() -> None:
    limit = Limit(1.0, 0.0, 0.0, 10, 1, 1)
    assert chart([True] * 6, "drift", 0.1, 0.2, limit).signals == (1, 3, 5)  # 2 × 0.693 ≥ 1
    assert chart([False] * 20, "learning", 0.1, 0.2, limit).signals == (8,)  # 9 × 0.118 ≥ 1


@pytest.mark.parametrize("kind", ["drift", "learning"])
def test_a_simulated_limit_keeps_what_it_promises_exactly(kind: Kind) -> None:
    """Every one of the 2^10 runs of ten attempts, weighted by its chance: no simulation in it."""
    limit = limit_for(kind, 0.2, 0.5, 10)
    success, failure = weights(kind, 0.2, 0.5)

    def reaches(rate: float) -> float:
        share = 0.0
        for run in product((True, False), repeat=10):
            line = most = 0.0
            for bad in run:
                line = max(0.0, line + (failure if bad else success))
                most = max(most, line)
            if most >= limit.limit - 1e-8:
                share += rate ** sum(run) * (1 - rate) ** (10 - sum(run))
        return share

    wrongly, rightly = (0.2, 0.5) if kind == "drift" else (0.5, 0.2)
    assert reaches(wrongly) <= 0.06  # 5 % and the error of 10,000 runs
    assert reaches(wrongly) == pytest.approx(limit.false_signal, abs=0.01)
    assert reaches(rightly) == pytest.approx(limit.detects, abs=0.02)
    assert limit == limit_for.__wrapped__(kind, 0.2, 0.5, 10)  # seeded


def test_few_attempts_hardly_ever_signal_and_the_chart_says_so() -> None:
    found = chart([True, False], "drift", 0.1, 0.2)
    assert found.signals == ()
    assert found.limit.false_signal <= 0.05
    assert found.limit.detects < 0.5
    assert found.words().endswith("few attempts will rarely signal.")
    assert "Up means failures" in found.words()
    assert "2 attempts" in found.words()
    assert "Up means success" in chart([True], "learning", 0.1, 0.2).words()


def test_rates_that_are_none_are_refused() -> None:
    for p0, p1 in ((0.0, 0.2), (0.2, 0.2), (0.3, 0.2), (0.2, 1.0)):
        with pytest.raises(ValueError, match="0 < p0 < p1 < 1"):
            wald(p0, p1)
