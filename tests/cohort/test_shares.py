"""Shares and means with their intervals, against printed cases and statsmodels."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.cohort.shares import mean_of, mean_share, wilson
from simengine.pilot.statistics import wilson as pilots_wilson
from tests.cohort.made import a_reference


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [
        # cases of Newcombe 1998, Statistics in Medicine 17:857 (limits recomputed to five digits)
        (81, 263, 0.25529, 0.36621),
        (15, 148, 0.06239, 0.16049),
        (0, 20, 0.0, 0.16113),
        (1, 29, 0.00611, 0.17176),
    ],
)
def test_the_interval_of_a_share_is_that_printed(
    count: int, of: int, low: float, high: float
) -> None:
    share = wilson(count, of)
    assert share is not None
    assert (round(share.low, 5), round(share.high, 5)) == (low, high)


@given(st.integers(0, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_of_a_share_is_that_of_statsmodels(drawn: tuple[int, int]) -> None:
    """statsmodels 0.14+, stats.proportion.proportion_confint; to 1e-9."""
    count, of = drawn
    share = wilson(count, of)
    if share is None:
        assert of == 0
        return
    with a_reference():
        from statsmodels.stats.proportion import proportion_confint

        low, high = proportion_confint(count, of, method="wilson")
    assert (share.low, share.high) == pytest.approx((low, high), abs=1e-9)
    assert (share.low, share.high) == pytest.approx(pilots_wilson(count, of), abs=1e-9)
    assert 0.0 <= share.low <= share.share <= share.high + 1e-12 <= 1.0 + 1e-12
    assert share.few == (of < 5)


def test_a_share_of_an_impossible_count_is_refused() -> None:
    with pytest.raises(ValueError, match="found 3 of 2"):
        wilson(3, 2)


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=40))
def test_the_interval_of_a_mean_is_that_of_statsmodels(values: list[float]) -> None:
    """statsmodels 0.14+, stats.weightstats.DescrStatsW.tconfint_mean; to 1e-6 relative."""
    mean = mean_of(values)
    assert mean is not None
    with a_reference():
        from statsmodels.stats.weightstats import DescrStatsW

        low, high = DescrStatsW(values).tconfint_mean()
    assert mean.low == pytest.approx(low, rel=1e-6, abs=1e-6)
    assert mean.high == pytest.approx(high, rel=1e-6, abs=1e-6)


def test_the_mean_of_one_value_has_no_interval_and_of_none_is_none() -> None:
    mean = mean_of([3.0])
    assert mean is not None
    assert (mean.mean, mean.sd, mean.low, mean.high) == (3.0, None, None, None)
    assert mean_of([]) is None


def test_the_interval_of_a_mean_share_stays_where_a_share_can_be() -> None:
    plain, share = mean_of([0.8, 1.0]), mean_share([0.8, 1.0])
    assert plain is not None
    assert share is not None
    assert plain.high is not None
    assert plain.high > 1.0
    assert (share.mean, share.low, share.high) == (0.9, 0.0, 1.0)
    assert mean_share([0.4, 0.5, 0.6, 0.5]) == mean_of([0.4, 0.5, 0.6, 0.5])
    assert mean_share([]) is None
