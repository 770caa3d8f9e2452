"""Agreement on what was measured, against Shrout and Fleiss, pingouin and a case by hand."""

import numpy as np
import pytest

from simengine.cohort.measured_twice import FORMS, intraclass, limits_of_agreement
from tests.amount import seeds
from tests.cohort.made import a_reference

# Shrout and Fleiss 1979, Psychological Bulletin 86:420, table 2: six targets, four judges
SHROUT_FLEISS = [
    [9, 2, 5, 8],
    [6, 1, 3, 2],
    [8, 4, 6, 8],
    [7, 1, 2, 6],
    [10, 5, 6, 9],
    [6, 2, 4, 7],
]


def test_the_six_correlations_of_shrout_and_fleiss_are_those_printed() -> None:
    by_form = intraclass(SHROUT_FLEISS)
    assert by_form is not None
    assert {form: round(icc.value, 4) for form, icc in by_form.items()} == {
        "1,1": 0.1657,
        "2,1": 0.2898,
        "3,1": 0.7148,
        "1,k": 0.4428,
        "2,k": 0.6201,
        "3,k": 0.9093,
    }
    three = by_form["3,1"]
    assert (round(three.low, 3), round(three.high, 3)) == (0.342, 0.946)
    assert (three.things, three.observers) == (6, 4)


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_intraclass_correlations_are_those_of_pingouin(seed: int) -> None:
    """pingouin 0.5.5+, intraclass_corr: values to 1e-6, intervals to the digits it prints."""
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(4, 20)), int(rng.integers(2, 5))
    table = rng.normal(size=(n, 1)) * rng.uniform(0.5, 3) + rng.normal(size=(n, k))
    table += rng.normal(size=k)
    with a_reference():
        import pandas as pd
        import pingouin

        long = pd.DataFrame(
            [(i, j, table[i, j]) for i in range(n) for j in range(k)],
            columns=["thing", "observer", "figure"],
        )
        expected = pingouin.intraclass_corr(long, "thing", "observer", "figure")
    by_form = intraclass(table)
    assert by_form is not None
    interval = next(name for name in expected.columns if str(name).startswith("CI95"))
    for form, (_, row) in zip(FORMS, expected.iterrows(), strict=True):
        assert by_form[form].value == pytest.approx(row["ICC"], abs=1e-6)
        low, high = row[interval]
        assert by_form[form].low == pytest.approx(low, abs=0.0051)
        assert by_form[form].high == pytest.approx(high, abs=0.0051)


def test_observers_who_never_differ_agree_by_1_and_a_leaning_shows_where_it_counts() -> None:
    same = intraclass([[1.0, 1.0], [5.0, 5.0], [9.0, 9.0]])
    assert same is not None
    for coefficient in same.values():
        assert (coefficient.value, coefficient.low, coefficient.high) == pytest.approx(
            (1.0, 1.0, 1.0), abs=1e-6
        )
    leaning = intraclass([[1.0, 3.0], [5.0, 7.0], [9.0, 11.0]])
    assert leaning is not None
    assert leaning["3,1"].value == pytest.approx(1.0, abs=1e-6)
    assert leaning["2,1"].value == pytest.approx(16 / (16 + 2), abs=1e-6)  # variances
    assert leaning["1,1"].value < leaning["2,1"].value < leaning["3,1"].value
    assert 0.0 <= leaning["2,1"].low <= leaning["2,1"].value <= leaning["2,1"].high <= 1.0


def test_correlations_that_can_t_be_told_are_none() -> None:
    assert intraclass([[1.0, 2.0]]) is None
    assert intraclass([[1.0], [2.0]]) is None
    assert intraclass([[5.0, 5.0]] * 3) is None  # nothing varies
    assert intraclass([[1.0, 2.0]] * 3) is None  # nothing varies between things
    with pytest.raises(ValueError, match="without a gap"):
        intraclass([[1.0, float("nan")], [1.0, 2.0]])
    with pytest.raises(ValueError, match="things, observers"):
        intraclass([1.0, 2.0, 3.0])


def test_limits_of_agreement_by_hand() -> None:
    """Differences 1, 2, 3, 4, 5: mean 3, variance 10 / 4; t(0.975, 4) = 2.776 from tables."""
    limits = limits_of_agreement([11, 22, 33, 44, 55], [10, 20, 30, 40, 50])
    assert limits is not None
    sd = 2.5**0.5
    assert (limits.n, limits.bias) == (5, 3.0)
    assert limits.sd == pytest.approx(sd)
    ends = (3 - 1.95996 * sd, 3 + 1.95996 * sd)
    assert (limits.low, limits.high) == pytest.approx(ends, abs=1e-4)
    assert limits.bias_interval == pytest.approx(
        (3 - 2.776 * sd / 5**0.5, 3 + 2.776 * sd / 5**0.5), abs=1e-3
    )
    half = 2.776 * sd * (1 / 5 + 1.95996**2 / 8) ** 0.5
    assert limits.high_interval == pytest.approx((limits.high - half, limits.high + half), abs=1e-3)
    assert limits.low_interval == pytest.approx((limits.low - half, limits.low + half), abs=1e-3)


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_the_interval_of_the_bias_is_that_of_statsmodels(seed: int) -> None:
    """statsmodels 0.14+, weightstats.DescrStatsW.tconfint_mean of the differences; to 1e-9."""
    from statsmodels.stats.weightstats import DescrStatsW

    rng = np.random.default_rng(seed)
    first, other = rng.normal(60, 20, size=(2, int(rng.integers(2, 50))))
    limits = limits_of_agreement(first.tolist(), other.tolist())
    assert limits is not None
    assert limits.bias_interval == pytest.approx(
        DescrStatsW(first - other).tconfint_mean(), abs=1e-9
    )
    assert limits.low < limits.bias < limits.high


def test_one_pair_has_no_limits_and_few_are_called_few() -> None:
    assert limits_of_agreement([1.0], [2.0]) is None
    few = limits_of_agreement([1.0, 2.0], [2.0, 2.5])
    assert few is not None
    assert few.few
    with pytest.raises(ValueError, match="found 1 and 2"):
        limits_of_agreement([1.0], [2.0, 3.0])
