"""How sure means and slopes are where sessions share days and people, against exact cases."""

from datetime import date, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import linregress, norm
from scipy.stats import t as student

from simengine.cohort import clusters as module
from simengine.cohort.clusters import Clusters, Shares
from simengine.cohort.slope import slope
from tests.amount import seeds
from tests.cohort.brennan import CREDITS
from tests.cohort.made import FIRST_DAY, a_reference

Floats = NDArray[np.float64]


def shares(day: int, *people: str, scenario: str = "term") -> Shares:
    return Shares(FIRST_DAY + timedelta(days=day), people, scenario)


def a_day_of(days: int, sessions: int) -> Clusters:
    """Days with as many sessions each, all of different people."""
    return Clusters(
        shares(day, f"p{day}-{number}") for day in range(days) for number in range(sessions)
    )


@pytest.mark.parametrize("seed", range(seeds(20)))
def test_a_mean_over_days_of_equal_size_is_that_of_the_days_means(seed: int) -> None:
    """The exact interval of a balanced one-way layout with random days (scipy, on the means)."""
    rng = np.random.default_rng(seed)
    values = rng.normal(size=(9, 1)) + 0.5 * rng.normal(size=(9, 4))
    variance, df = a_day_of(9, 4).of_means(values.reshape(-1, 1))
    means = values.mean(axis=1)
    assert variance[0] == pytest.approx(means.var(ddof=1) / 9)
    assert df[0] == pytest.approx(8.0)


def test_a_slope_over_days_is_the_regression_of_their_means() -> None:
    rng = np.random.default_rng(3)
    values = rng.normal(size=(10, 1)) + 0.3 * rng.normal(size=(10, 3))
    fit = slope(values.ravel(), np.repeat(np.arange(10), 3), clusters=a_day_of(10, 3))
    expected = linregress(np.arange(10), values.mean(axis=1))
    assert fit is not None
    assert (fit.value, fit.se, fit.p, fit.df) == pytest.approx(
        (expected.slope, expected.stderr, expected.pvalue, 8.0)
    )


@pytest.mark.parametrize("seed", range(seeds(10)))
def test_the_spread_of_days_is_that_of_a_mixed_model(seed: int) -> None:
    """statsmodels 0.14+, MixedLM by REML, which equals it where all days are of one size; to 1e-3.

    The variance of a mean is the day's ÷ days + the rest ÷ sessions.
    """
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng = np.random.default_rng(seed)
    values = 2.0 * rng.normal(size=(12, 1)) + rng.normal(size=(12, 4))
    variance, _ = a_day_of(12, 4).of_means(values.reshape(-1, 1))
    with a_reference():
        fit = MixedLM(values.ravel(), np.ones(48), groups=np.repeat(np.arange(12), 4)).fit()
        expected = float(fit.cov_re[0, 0]) / 12 + fit.scale / 48
    assert variance[0] == pytest.approx(expected, rel=1e-3)


def test_people_and_scenarios_that_cross_have_the_published_components() -> None:
    """Brennan 2001, synthetic set 1: people × items, components .0574, .0754 and .1269.

    A mean over both is as sure as people ÷ 10 + items ÷ 12 + rest ÷ 120 say; items stand here as
    the days, people as themselves.
    """
    table = np.array(CREDITS, dtype=np.float64)
    people, items = table.shape
    crossed = Clusters(
        shares(item, f"p{person}", scenario=f"s{person}-{item}")
        for person in range(people)
        for item in range(items)
    )
    variance, _ = crossed.of_means(table.reshape(-1, 1))
    expected = 0.0574 / people + 0.0754 / items + 0.1269 / (people * items)
    assert variance[0] == pytest.approx(expected, rel=2e-3)


def test_sessions_that_share_nothing_are_worth_themselves_and_students_factor() -> None:
    rng = np.random.default_rng(0)
    alone = Clusters(shares(number, f"p{number}") for number in range(12))
    assert alone.parts == ()
    factor = norm.ppf(0.975) / student.ppf(0.975, 11)
    assert alone.worth(rng.normal(size=12).tolist(), 0.95) == pytest.approx(12 * factor**2)


def test_sessions_of_one_day_that_agree_are_worth_one() -> None:
    luck = np.random.default_rng(1).normal(size=30)
    same = a_day_of(30, 4).worth(np.repeat(luck, 4).tolist(), 0.95)
    factor = norm.ppf(0.975) / student.ppf(0.975, 29)
    assert same == pytest.approx(30 * factor**2, rel=0.03)  # 29 degrees of freedom, not 119


def test_what_all_steps_share_is_told_from_all_of_them_and_gaps_are_no_sessions() -> None:
    rng = np.random.default_rng(2)
    table = rng.random((60, 3)) + np.repeat(rng.random((20, 1)), 3, axis=0)
    table[:30, 2] = np.nan
    few, many = a_day_of(20, 3).worths(table, 0.95)[[2, 0]]
    assert few < 30
    assert many < 60
    constant = np.column_stack([table[:, 0], np.ones(60)])
    assert a_day_of(20, 3).worths(constant, 0.95)[1] < 60  # all alike, and still by days
    assert Clusters([shares(0, "ann")]).worth([0.5], 0.95) == 1.0


def test_long_stores_are_looked_at_in_stretches(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    values = rng.normal(size=(60, 1)) + rng.normal(size=(60, 3))
    whole, _ = a_day_of(60, 3).of_means(values.reshape(-1, 1))
    monkeypatch.setattr(module, "STRETCH", 30)
    monkeypatch.setattr(module, "STRETCHES", 4)
    some, _ = a_day_of(60, 3).of_means(values.reshape(-1, 1))
    assert some[0] == pytest.approx(whole[0], rel=0.5)
    assert some[0] != whole[0]


def test_days_are_those_of_the_calendar() -> None:
    clusters = Clusters(
        [Shares(date(2026, 1, 1), ("a",), "x"), Shares(date(2026, 1, 1), ("b",), "x")]
    )
    (part,) = clusters.parts
    assert part.groups() == 1.0
