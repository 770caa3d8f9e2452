"""The promise of each claim, tried on a few seeded hospitals: the short part of the benchmark.

``benchmarks/claims.py`` tries many more; what it measured is in ``docs/statistics.md``.
"""

from dataclasses import replace

import pytest

from benchmarks.claims import FIRST_PAGE, HARD, WORLDS, World, said, tallied
from simengine.cohort.claims import SURE, WRONGLY
from tests.amount import seeds

HOSPITALS = 40
QUICK = ("better or worse", "a unit drifts", "the weakest step", "steps fail together", "learning")


def test_the_first_page_as_a_whole_is_promised_ten_per_cent() -> None:
    assert len(FIRST_PAGE) * WRONGLY == pytest.approx(0.10)
    assert SURE == 1 - WRONGLY


@pytest.mark.parametrize("world", WORLDS, ids=lambda world: world.words)
def test_what_is_not_so_is_said_in_few_hospitals(world: World) -> None:
    """At most 5 % and what chance adds to it: 6 of 40, which 2.5 % reach in one of 2,000 runs."""
    small = replace(
        world,
        effects=replace(world.effects, sessions=90, steps=6, scenarios=3),
        wrong=tuple(claim for claim in QUICK if claim in world.wrong),
    )
    many = seeds(HOSPITALS)
    for claim, (made, of) in tallied(said(small, seed) for seed in range(many)).items():
        promised = 0.10 if claim == "any of the first page" else 0.05
        assert made <= 2 + 2 * promised * of, (world.words, claim, made, of)


@pytest.mark.parametrize("world", [WORLDS[1], WORLDS[2]], ids=lambda world: world.words)
def test_fading_is_said_in_few_hospitals_where_nothing_fades(world: World) -> None:
    """At most 5 % and what chance adds to it: 3 of 12, which 2.5 % go beyond in one of 6,000."""
    small = replace(
        world,
        effects=replace(world.effects, sessions=90, steps=6, scenarios=3),
        wrong=("fading",),
    )
    many = seeds(12)
    ((made, of),) = tallied(said(small, seed) for seed in range(many)).values()
    assert made <= 2 + 2 * 0.05 * of, (made, of)


@pytest.mark.parametrize(
    ("claim", "effects"),
    [
        ("better or worse", replace(HARD, growth=0.8)),
        ("a unit drifts", replace(HARD, worse=3.0, units=1, sessions=150)),
        ("learning", replace(HARD, doubling=-0.5)),
        ("fading", replace(HARD, fading=-0.6)),
        ("the weakest step", replace(HARD, step=3.0, steps=3)),
    ],
)
def test_what_is_plainly_so_is_said(claim: str, effects: object) -> None:
    world = World(claim, effects, (claim,))  # type: ignore[arg-type]
    made = sum(said(world, seed)[claim] for seed in range(6))
    assert made >= 3, made
