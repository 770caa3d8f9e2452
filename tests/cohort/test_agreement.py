"""Agreement of two observers, against printed examples, scikit-learn and statsmodels."""

import numpy as np
import pytest

from simengine.cohort.agreement import (
    Agreement,
    Weights,
    cohen_kappa,
    cross_table,
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
    first = rng.integers(0, k, n)
    other = np.where(rng.random(n) < rng.random(), first, rng.integers(0, k, n))
    words = [str(number) for number in range(k)]
    table = cross_table([str(v) for v in first], [str(v) for v in other], words)
    with a_reference():
        from sklearn.metrics import cohen_kappa_score
        from statsmodels.stats.inter_rater import cohens_kappa

        learn = cohen_kappa_score(first, other, labels=list(range(k)), weights=weights)
        models = cohens_kappa(table, wt=weights)
    kappa = told(cohen_kappa(table, weights))
    assert kappa.value == pytest.approx(learn, abs=1e-9)
    assert kappa.value == pytest.approx(models.kappa, abs=1e-9)
    assert kappa.low == pytest.approx(models.kappa_low, abs=1e-9)
    assert kappa.high == pytest.approx(min(1.0, models.kappa_upp), abs=1e-9)


def test_a_kappa_that_chance_alone_explains_is_none() -> None:
    assert cohen_kappa([[9, 0], [0, 0]]) is None
    assert cohen_kappa([[0, 0], [0, 0]]) is None


def test_shapes_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="square"):
        cohen_kappa([[1, 2, 3], [1, 2, 3]])
    with pytest.raises(ValueError, match="shape"):
        cohen_kappa([[1, 2], [3, 4]], [[0, 1, 2]])


def test_a_kappa_of_few_ratings_says_so() -> None:
    assert told(cohen_kappa([[1, 1], [0, 1]])).few
    assert not told(cohen_kappa(COHEN_1968)).few
