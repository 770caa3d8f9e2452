"""The T-piece against what was measured on benches, each figure within its own set-up."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.rehearsal.bench.bench_model import DIALS, Dial, SetUp
from simengine.rehearsal.bench.t_piece import (
    Breaths,
    place_for,
    place_meant,
    pressures,
    shown_at,
)
from simengine.rehearsal.cot import bench_of
from tests import shipped
from tests.amount import examples


@cache
def set_up(name: str) -> SetUp:
    bench = bench_of(shipped.scenario("cot-term"))
    assert bench is not None
    return bench.file.t_piece.set_ups[name]


def meant(kind: SetUp, flow: float, relief: float, peak: float, end: float) -> dict[Dial, float]:
    """Where the valves stand that people meant to make these pressures at a flow."""
    wanted: dict[Dial, float] = {"relief": relief, "peak": peak, "end": end}
    return {dial: place_meant(kind, dial, wanted[dial], flow) for dial in DIALS}


SET_UPS = ("bench-set-at-5", "manikin-ventilated", "as-people-set-it")
flows = st.floats(0.0, 20.0)
turned = st.floats(0.0, 80.0)
dials = st.fixed_dictionaries(dict.fromkeys(DIALS, turned))


def test_flow_raised_from_5_to_15_with_the_dials_untouched_moves_all_three_pressures() -> None:
    # Hawkes 2009, Archives of Disease in Childhood F461: set at 5 L/min to 20/5 cmH2O with the
    # relief at 30; at 15 L/min end 20, peak 28, relief 40.
    bench = set_up("bench-set-at-5")
    wanted: dict[Dial, float] = {"relief": 30.0, "peak": 20.0, "end": 5.0}
    places = {dial: place_for(bench, dial, wanted[dial], 5.0) for dial in DIALS}
    at_5, at_15 = pressures(bench, places, 5.0), pressures(bench, places, 15.0)
    assert (at_5.relief, at_5.peak, at_5.end) == pytest.approx((30.0, 20.0, 5.0))
    assert (at_15.relief, at_15.peak, at_15.end) == pytest.approx((40.0, 28.0, 20.0))


def test_on_a_manikin_end_pressure_rises_from_4_7_to_26_4() -> None:
    # Schilleman 2011, Resuscitation 82:920 (abstract): set to 30/5 cmH2O at 5 L/min, median end
    # pressure 4.7; 26.4 at 15 L/min. Another set-up than the one above: 20 there, 26.4 here.
    manikin = set_up("manikin-ventilated")
    places = meant(manikin, 5.0, relief=40.0, peak=30.0, end=5.0)
    assert pressures(manikin, places, 5.0).end == pytest.approx(4.7)
    assert pressures(manikin, places, 15.0).end == pytest.approx(26.4)


def test_who_is_asked_for_25_over_5_makes_26_7_over_5_9() -> None:
    # PMID 23717652 (abstract): 20 people at 8 L/min; peak 26.7 (SD 0.5), end 5.9 (SD 0.44) cmH2O.
    people = set_up("as-people-set-it")
    places = meant(people, 8.0, relief=40.0, peak=25.0, end=5.0)
    made = pressures(people, places, 8.0)
    assert made.peak == pytest.approx(26.7)
    assert made.end == pytest.approx(5.9)


def test_the_two_sources_that_differ_at_15_l_min_are_never_blended() -> None:
    ends = set()
    for name in ("bench-set-at-5", "manikin-ventilated"):
        kind = set_up(name)
        places = meant(kind, 5.0, relief=60.0, peak=60.0, end=5.0)
        ends.add(round(pressures(kind, places, 15.0).end, 1))
    assert ends == {20.0, 26.4}


@pytest.mark.parametrize("name", SET_UPS)
@examples(100)
@given(places=dials, first=flows, other=flows)
def test_more_flow_never_lowers_a_pressure(name, places, first, other) -> None:  # type: ignore[no-untyped-def]
    kind = set_up(name)
    less, more = sorted((first, other))
    before, after = pressures(kind, places, less), pressures(kind, places, more)
    for dial in DIALS:
        assert after.of(dial) >= before.of(dial)


@pytest.mark.parametrize("name", SET_UPS)
@examples(100)
@given(places=dials, flow=flows)
def test_the_relief_bounds_the_peak_and_the_peak_the_end(name, places, flow) -> None:  # type: ignore[no-untyped-def]
    made = pressures(set_up(name), places, flow)
    assert 0.0 <= made.end <= made.peak <= made.relief


@examples(100)
@given(places=dials, flow=flows, leak=st.floats(0.0, 1.0), more=st.floats(0.0, 1.0))
def test_a_larger_leak_never_raises_what_the_manometer_shows(places, flow, leak, more) -> None:  # type: ignore[no-untyped-def]
    kind = set_up("bench-set-at-5")
    small, large = sorted((leak, more))
    for cap in (False, True):
        assert shown_at(kind, places, flow, leak=large, cap_closed=cap) <= shown_at(
            kind, places, flow, leak=small, cap_closed=cap
        )


@examples(100)
@given(pressure=st.floats(0.1, 80.0), flow=st.floats(0.5, 20.0))
def test_a_valve_turned_until_it_makes_a_pressure_makes_it(pressure, flow) -> None:  # type: ignore[no-untyped-def]
    for name in SET_UPS:
        kind = set_up(name)
        places = {dial: place_for(kind, dial, pressure, flow) for dial in DIALS}
        assert pressures(kind, places, flow).peak == pytest.approx(pressure)


def test_open_to_the_air_or_without_gas_the_manometer_shows_nothing() -> None:
    kind = set_up("bench-set-at-5")
    places = meant(kind, 5.0, relief=40.0, peak=30.0, end=5.0)
    for cap in (False, True):
        assert shown_at(kind, places, 8.0, leak=1.0, cap_closed=cap) == 0.0
        assert shown_at(kind, places, 0.0, leak=0.0, cap_closed=cap) == 0.0


def test_a_breath_of_one_second_forty_times_a_minute_is_held_two_thirds_of_the_time() -> None:
    breaths = Breaths(since_ms=1_000, rate=40.0, inflation_s=1.0)
    held = [breaths.is_in(1_000 + 10 * step) for step in range(6_000)]
    assert sum(held) / len(held) == pytest.approx(2 / 3, abs=0.01)
    assert held[0]
    assert not held[120]


def test_every_set_up_names_its_source_and_the_year_or_number_to_find_it_by() -> None:
    bench = bench_of(shipped.scenario("cot-term"))
    assert bench is not None
    for kind in bench.file.t_piece.set_ups.values():
        assert any(word in kind.source for word in ("2009", "2011", "PMID 23717652"))
