"""The chance that the next attempt meets the standard."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.cohort.chance import JEFFREYS, next_attempt

UNIFORM = 1.0


@pytest.mark.parametrize(
    ("met", "of", "uniform", "jeffreys"),
    [
        # P(chance > .8), worked out with scipy's beta from the conjugate posterior
        (9, 10, 0.67788, 0.77364),
        (10, 10, 0.91410, 0.96761),
        (8, 10, 0.38260, 0.46650),
    ],
)
def test_how_sure_a_chance_above_the_target_is(
    met: int, of: int, uniform: float, jeffreys: float
) -> None:
    assert round(next_attempt(met, of, prior=UNIFORM, target=0.8).above_target, 5) == uniform
    assert round(next_attempt(met, of, prior=JEFFREYS, target=0.8).above_target, 5) == jeffreys
    assert next_attempt(met, of).above_target == next_attempt(met, of, prior=0.5).above_target


def test_by_hand_one_of_one_under_a_uniform_prior() -> None:
    """The posterior is Beta(2, 1), density 2x: P(above t) = 1 - t², mean 2/3, quantile √q."""
    chance = next_attempt(1, 1, prior=UNIFORM, target=0.5)
    assert chance.above_target == pytest.approx(0.75)
    assert chance.mean == pytest.approx(2 / 3)
    assert (chance.low, chance.high) == pytest.approx((0.05**0.5, 0.95**0.5))


@given(st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_is_that_of_statsmodels_for_jeffreys(drawn: tuple[int, int]) -> None:
    """statsmodels 0.14+, proportion_confint(method="jeffreys"); to 1e-9."""
    from statsmodels.stats.proportion import proportion_confint

    met, of = drawn
    if of == 0:
        return
    chance = next_attempt(met, of)
    low, high = proportion_confint(met, of, alpha=0.10, method="jeffreys")
    assert (chance.low, chance.high) == pytest.approx((low, high), abs=1e-9)


@given(st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_one_more_that_meets_the_standard_never_lowers_the_chance(drawn: tuple[int, int]) -> None:
    met, of = drawn
    assert next_attempt(met + 1, of + 1).mean > next_attempt(met, of).mean
    assert next_attempt(met + 1, of + 1).above_target >= next_attempt(met, of).above_target


def test_more_met_than_tried_is_refused() -> None:
    with pytest.raises(ValueError, match="found 3 of 2"):
        next_attempt(3, 2)
