"""Items: how hard, how telling, which fail together."""

from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.cohort.items import (
    correlation,
    discrimination,
    exact_p,
    fail_together,
    item_statistics,
    phi,
)
from tests.amount import seeds
from tests.cohort.brennan import CREDITS, SESSIONS
from tests.cohort.made import a_reference, item, result


def test_brennans_items_have_the_difficulties_printed() -> None:
    figures = item_statistics(SESSIONS)
    difficulties = [round(row.credit.mean, 6) for row in figures if row.credit is not None]
    assert difficulties == [1, 0.9, 0.9, 0.7, 0.7, 0.6, 0.6, 0.4, 0.3, 0.3, 0.2, 0.1]
    failures = [row.failed.count for row in figures if row.failed]
    assert failures == [0, 1, 1, 3, 3, 4, 4, 6, 7, 7, 8, 9]


def test_brennans_items_have_the_discriminations_worked_out() -> None:
    """Recomputed with numpy from the same data: plain point-biserial, then corrected."""
    table = np.array(CREDITS)
    totals = table.sum(axis=1)
    plain = {place: correlation(table[:, place - 1], totals) for place in (5, 9)}
    corrected = {place: discrimination(table, place - 1) for place in (5, 9)}
    assert plain[5] is not None
    assert plain[9] is not None
    assert (round(plain[5].value, 5), round(plain[9].value, 4)) == (0.37495, 0.8749)
    assert {place: round(value.value, 4) for place, value in corrected.items() if value} == {
        5: 0.2315,
        9: 0.8299,
    }


def test_an_item_that_everybody_does_has_no_discrimination_and_does_not_crash() -> None:
    first = item_statistics(SESSIONS)[0]
    assert first.discrimination is None
    assert first.credit is not None
    assert first.credit.mean == 1.0


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_a_correlation_and_its_interval_are_those_of_pingouin(seed: int) -> None:
    """pingouin 0.5.5+, corr: value to 1e-9, interval to the digits that it prints."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(5, 80))
    first = (rng.random(n) < 0.6).astype(float)
    other = first * rng.random() + rng.random(n)
    if first.min() == first.max():
        assert correlation(first, other) is None
        return
    with a_reference():
        import pingouin

        expected = pingouin.corr(first, other)
    interval = next(name for name in expected.columns if str(name).startswith("CI95"))
    low, high = expected[interval].iloc[0]
    ours = correlation(first, other)
    assert ours is not None
    assert ours.value == pytest.approx(float(expected["r"].iloc[0]), abs=1e-9)
    assert ours.low == pytest.approx(low, abs=0.0051)
    assert ours.high == pytest.approx(high, abs=0.0051)


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_phi_is_that_of_scikit_learn_and_q_that_of_statsmodels(seed: int) -> None:
    """scikit-learn 1.5+, metrics.matthews_corrcoef; statsmodels 0.14+, multipletests; to 1e-9."""
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(6, 60)), int(rng.integers(2, 6))
    failed = rng.random((n, k)) < rng.uniform(0.2, 0.8)
    sessions = [
        result(number, *(item(f"i{place}", 0.0 if bad else 1.0) for place, bad in enumerate(row)))
        for number, row in enumerate(failed)
    ]
    pairs = fail_together(sessions)
    with a_reference():
        from sklearn.metrics import matthews_corrcoef
        from statsmodels.stats.multitest import multipletests

        for pair in pairs:
            first, other = failed[:, int(pair.one[1:])], failed[:, int(pair.other[1:])]
            assert pair.phi == pytest.approx(matthews_corrcoef(first, other), abs=1e-9)
            assert (pair.both, pair.n) == (int((first & other).sum()), n)
        if pairs:
            expected = multipletests([pair.p for pair in pairs], method="fdr_bh")[1]
            assert [pair.q for pair in pairs] == pytest.approx(list(expected), abs=1e-9)
    assert list(pairs) == sorted(pairs, key=lambda pair: pair.q)


@given(st.tuples(*[st.integers(0, 12)] * 4).filter(any))
def test_the_exact_p_is_the_sum_over_all_tables_with_these_margins(
    counts: tuple[int, int, int, int],
) -> None:
    """Counted out with whole numbers: a table's chance is a product of binomials."""
    both, first, other, _ = counts
    rows, columns, n = both + first, both + other, sum(counts)

    def ways(corner: int) -> int:
        return comb(columns, corner) * comb(n - columns, rows - corner)

    corners = range(max(0, rows + columns - n), min(rows, columns) + 1)
    likely = sum(ways(corner) for corner in corners if ways(corner) <= ways(both))
    assert exact_p(counts) == pytest.approx(likely / comb(n, rows), abs=1e-9)


def test_what_was_not_reached_is_in_no_figure() -> None:
    sessions = [
        result(0, item("a", 1.0), item("b", None)),
        result(1, item("a", 0.4, with_cue=True), item("b", 1.0)),
        result(2, item("a", None), item("b", None)),
    ]
    first, second = item_statistics(sessions)
    assert (first.n, second.n) == (2, 1)
    assert first.failed is not None
    assert first.failed.count == 1
    assert first.with_cue is not None
    assert (first.with_cue.count, first.with_cue.of) == (1, 2)
    assert first.few
    assert second.discrimination is None


def test_an_item_never_reached_has_no_figures_and_no_sessions_have_no_items() -> None:
    (only,) = item_statistics([result(0, item("a", None))])
    assert (only.n, only.credit, only.failed, only.discrimination) == (0, None, None, None)
    assert item_statistics([]) == ()
    assert fail_together([]) == ()


def test_pairs_that_tell_nothing_are_left_out() -> None:
    sessions = [result(n, item("a", n % 2 / 1), item("b", 1.0)) for n in range(8)]
    assert fail_together(sessions) == ()  # b never fails
    assert phi((0, 4, 0, 4)) is None
    few = [result(n, item("a", n % 2 / 1), item("b", n % 2 / 1)) for n in range(4)]
    assert fail_together(few) == ()
    more = [result(n, item("a", n % 2 / 1), item("b", n % 2 / 1)) for n in range(8)]
    (pair,) = fail_together(more)
    assert (pair.phi, pair.both, pair.neither) == (1.0, 4, 4)
