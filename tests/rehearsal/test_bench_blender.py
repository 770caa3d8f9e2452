"""The blender against what was measured, and two gases against the sum that everyone teaches."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.rehearsal.bench.bench_model import Blender
from simengine.rehearsal.bench.blender import arrival_of, mixed
from simengine.rehearsal.cot import Bench, bench_of
from simengine.session.arrival import STEPS, Arrival, Steps, come_by, in_steps, legs_of
from tests import shipped
from tests.amount import examples


@cache
def bench() -> Bench:
    of_the_cot = bench_of(shipped.scenario("cot-term"))
    assert of_the_cot is not None
    return of_the_cot


def blender() -> Blender:
    return bench().file.blender


def arrival() -> Arrival:
    return arrival_of(bench())


def settings(turns: Steps, flows: Steps) -> dict[str, Steps]:
    return {arrival().setting: turns, arrival().flow: flows}


def at_mask(turns: Steps, flows: Steps, at_ms: int) -> float:
    return come_by(legs_of(arrival(), settings(turns, flows)), at_ms)


@pytest.mark.parametrize(("flow", "mean_s", "sd_s"), [(5, 36, 15), (8, 31, 14), (10, 28, 14)])
def test_a_turn_reaches_the_mask_after_the_published_time(
    flow: float, mean_s: float, sd_s: float
) -> None:
    # Follett 2015: 36 ± 15, 31 ± 14, 28 ± 14 s at 5, 8, 10 L/min.
    turns, flows = [(0, 0.21), (60_000, 1.0)], [(0, flow)]
    arrived = 60_000 + int(mean_s * 1000)
    assert at_mask(turns, flows, arrived) == 1.0
    assert at_mask(turns, flows, arrived - 1) < 1.0
    known = next(each for each in blender().arrives if each.flow == flow)
    assert (known.mean_ms, known.sd_ms) == (1000 * mean_s, 1000 * sd_s)


def test_ten_litres_of_air_and_six_of_oxygen_make_50_6_per_cent() -> None:
    # The worked example of FiO2 = (0.21 x air + O2) / total: 10 air + 6 O2 = 0.506.
    assert mixed(blender(), 10.0, 6.0) == pytest.approx(0.506, abs=0.0005)


@pytest.mark.parametrize(("share", "oxygen"), [(0.30, 1.139), (0.40, 2.405), (0.50, 3.671)])
def test_ten_litres_in_all_take_the_oxygen_that_the_sum_says(share: float, oxygen: float) -> None:
    # The same sum turned round, worked by hand: flow x (F - 0.21) / 0.79 at 10 L/min.
    assert mixed(blender(), 10.0 - oxygen, oxygen) == pytest.approx(share, abs=0.0002)


shares = st.floats(0.21, 1.0)


@examples(100)
@given(
    first=shares,
    turned=st.lists(st.tuples(st.integers(1, 60_000), shares), min_size=1, max_size=5),
    flow=st.floats(1.0, 15.0),
)
def test_what_is_at_the_mask_ends_at_the_dial_and_stays_within_what_it_was_turned_to(  # type: ignore[no-untyped-def]
    first, turned, flow
) -> None:
    turns = [(0, first), *sorted(dict(turned).items())]
    values = [value for _, value in turns]
    last = turns[-1][0]
    for at_ms in range(0, last + 36_000, 3_000):
        there = at_mask(turns, [(0, flow)], at_ms)
        assert min(values) - 1e-12 <= there <= max(values) + 1e-12
    assert at_mask(turns, [(0, flow)], last + 36_000) == turns[-1][1]


@examples(50)
@given(first=st.floats(0.5, 20.0), other=st.floats(0.5, 20.0))
def test_more_flow_never_makes_a_turn_slower(first, other) -> None:  # type: ignore[no-untyped-def]
    slow, fast = sorted((first, other))
    slower, faster = arrival().delay_ms(slow), arrival().delay_ms(fast)
    assert slower is not None
    assert faster is not None
    assert faster <= slower


def test_without_flow_nothing_comes_and_with_it_again_it_goes_on_from_there() -> None:
    turns = [(0, 0.21), (10_000, 1.0)]
    flows = [(0, 8.0), (20_000, 0.0), (80_000, 8.0)]
    stopped = at_mask(turns, flows, 20_000)
    assert 0.21 < stopped < 1.0
    assert at_mask(turns, flows, 79_000) == stopped
    # 31 s at 8 L/min, of which 10 s had gone by.
    assert at_mask(turns, flows, 80_000 + 21_000) == 1.0
    assert arrival().delay_ms(0.0) is None


def test_a_turn_back_on_the_way_begins_from_what_is_at_the_mask_then() -> None:
    turns = [(0, 0.21), (1, 1.0), (15_501, 0.21)]
    halfway = at_mask(turns, [(0, 8.0)], 15_501)
    assert halfway == pytest.approx((0.21 + 1.0) / 2, abs=1e-6)
    assert at_mask(turns, [(0, 8.0)], 15_501 + 15_500) == pytest.approx((0.21 + halfway) / 2)


@examples(100)
@given(
    first=shares,
    turned=st.lists(st.tuples(st.integers(1, 60_000), shares), min_size=1, max_size=5),
    flowed=st.lists(
        st.tuples(st.integers(1, 60_000), st.sampled_from((0.0, 4.0, 8.0, 12.0))), max_size=3
    ),
)
def test_the_baby_gets_what_is_at_the_mask_at_each_step_and_never_before_it_is_there(  # type: ignore[no-untyped-def]
    first, turned, flowed
) -> None:
    turns = [(0, first), *sorted(dict(turned).items())]
    flows = [(0, 8.0), *sorted(dict(flowed).items())]
    steps = in_steps(legs_of(arrival(), settings(turns, flows)))
    assert steps[0] == (0, first)
    for (at_ms, value), (until_ms, _) in pairwise(steps):
        assert at_ms < until_ms
        # A step is at most a millisecond late, and so a thirty-thousandth of the way behind.
        assert at_mask(turns, flows, at_ms) == pytest.approx(value, abs=1e-4)
    if flows[-1][1] > 0.0:
        assert steps[-1][1] == turns[-1][1]


def test_a_turn_comes_in_six_steps_of_about_five_seconds_the_last_as_it_arrives() -> None:
    steps = in_steps(legs_of(arrival(), settings([(0, 21.0), (60_000, 81.0)], [(0, 8.0)])))
    # 31 s at 8 L/min (Follett 2015).
    assert [at_ms for at_ms, _ in steps[1:]] == [
        60_000 + ceil(31_000 * number / STEPS) for number in range(1, STEPS + 1)
    ]
    assert [value for _, value in steps[1:]] == pytest.approx([31, 41, 51, 61, 71, 81])
