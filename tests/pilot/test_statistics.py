"""The statistics of a pilot, beside published examples and other libraries.

Sources stand at each test.
"""

from random import Random

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from simengine.pilot.statistics import area_under_curve, correlation, spread, wilson

# Brennan 2001, synthetic data set 1: 10 people, 12 items (published example).
BRENNAN = [
    [int(mark) for mark in row]
    for row in (
        "101000000000",
        "111001000000",
        "111110000000",
        "110110010000",
        "111110100000",
        "111011100000",
        "111111100000",
        "111101111100",
        "111111111110",
        "111111111111",
    )
]

numbers = st.lists(st.integers(0, 12).map(float), min_size=1, max_size=25)


@pytest.mark.parametrize(
    ("item", "plain", "corrected"), [(5, 0.37495, 0.2315), (9, 0.8749, 0.8299)]
)
def test_an_items_discrimination_is_that_of_the_published_example(
    item: int, plain: float, corrected: float
) -> None:
    marks = [float(row[item - 1]) for row in BRENNAN]
    totals = [float(sum(row)) for row in BRENNAN]
    rests = [total - mark for total, mark in zip(totals, marks, strict=True)]
    assert correlation(marks, totals) == pytest.approx(plain, abs=5e-5)
    assert correlation(marks, rests) == pytest.approx(corrected, abs=5e-5)


def test_an_item_that_everybody_gets_tells_nothing() -> None:
    marks = [float(row[0]) for row in BRENNAN]
    assert correlation(marks, [float(sum(row)) for row in BRENNAN]) is None


@given(st.lists(st.tuples(st.integers(0, 1), st.integers(-50, 50)), min_size=3, max_size=40))
def test_discrimination_of_an_item_of_0_or_1_is_scipys_point_biserial(
    pairs: list[tuple[int, int]],
) -> None:
    marks, totals = [float(a) for a, _ in pairs], [float(b) for _, b in pairs]
    coefficient = correlation(marks, totals)
    if len(set(marks)) < 2 or len(set(totals)) < 2:
        assert coefficient is None
    else:
        assert coefficient == pytest.approx(
            scipy.stats.pointbiserialr([mark == 1.0 for mark in marks], totals).statistic
        )


@given(numbers, numbers)
def test_the_area_is_mann_and_whitneys_u_as_scipy_has_it(
    low: list[float], high: list[float]
) -> None:
    u = scipy.stats.mannwhitneyu(high, low).statistic
    assert area_under_curve(low, high) == pytest.approx(u / (len(low) * len(high)))


def test_the_area_is_1_where_all_are_apart_and_one_half_where_all_are_equal() -> None:
    assert area_under_curve([0.1, 0.2], [0.3, 0.4]) == 1.0
    assert area_under_curve([0.3, 0.4], [0.1, 0.2]) == 0.0
    assert area_under_curve([0.5] * 4, [0.5] * 3) == 0.5
    assert area_under_curve([], [1.0]) is None


# Newcombe 1998, Statistics in Medicine 17:857 (cases read; limits computed with numpy).
@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [
        (81, 263, 0.25529, 0.36621),
        (15, 148, 0.06239, 0.16049),
        (0, 20, 0.0, 0.16113),
        (1, 29, 0.00611, 0.17176),
    ],
)
def test_wilsons_limits_are_those_of_newcombes_cases(
    successes: int, trials: int, low: float, high: float
) -> None:
    assert wilson(successes, trials) == pytest.approx((low, high), abs=5e-6)


@given(numbers)
def test_quartiles_are_numpys(values: list[float]) -> None:
    quartiles = spread(values)
    assert quartiles is not None
    wanted = np.percentile(values, [0, 25, 50, 75, 100])
    assert [
        quartiles.least,
        quartiles.lower,
        quartiles.median,
        quartiles.upper,
        quartiles.largest,
    ] == pytest.approx(list(wanted))
    assert quartiles.count == len(values)


def test_nothing_is_made_of_no_numbers() -> None:
    assert spread([]) is None
    assert wilson(0, 0) is None
    assert correlation([1.0], [2.0]) is None


def test_the_area_does_not_depend_on_the_order() -> None:
    chance = Random(4)
    low, high = [[chance.random() for _ in range(9)] for _ in range(2)]
    turned = area_under_curve(low[::-1], sorted(high))
    assert area_under_curve(low, high) == turned
