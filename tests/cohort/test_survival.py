"""Survival curves and the log-rank test, against a published example and lifelines."""

import random
from math import inf

import pytest

from simengine.cohort.survival import Timed, curve, log_rank, log_rank_pairs, timed
from tests.amount import seeds
from tests.cohort.made import a_reference, item, result

# Freireich 1963, Blood 21:699, as printed in textbooks since: weeks, + censored; results
# recomputed with numpy and scipy.
TREATED = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
CONTROL = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"


def read(text: str) -> list[Timed]:
    return [Timed(float(one.rstrip("+")), not one.endswith("+")) for one in text.split()]


def test_the_curve_of_freireichs_treated_patients_is_that_published() -> None:
    found = curve(read(TREATED))
    assert found is not None
    shares = {6: 0.8571, 7: 0.8067, 10: 0.7529, 13: 0.6902, 16: 0.6275, 22: 0.5378, 23: 0.4482}
    for time_s, share in shares.items():
        point = found.at(time_s)
        assert point is not None
        assert round(point.not_yet, 4) == share
    first, last = found.at(6), found.at(23)
    assert first is not None
    assert last is not None
    assert first.se is not None
    assert last.se is not None
    assert (round(first.se, 4), round(last.se, 4)) == (0.0764, 0.1346)
    assert found.median_s == 23.0
    assert (found.n, found.done, found.never) == (21, 9, 12)
    assert [found.at_risk(t) for t in (0, 10, 20, 30, 36)] == [21, 15, 8, 4, 0]


def test_the_log_rank_of_freireichs_patients_is_exact_and_not_the_approximation() -> None:
    found = log_rank(read(TREATED), read(CONTROL))
    assert found is not None
    assert round(found.chi_square, 4) == 16.7929  # the approximation would be 15.233
    assert found.n == (21, 21)
    assert found.done == (9, 21)


def random_times(seed: int) -> list[Timed]:
    rng = random.Random(seed)
    n = rng.randint(2, 60)
    whole = rng.random() < 0.5  # with many ties, or with none
    out = []
    for _ in range(n):
        time_s = rng.expovariate(1 / 60)
        out.append(Timed(float(round(time_s / 10)) if whole else time_s, rng.random() < 0.7))
    return out


@pytest.mark.parametrize("seed", range(seeds(60)))
def test_the_curve_is_that_of_lifelines(seed: int) -> None:
    """lifelines 0.29+, KaplanMeierFitter: shares to 1e-9, intervals to 1e-6, medians equal."""
    with a_reference():
        from lifelines import KaplanMeierFitter
        from lifelines.utils import median_survival_times

        times = random_times(seed)
        fitter = KaplanMeierFitter().fit([t.time_s for t in times], [t.done for t in times])
        table = fitter.survival_function_["KM_estimate"]
        bounds = fitter.confidence_interval_
        medians = median_survival_times(fitter.confidence_interval_)
    found = curve(times)
    assert found is not None
    for point in found.points:
        assert point.not_yet == pytest.approx(table[point.time_s], abs=1e-9)
        if point.low is not None:
            low, high = bounds.loc[point.time_s]
            assert (point.low, point.high) == pytest.approx((low, high), abs=1e-6)
        row = fitter.event_table.loc[point.time_s]
        assert (point.at_risk, point.done, point.censored) == (
            row["at_risk"],
            row["observed"],
            row["censored"],
        )
    if not any(abs(point.not_yet - 0.5) < 1e-9 for point in found.points):  # rounding decides there
        assert (inf if found.median_s is None else found.median_s) == fitter.median_survival_time_
    low, high = medians.to_numpy()[0]
    if found.points[-1].not_yet > 0.0 or found.median_low_s is not None:
        assert (inf if found.median_low_s is None else found.median_low_s) == low
    if found.points[-1].not_yet > 0.0:  # where all have done it, lifelines ends the interval there
        assert (inf if found.median_high_s is None else found.median_high_s) == high


@pytest.mark.parametrize("seed", range(seeds(60)))
def test_the_log_rank_is_that_of_lifelines(seed: int) -> None:
    """lifelines 0.29+, statistics.logrank_test: chi-square to 1e-6 relative, p to 1e-9."""
    with a_reference():
        from lifelines.statistics import logrank_test

        one, other = random_times(2 * seed), random_times(2 * seed + 1)
        expected = logrank_test(
            [t.time_s for t in one],
            [t.time_s for t in other],
            [t.done for t in one],
            [t.done for t in other],
        )
    found = log_rank(one, other)
    if found is None:
        assert expected.test_statistic != expected.test_statistic  # not a number
        return
    assert found.chi_square == pytest.approx(expected.test_statistic, rel=1e-6, abs=1e-9)
    assert found.p == pytest.approx(expected.p_value, abs=1e-9)


def test_a_step_that_nobody_did_has_a_curve_without_a_median() -> None:
    found = curve([Timed(300.0, False)] * 6)
    assert found is not None
    assert (found.done, found.never, found.median_s, found.median_low_s) == (0, 6, None, None)
    assert found.share_done(400.0) == 0.0
    assert log_rank([Timed(300.0, False)], [Timed(200.0, False)]) is None


def test_a_step_that_everybody_did_at_once_ends_at_0() -> None:
    found = curve([Timed(20.0, True)] * 6)
    assert found is not None
    (point,) = found.points
    assert (point.not_yet, point.low, found.median_s) == (0.0, None, 20.0)
    assert found.median_high_s is None


def test_no_times_have_no_curve_and_few_are_called_few() -> None:
    assert curve([]) is None
    assert log_rank([], [Timed(1.0, True)]) is None
    few = curve([Timed(1.0, True)] * 4)
    assert few is not None
    assert few.few


def test_times_are_those_of_the_sessions_in_which_the_step_was_asked() -> None:
    sessions = [
        result(0, item(time_s=40.0)),
        result(1, item(credit=0.0, watched_s=280.0)),  # never done: censored, not missing
        result(2, item(credit=None)),  # not asked
        result(3, item("other")),
        result(4, item(time_s=-5.0)),  # done before it was asked
    ]
    assert timed(sessions, "ventilate") == (
        Timed(40.0, True),
        Timed(280.0, False),
        Timed(0.0, True),
    )


def test_several_groups_are_compared_two_by_two_with_what_that_costs() -> None:
    groups = {"a": read(TREATED), "b": read(CONTROL), "c": read(CONTROL), "d": []}
    found = log_rank_pairs(groups)
    assert set(found) == {("a", "b"), ("a", "c"), ("b", "c")}
    for test in found.values():
        assert test.q is not None
        assert test.q >= test.p
    assert log_rank_pairs({"a": []}) == {}
