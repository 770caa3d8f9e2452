"""Reliability of a guide, against Brennan's synthetic data and pingouin."""

import numpy as np
import pytest

from simengine.cohort.credit_table import complete, credit_table
from simengine.cohort.reliability import guide_reliability, reliability
from tests.amount import seeds
from tests.cohort.brennan import CREDITS, SESSIONS
from tests.cohort.made import a_reference, item, result


def test_brennans_synthetic_data_give_the_figures_printed() -> None:
    """Brennan 2001, Generalizability Theory, synthetic data set 1."""
    figures = reliability(CREDITS)
    assert figures is not None
    assert (figures.sessions, figures.items) == (10, 12)
    assert round(figures.of_session, 4) == 0.0574
    assert round(figures.of_item, 4) == 0.0754
    assert round(figures.rest, 4) == 0.1269
    assert round(figures.alpha, 5) == 0.84449
    assert round(figures.dependability, 5) == 0.77302
    assert round(figures.total_sd, 5) == 3.12872
    assert round(figures.sem, 5) == 1.23378


def test_the_results_of_sessions_give_the_same_figures() -> None:
    guide = guide_reliability(SESSIONS)
    assert guide.reliability == reliability(CREDITS)
    assert (guide.items_left_out, guide.sessions_left_out) == ((), 0)


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_alpha_and_its_interval_are_those_of_pingouin(seed: int) -> None:
    """pingouin 0.5.5+, cronbach_alpha: value to 1e-9, interval to its three digits."""
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(3, 40)), int(rng.integers(2, 12))
    table = rng.normal(size=(n, 1)) * rng.uniform(0, 2) + rng.normal(size=(n, k))
    with a_reference():
        import pandas as pd
        import pingouin

        alpha, (low, high) = pingouin.cronbach_alpha(pd.DataFrame(table))
    figures = reliability(table)
    assert figures is not None
    assert figures.alpha == pytest.approx(alpha, abs=1e-9)
    assert (figures.low, figures.high) == pytest.approx((low, high), abs=6e-4)


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_components_are_those_of_a_two_way_analysis_of_variance(seed: int) -> None:
    """statsmodels 0.14+, stats.anova.anova_lm of sessions and items; to 1e-9."""
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(3, 12)), int(rng.integers(2, 8))
    table = rng.random((n, k)) + rng.random((n, 1)) + rng.random(k)
    with a_reference():
        import pandas as pd
        from statsmodels.formula.api import ols
        from statsmodels.stats.anova import anova_lm

        long = pd.DataFrame(
            [(i, j, table[i, j]) for i in range(n) for j in range(k)], columns=["s", "i", "y"]
        )
        anova = anova_lm(ols("y ~ C(s) + C(i)", long).fit())
    mean = anova["sum_sq"] / anova["df"]
    rest = float(mean["Residual"])
    figures = reliability(table)
    assert figures is not None
    assert figures.rest == pytest.approx(rest, abs=1e-9)
    assert figures.of_session == pytest.approx(max(0.0, (mean["C(s)"] - rest) / k), abs=1e-9)
    assert figures.of_item == pytest.approx(max(0.0, (mean["C(i)"] - rest) / n), abs=1e-9)


def test_what_can_t_be_told_is_none() -> None:
    assert reliability([[1.0, 0.0]]) is None
    assert reliability([[1.0], [0.0]]) is None
    assert reliability([[0.5, 0.5]] * 4) is None
    assert guide_reliability([]).reliability is None
    with pytest.raises(ValueError, match="without a gap"):
        reliability([[1.0, float("nan")], [1.0, 0.0]])


def test_items_seldom_reached_and_sessions_with_gaps_are_left_out_and_told() -> None:
    sessions = [
        result(
            n,
            item("always", n % 3 / 2),
            item("mostly", None if n == 0 else 1.0 - n % 2 / 2),
            item("seldom", 1.0 if n == 1 else None),
        )
        for n in range(20)
    ]
    guide = guide_reliability(sessions)
    assert guide.items_left_out == ("seldom",)
    assert guide.sessions_left_out == 1
    assert guide.reliability is not None
    assert (guide.reliability.sessions, guide.reliability.items) == (19, 2)


def test_an_avoid_item_has_no_column() -> None:
    table = credit_table([result(0, item("good"), item("bad", None, kind="avoid"))])
    assert [column.id for column in table.items] == ["good"]
    assert complete(table).credits.shape == (1, 1)
    assert complete(credit_table([])).credits.shape == (0, 0)
