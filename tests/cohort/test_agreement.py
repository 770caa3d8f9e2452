"""Agreement of observers, against printed examples, scikit-learn and statsmodels."""

from itertools import permutations
from math import nan

import numpy as np
import pytest
from numpy.typing import NDArray

from simengine.cohort.agreement import (
    Agreement,
    Level,
    Weights,
    cohen_kappa,
    cross_table,
    fleiss_by_category,
    fleiss_kappa,
    krippendorff_alpha,
)
from tests.amount import seeds
from tests.cohort.made import a_reference

# Cohen 1968, Psychological Bulletin 70:213, as printed in the documentation of the R package psych
COHEN_1968 = 200 * np.array([[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]])


def told(found: Agreement | None) -> Agreement:
    assert found is not None
    return found


def test_cohens_kappa_of_1968_is_that_printed() -> None:
    kappa = told(cohen_kappa(COHEN_1968))
    assert round(kappa.value, 5) == 0.49153
    assert (round(kappa.observed, 2), round(kappa.expected, 2), kappa.n) == (0.70, 0.41, 200)


@pytest.mark.parametrize(
    ("weights", "table", "value"),
    [
        ([[0, 1, 3], [1, 0, 6], [3, 6, 0]], COHEN_1968, 0.34783),
        ([[0, 1, 4], [1, 0, 6], [2, 2, 0]], COHEN_1968, 0.35338),
        ([[0, 1, 4], [1, 0, 6], [2, 2, 0]], COHEN_1968.T, 0.42056),  # which way round matters
        ("linear", COHEN_1968, 0.47368),
        ("quadratic", COHEN_1968, 0.45455),
        (None, [[20, 5], [10, 15]], 0.40),
    ],
)
def test_weighted_kappas_are_those_printed(
    weights: Weights | list[list[int]] | None, table: list[list[float]], value: float
) -> None:
    """The first two as printed in psych; the others recomputed with numpy."""
    assert round(told(cohen_kappa(table, weights)).value, 5) == value


@pytest.mark.parametrize("seed", range(seeds(60)))
@pytest.mark.parametrize("weights", [None, "linear", "quadratic"])
def test_cohens_kappa_is_that_of_scikit_learn_and_statsmodels(
    seed: int, weights: Weights | None
) -> None:
    """scikit-learn 1.5+, metrics.cohen_kappa_score: to 1e-9. statsmodels 0.14+,
    stats.inter_rater.cohens_kappa: value, and the interval from its standard error, to 1e-9."""
    rng = np.random.default_rng(seed)
    k, n = int(rng.integers(2, 6)), int(rng.integers(6, 200))
    one = rng.integers(0, k, n)
    other = np.where(rng.random(n) < rng.random(), one, rng.integers(0, k, n))
    words = [str(number) for number in range(k)]
    table = cross_table([str(v) for v in one], [str(v) for v in other], words)
    with a_reference():
        from sklearn.metrics import cohen_kappa_score
        from statsmodels.stats.inter_rater import cohens_kappa

        learn = cohen_kappa_score(one, other, labels=list(range(k)), weights=weights)
        models = cohens_kappa(table, wt=weights)
    kappa = told(cohen_kappa(table, weights))
    assert kappa.value == pytest.approx(learn, abs=1e-9)
    assert kappa.value == pytest.approx(models.kappa, abs=1e-9)
    assert kappa.low == pytest.approx(models.kappa_low, abs=1e-9)
    assert kappa.high == pytest.approx(min(1.0, models.kappa_upp), abs=1e-9)


def test_a_kappa_that_chance_alone_explains_is_none() -> None:
    assert cohen_kappa([[9, 0], [0, 0]]) is None
    assert cohen_kappa([[0, 0], [0, 0]]) is None
    assert fleiss_kappa([[3, 0], [3, 0]]) is None
    assert krippendorff_alpha([[1, 1, 1], [1, 1, 1]]) is None
    assert krippendorff_alpha([[1, nan], [nan, 1]]) is None


def test_shapes_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="square"):
        cohen_kappa([[1, 2, 3], [1, 2, 3]])
    with pytest.raises(ValueError, match="shape"):
        cohen_kappa([[1, 2], [3, 4]], [[0, 1, 2]])
    with pytest.raises(ValueError, match="same number"):
        fleiss_kappa([[3, 0], [2, 0]])
    with pytest.raises(ValueError, match="observers"):
        krippendorff_alpha([1, 2, 3])


