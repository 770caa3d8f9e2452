"""Survival curves and log-rank scores, against a published example and lifelines."""

import random
from dataclasses import replace
from math import inf

import pytest
from scipy.stats import CensoredData, logrank

from simengine.cohort.records import SessionResult
from simengine.cohort.survival import Sooner, Timed, curve, holm, scores, sooner, timed
from tests.amount import seeds
from tests.cohort.made import a_reference, item, result

# Freireich 1963, Blood 21:699, as printed in textbooks since: weeks, + censored; results
# recomputed with numpy and scipy.
TREATED = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
CONTROL = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"


def read(text: str) -> list[Timed]:
    return [Timed(float(time.rstrip("+")), not time.endswith("+")) for time in text.split()]


def test_the_curve_of_freireichs_treated_patients_is_that_published() -> None:
    ours = curve(read(TREATED))
    assert ours is not None
    shares = {6: 0.8571, 7: 0.8067, 10: 0.7529, 13: 0.6902, 16: 0.6275, 22: 0.5378, 23: 0.4482}
    for time_s, share in shares.items():
        point = ours.at(time_s)
        assert point is not None
        assert round(point.not_yet, 4) == share
    first, last = ours.at(6), ours.at(23)
    assert first is not None
    assert last is not None
    assert first.se is not None
    assert last.se is not None
    assert (round(first.se, 4), round(last.se, 4)) == (0.0764, 0.1346)
    assert ours.median_s == 23.0
    assert (ours.n, ours.done, ours.never) == (21, 9, 12)
    assert [ours.at_risk(t) for t in (0, 10, 20, 30, 36)] == [21, 15, 8, 4, 0]


def test_the_scores_of_freireichs_patients_are_observed_less_expected() -> None:
    """The approximation to the log-rank chi-square, published as 15.233, is of these two alone."""
    both = scores(read(TREATED) + read(CONTROL))
    treated, control = both[:21].sum(), both[21:].sum()
    assert treated == pytest.approx(-control)
    expected = (9 - treated, 21 - control)
    assert round(treated**2 / expected[0] + control**2 / expected[1], 3) == 15.233


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
    ours = curve(times)
    assert ours is not None
    for point in ours.points:
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
    if not any(abs(point.not_yet - 0.5) < 1e-9 for point in ours.points):  # rounding decides there
        assert (inf if ours.median_s is None else ours.median_s) == fitter.median_survival_time_
    low, high = medians.to_numpy()[0]
    if ours.points[-1].not_yet > 0.0 or ours.median_low_s is not None:
        assert (inf if ours.median_low_s is None else ours.median_low_s) == low
    if ours.points[-1].not_yet > 0.0:  # where all have done it, lifelines ends the interval there
        assert (inf if ours.median_high_s is None else ours.median_high_s) == high


@pytest.mark.parametrize("seed", range(seeds(60)))
def test_the_scores_add_up_to_the_log_rank_test_of_scipy(seed: int) -> None:
    """scipy.stats.logrank: its statistic is their sum over a group, by its spread; to 1e-9.

    The spread is the hypergeometric one, by hand, at each time (Mantel 1966).
    """
    group, other = random_times(2 * seed), random_times(2 * seed + 1)
    both = group + other
    variance = 0.0
    for at in {time.time_s for time in both if time.done}:
        n = sum(time.time_s >= at for time in both)
        first = sum(time.time_s >= at for time in group)
        done = sum(time.time_s == at and time.done for time in both)
        if n > 1:
            variance += done * (first / n) * (1 - first / n) * (n - done) / (n - 1)
    if variance == 0.0:
        return
    first_censored, other_censored = (
        CensoredData.right_censored([t.time_s for t in some], [not t.done for t in some])
        for some in (group, other)
    )
    expected = logrank(first_censored, other_censored).statistic
    assert scores(both)[: len(group)].sum() / variance**0.5 == pytest.approx(expected, abs=1e-9)


def session(number: int, time_s: float, unit: str, who: str) -> tuple[SessionResult, Timed]:
    return result(number, unit=unit, team={"airway": (who,)}), Timed(time_s, True)


def by_unit(one: SessionResult) -> bool:
    return one.unit == "A"


def test_the_unit_that_is_sooner_is_named_and_else_it_could_be_either() -> None:
    rng = random.Random(3)
    answers = []
    for faster in (1.0, 2.5):
        sessions = [
            session(n, rng.expovariate(1 / 60) / (faster if n % 2 else 1), "AB"[n % 2], f"p{n}")
            for n in range(60)
        ]
        comparison = sooner(sessions, by_unit, lambda held: held.purpose)
        assert comparison is not None
        answers.append(comparison.which)
    assert answers == ["either", "other"]


def test_one_slow_person_who_comes_again_and_again_makes_no_slow_unit() -> None:
    sessions = [session(n, 300.0 - n, "A", "slow") for n in range(20)]
    sessions += [session(n, 40.0 + n, "A", "ann") for n in range(20, 30)]
    sessions += [session(n, 40.0 + n % 25, "B", f"b{n % 3}") for n in range(30, 60)]
    alone = [
        (replace(held, team={"airway": (f"p{number}",)}), time)
        for number, (held, time) in enumerate(sessions)
    ]
    counted = sooner(sessions, by_unit, lambda held: held.purpose)
    as_others = sooner(alone, by_unit, lambda held: held.purpose)
    assert counted is not None
    assert as_others is not None
    assert (counted.which, as_others.which) == ("either", "other")


def test_several_comparisons_have_holms_p() -> None:
    """statsmodels 0.14+, multipletests(method="holm"), to 1e-12."""
    p = [0.04, 0.001, 0.5, 0.012, 0.012]
    with a_reference():
        from statsmodels.stats.multitest import multipletests

        expected = multipletests(p, method="holm")[1]
    corrected = [answer.p for answer in holm([Sooner(each, True) for each in p])]
    assert corrected == pytest.approx(expected)
    assert holm([]) == ()


def test_a_step_that_nobody_did_has_a_curve_without_a_median() -> None:
    ours = curve([Timed(300.0, False)] * 6)
    assert ours is not None
    assert (ours.done, ours.never, ours.median_s, ours.median_low_s) == (0, 6, None, None)
    assert ours.share_done(400.0) == 0.0


def test_a_step_that_everybody_did_at_once_ends_at_0() -> None:
    ours = curve([Timed(20.0, True)] * 6)
    assert ours is not None
    (point,) = ours.points
    assert (point.not_yet, point.low, ours.median_s) == (0.0, None, 20.0)
    assert ours.median_high_s is None


def test_no_times_have_no_curve_and_few_are_called_few() -> None:
    assert curve([]) is None
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
