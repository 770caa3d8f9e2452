"""The algebra of conditions against plain sampling at every millisecond."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from simengine.quantities import Range
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Not,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.wanted import OneOf, Steps
from simengine.session.dynamics import level_at, value_at
from simengine.session.record import LN20, NEVER, Level, Segment
from simengine.session.truth import Timeline, truth

END = 60
"""The timelines here are this many ms long, so that each ms can be sampled."""


def timeline(**given: object) -> Timeline:
    plain: dict[str, object] = {
        "doing": {},
        "done": {},
        "settings": {},
        "faults": {},
        "stays": [(0, NEVER)],
        "curves": {},
        "words": {},
        "supplies": {},
        "seen": {},
    }
    return Timeline(**{**plain, **given})  # type: ignore[arg-type]


def falling(start: int, value: float, target: float, within: int = 30_000) -> Segment:
    return Segment(start, value, target, within / LN20)


def test_in_force_means_from_the_start_until_before_the_stop() -> None:
    at = timeline(doing={"bagging": [(10, 20), (30, NEVER)]})
    assert truth(Doing("bagging"), at, 0, 40) == [(10, 20), (30, 40)]
    assert truth(Doing("bagging"), at, 12, 31) == [(12, 20), (30, 31)]
    assert truth(Doing("other"), at, 0, 40) == []


def test_done_counts_since_the_entry_and_what_was_done_at_the_entry_itself_does_not() -> None:
    at = timeline(done={"dry": [0, 20, 25]}, stays=[(0, 20), (20, 30), (30, NEVER)])
    assert truth(Done("dry"), at, 0, 60) == [(0, 20), (25, 30)]
    assert truth(Done("dry", ever=True), at, 0, 60) == [(0, 60)]


def test_a_setting_holds_its_value_from_one_change_to_the_next() -> None:
    at = timeline(settings={"oxygen": [(0, 30.0), (10, 100.0), (10, 60.0), (25, 21.0)]})
    high = SettingIs("oxygen", Range(low=50.0))
    assert truth(high, at, 0, 60) == [(10, 25)]
    assert truth(high, at, 15, 20) == [(15, 20)]


def test_what_is_not_known_is_false_and_its_not_is_true() -> None:
    at = timeline()
    unknown: tuple[Condition, ...] = (
        SettingIs("oxygen", Range(low=50.0)),
        Observed("heart_rate", Range(high=60.0)),
        Observed("tone", OneOf(("floppy",))),
        Seen("spo2"),
        SupplyIs("cylinder", Range(high=0.0)),
        FaultIs("leak", "planted"),
        ClockIs(Range(high=60_000.0)),
        Observed("spo2", Steps(((0, Range(low=60.0)),), "spo2_target")),
    )
    for condition in unknown:
        assert truth(condition, at, 0, 60) == []
        assert truth(Not(condition), at, 0, 60) == [(0, 60)]


def test_a_word_is_wanted_only_among_words_and_a_number_only_in_a_range() -> None:
    at = timeline(words={"tone": [(0, "floppy"), (20, "some flexion")]}, settings={"x": [(0, 5.0)]})
    assert truth(Observed("tone", OneOf(("floppy", "none"))), at, 0, 60) == [(0, 20)]
    assert truth(Observed("tone", Range(low=0.0)), at, 0, 60) == []
    assert truth(SettingIs("x", OneOf(("5",))), at, 0, 60) == []


def test_a_crossing_is_the_first_whole_ms_after_the_root_that_scipy_finds() -> None:
    curve = falling(1_000, 90.0, 50.0)
    tau = 30_000 / math.log(20)
    root = brentq(lambda t: 50.0 + 40.0 * math.exp(-(t - 1_000) / tau) - 60.0, 1_000, 90_000)
    at = timeline(curves={"heart_rate": [curve]})
    held = truth(Observed("heart_rate", Range(high=60.0, high_open=True)), at, 0, NEVER)
    assert held == [(math.ceil(root), NEVER)]
    assert value_at(curve, held[0][0]) < 60.0 <= value_at(curve, held[0][0] - 1)


def test_within_is_the_time_for_95_percent_of_the_way() -> None:
    # 1 - exp(-t / tau) = 0.95 at t = tau ln 20: the standard result for a first-order lag.
    curve = falling(0, 0.0, 100.0)
    assert value_at(curve, 30_000) == pytest.approx(95.0, rel=1e-12)
    held = truth(Observed("spo2", Range(low=95.0)), timeline(curves={"spo2": [curve]}), 0, NEVER)
    assert held == [(30_000, NEVER)]


def test_a_curve_never_reaches_its_target() -> None:
    curve = falling(0, 90.0, 60.0)
    at = timeline(curves={"heart_rate": [curve]})
    assert truth(Observed("heart_rate", Range(high=60.0)), at, 0, NEVER) == []
    assert truth(Observed("heart_rate", Range(low=60.0, low_open=True)), at, 0, NEVER) == [
        (0, NEVER)
    ]
    assert value_at(curve, 10**9) > 60.0


def test_a_flat_curve_compares_its_value() -> None:
    at = timeline(curves={"heart_rate": [Segment(5, 60.0, 60.0, None), falling(40, 60.0, 60.0)]})
    assert truth(Observed("heart_rate", Range(high=60.0)), at, 0, 60) == [(5, 60)]
    assert truth(Observed("heart_rate", Range(high=60.0, high_open=True)), at, 0, 60) == []


def test_a_curve_that_touches_a_level_and_turns_satisfies_the_closed_end_alone() -> None:
    at = timeline(curves={"hr": [falling(0, 60.0, 90.0), falling(20, 60.0, 40.0)]})
    below = truth(Observed("hr", Range(high=60.0)), at, 0, 60)
    assert below == [(0, 1), (20, 60)]
    assert truth(Observed("hr", Range(high=60.0, high_open=True)), at, 0, 60) == [(21, 60)]


def test_a_condition_that_is_made_and_let_go_is_not_taken_for_the_next_at_its_place_in_memory() -> (
    None
):
    at = timeline(curves={"heart_rate": [falling(0, 140.0, 40.0)]}, cache={})
    solved_anew = replace(at, cache=None)
    for level in range(50, 140, 5):
        kept = truth(Observed("heart_rate", Range(level, math.inf)), at, 0, NEVER)
        assert kept == truth(
            Observed("heart_rate", Range(level, math.inf)), solved_anew, 0, NEVER
        ), level


def test_a_target_by_minute_is_the_row_of_the_last_minute_reached() -> None:
    target = Steps(((120_000, Range(low=65.0)), (300_000, Range(low=85.0))), "spo2_target")
    at = timeline(curves={"spo2": [Segment(0, 70.0, 70.0, None)]}, clock_ms=10_000)
    assert truth(Observed("spo2", target), at, 0, 400_000) == [(130_000, 310_000)]


def test_the_clock_is_false_before_it_starts() -> None:
    at = timeline(clock_ms=20)
    assert truth(ClockIs(Range(high=10.0)), at, 0, 60) == [(20, 31)]
    assert truth(ClockIs(Range(high=10.0, high_open=True)), at, 0, 60) == [(20, 30)]
    assert truth(ClockIs(Range(low=10.0)), at, 0, 60) == [(30, 60)]
    assert truth(ClockIs(Range(low=10.0, low_open=True)), at, 0, 60) == [(31, 60)]


def test_a_fault_put_right_counts_as_found_and_is_no_longer_planted() -> None:
    at = timeline(faults={"leak": [(0, "planted"), (10, "mended"), (20, "found"), (40, "planted")]})
    assert truth(FaultIs("leak", "planted"), at, 0, 60) == [(0, 10), (40, 60)]
    assert truth(FaultIs("leak", "found"), at, 0, 60) == [(10, 40)]
    assert truth(FaultIs("leak", "mended"), at, 0, 60) == [(10, 40)]


def test_a_d_cylinder_runs_out_when_the_published_sum_says() -> None:
    # Gauge table for transport nurses: (2000 - 200) psi x 0.16 L/psi = 288 L; at 0.5 L/min
    # 576 min.
    litres = (2000 - 200) * 0.16
    at = timeline(supplies={"d": [Level(0, litres, 0.5 / 60_000)]})
    assert truth(SupplyIs("d", Range(high=0.0)), at, 0, NEVER) == [(576 * 60_000, NEVER)]
    half = truth(SupplyIs("d", Range(low=litres / 2)), at, 0, NEVER)
    assert half == [(0, 288 * 60_000 + 1)]


# --- against sampling at every ms -------------------------------------------------------------


@st.composite
def ranges(draw: st.DrawFn) -> Range:
    low = draw(st.one_of(st.just(-math.inf), st.integers(0, 12).map(float)))
    high = draw(st.one_of(st.just(math.inf), st.integers(0, 12).map(float)))
    if low > high:
        low, high = high, low
    return Range(low, high, draw(st.booleans()), draw(st.booleans()))


@st.composite
def spells(draw: st.DrawFn) -> list[tuple[int, int]]:
    ends = sorted(draw(st.lists(st.integers(0, END), max_size=6, unique=True)))
    out = list(zip(ends[::2], ends[1::2], strict=False))
    return [*out, (ends[-1], NEVER)] if len(ends) % 2 else out


starts = st.lists(st.integers(0, END), max_size=4, unique=True).map(sorted)


@st.composite
def timelines(draw: st.DrawFn) -> Timeline:
    entries = [0, *(at for at in draw(starts) if at > 0)]
    curve = [
        Segment(
            at,
            float(draw(st.integers(0, 12))),
            draw(st.floats(-3, 15, allow_subnormal=False)),
            draw(st.one_of(st.none(), st.floats(1.0, 100.0))),
        )
        for at in draw(starts)
    ]
    curve = [
        c if c.tau_ms is not None else Segment(c.start_ms, c.value, c.value, None) for c in curve
    ]
    return timeline(
        doing={"a": draw(spells())},
        done={"a": draw(starts)},
        settings={"s": [(at, float(draw(st.integers(0, 12)))) for at in draw(starts)]},
        faults={
            "f": [
                (at, draw(st.sampled_from(("planted", "found", "mended")))) for at in draw(starts)
            ]
        },
        stays=list(zip(entries, [*entries[1:], NEVER], strict=True)),
        curves={"c": curve} if curve else {},
        words={"w": [(at, draw(st.sampled_from(("x", "y")))) for at in draw(starts)]},
        supplies={
            "u": [
                Level(at, float(draw(st.integers(0, 12))), draw(st.sampled_from((0.0, 0.25, 0.1))))
                for at in draw(starts)
            ]
        },
        seen={"c": draw(st.integers(0, END))},
        clock_ms=draw(st.one_of(st.none(), st.integers(0, END))),
    )


wanted = st.one_of(
    ranges(),
    st.builds(
        lambda rows: Steps(tuple(sorted(rows.items())), "table"),
        st.dictionaries(st.integers(0, 30), ranges(), min_size=1, max_size=3),
    ),
)
leaves: st.SearchStrategy[Condition] = st.one_of(
    st.just(Doing("a")),
    st.builds(Done, st.just("a"), st.booleans()),
    st.builds(SettingIs, st.just("s"), wanted),
    st.builds(Observed, st.just("c"), wanted),
    st.just(Observed("w", OneOf(("x",)))),
    st.just(Seen("c")),
    st.builds(SupplyIs, st.just("u"), ranges()),
    st.builds(FaultIs, st.just("f"), st.sampled_from(("planted", "found", "mended"))),
    st.builds(ClockIs, ranges()),
)
conditions = st.recursive(
    leaves,
    lambda parts: st.one_of(
        st.lists(parts, max_size=3).map(lambda several: All(tuple(several))),
        st.lists(parts, max_size=3).map(lambda several: AnyOf(tuple(several))),
        parts.map(Not),
    ),
    max_leaves=6,
)


def holds(condition: Condition, at: Timeline, t: int) -> bool:
    """The same question asked of one instant, in the plainest way."""

    def last(steps: object) -> object:
        earlier = [step for step in steps if step[0] <= t]  # type: ignore[attr-defined]
        return earlier[-1][1] if earlier else None

    def row(wanted: object) -> object:
        if not isinstance(wanted, Steps):
            return wanted
        return (
            None
            if at.clock_ms is None
            else last([(at.clock_ms + since, row_range) for since, row_range in wanted.rows])
        )

    def within(value: object, wanted: object) -> bool:
        words = row(wanted)
        if value is None or words is None:
            return False
        if isinstance(words, OneOf):
            return value in words.words
        assert isinstance(words, Range)
        return isinstance(value, float) and words.contains(value)

    match condition:
        case Doing(action):
            return any(s <= t < e for s, e in at.doing.get(action, ()))
        case Done(action, ever):
            entry = next(s for s, e in at.stays if s <= t < e)
            return any(
                d <= t and (ever or d > entry or (d == entry == 0)) for d in at.done.get(action, ())
            )
        case SettingIs(name, bounds):
            return within(last(at.settings.get(name, ())), bounds)
        case Observed("c", bounds):
            begun = [c for c in at.curves.get("c", ()) if c.start_ms <= t]
            return within(value_at(begun[-1], t) if begun else None, bounds)
        case Observed(name, bounds):
            return within(last(at.words.get(name, ())), bounds)
        case Seen(name):
            return at.seen.get(name, NEVER) <= t
        case SupplyIs(name, bounds):
            levels = [u for u in at.supplies.get(name, ()) if u.start_ms <= t]
            return within(level_at(levels[-1], t) if levels else None, bounds)
        case FaultIs(name, status):
            flags = {"planted": False, "found": False, "mended": False}
            for when, now in at.faults.get(name, ()):
                if when > t:
                    break
                if now == "planted":
                    flags = {"planted": True, "found": False, "mended": False}
                elif now == "found":
                    flags["found"] = True
                else:
                    flags = {"planted": False, "found": True, "mended": True}
            return flags[status]
        case ClockIs(bounds):
            return at.clock_ms is not None and t >= at.clock_ms and bounds.contains(t - at.clock_ms)
        case All(parts):
            return all(holds(part, at, t) for part in parts)
        case AnyOf(parts):
            return any(holds(part, at, t) for part in parts)
        case Not(part):
            return not holds(part, at, t)
        case _:
            raise AssertionError(condition)


@given(conditions, timelines(), st.integers(0, END), st.integers(0, END))
def test_the_stretches_are_what_sampling_every_ms_finds(
    condition: Condition, at: Timeline, start: int, end: int
) -> None:
    stretches = truth(condition, at, start, end)
    sampled = [t for t in range(start, end) if holds(condition, at, t)]
    assert [t for s, e in stretches for t in range(s, e)] == sampled
    assert all(stretch[1] < other[0] for stretch, other in pairwise(stretches))