# Fleiss 1971, Psychological Bulletin 76:378: 30 patients, 6 raters, 5 categories
PATIENTS = """
00060 03003 01401 00006 03030 20400 00402 20310 20040 00006 10050 11040 03300 10050 02031
00501 30012 51000 02040 10203 00006 01050 02013 20040 10041 05010 40002 02040 10500 00006
"""
FLEISS_1971 = [[int(digit) for digit in row] for row in PATIENTS.split()]


def test_fleiss_kappa_of_1971_is_that_printed() -> None:
    kappa = told(fleiss_kappa(FLEISS_1971))
    assert round(kappa.value, 5) == 0.43024
    assert kappa.n == 30
    assert kappa.low is not None
    assert kappa.high is not None
    assert kappa.low < kappa.value < kappa.high
    by_category = [round(one, 3) for one in fleiss_by_category(FLEISS_1971) if one is not None]
    assert by_category == [0.245, 0.245, 0.520, 0.471, 0.566]


@pytest.mark.parametrize("seed", range(seeds(60)))
def test_fleiss_kappa_is_that_of_statsmodels(seed: int) -> None:
    """statsmodels 0.14+, stats.inter_rater.fleiss_kappa; to 1e-9."""
    rng = np.random.default_rng(seed)
    things, raters, categories = rng.integers(2, 40), rng.integers(2, 7), rng.integers(2, 6)
    chances = rng.dirichlet(np.ones(categories), size=things)
    counts = np.array([rng.multinomial(raters, chance) for chance in chances])
    with a_reference():
        from statsmodels.stats.inter_rater import fleiss_kappa as reference

        expected = reference(counts, method="fleiss")
    found = fleiss_kappa(counts, resamples=0)
    if (counts.sum(axis=0) == 0).sum() == categories - 1:  # one category alone was used
        assert found is None
    else:
        assert told(found).value == pytest.approx(expected, abs=1e-9)


# Krippendorff 2011, "Computing Krippendorff's alpha-reliability": rows are observers
KRIPPENDORFF = [
    [1, 2, 3, 3, 2, 1, 4, 1, 2, nan, nan, nan],
    [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, nan, nan],
    [nan, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, 3],
    [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, nan],
]


@pytest.mark.parametrize(
    ("level", "value"), [("nominal", 0.74342), ("ordinal", 0.81539), ("interval", 0.84911)]
)
def test_krippendorffs_alpha_is_that_printed(level: Level, value: float) -> None:
    alpha = told(krippendorff_alpha(KRIPPENDORFF, level))
    assert round(alpha.value, 5) == value
    assert alpha.n == 11  # the last thing was rated once
    assert alpha.low is not None
    assert alpha.high is not None
    assert alpha.low < value < alpha.high


def _alpha_pair_by_pair(table: NDArray[np.float64], level: Level) -> float:
    """Krippendorff's alpha from its definition, over every ordered pair of values."""
    things = [[v for v in column if not np.isnan(v)] for column in table.T]
    things = [values for values in things if len(values) >= 2]
    every = sorted(v for values in things for v in values)

    def apart(a: float, b: float) -> float:
        if level == "nominal":
            return float(a != b)
        if level == "interval":
            return (a - b) ** 2
        low, high = min(a, b), max(a, b)
        between = sum(low <= v <= high for v in every)
        ends = (every.count(low) + every.count(high)) / 2
        return (between - ends) ** 2 if low != high else 0.0

    n = len(every)
    observed = sum(
        apart(a, b) / (len(values) - 1) for values in things for a, b in permutations(values, 2)
    )
    expected = sum(apart(a, b) for a, b in permutations(every, 2)) / (n - 1)
    return 1 - observed / expected


@pytest.mark.parametrize("seed", range(seeds(50)))
@pytest.mark.parametrize("level", ["nominal", "ordinal", "interval"])
def test_krippendorffs_alpha_is_its_definition_pair_by_pair(seed: int, level: Level) -> None:
    rng = np.random.default_rng(seed)
    shape = (int(rng.integers(2, 5)), int(rng.integers(3, 15)))
    table = rng.integers(1, 5, shape).astype(float)
    table[rng.random(shape) < 0.2] = nan
    found = krippendorff_alpha(table, level, resamples=0)
    if found is None:
        return
    assert found.value == pytest.approx(_alpha_pair_by_pair(table, level), abs=1e-9)


def test_intervals_repeat_and_small_numbers_are_few() -> None:
    assert fleiss_kappa(FLEISS_1971) == fleiss_kappa(FLEISS_1971)
    assert told(cohen_kappa([[1, 1], [0, 1]])).few
    assert not told(cohen_kappa(COHEN_1968)).few
