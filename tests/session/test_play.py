"""What the engine makes of entries: transitions, curves, supplies, holds, pauses, late entries."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from simengine.quantities import Range
from simengine.scenario.conditions import (
    All,
    AnyOf,
    Condition,
    Doing,
    Done,
    FaultIs,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.model import Adjust, Course, MendedBySetting, Scenario
from simengine.session.dynamics import curve_at, supply_at
from simengine.session.full_speed import Timed, play
from simengine.session.live import LiveSession, RefusedError
from simengine.session.record import NEVER, Session
from tests.session.small import (
    SESSION,
    WALL,
    birth,
    did,
    entry,
    falling_heart_rate,
    leak,
    opened,
    put,
    scenario,
    state,
    way,
)


def run(made: Scenario, *script: Timed, until: int = 120_000, **data: Any) -> Session:
    return play(made, script, opened={**opened(), **data}, wall=WALL, until_ms=until)


def stays(session: Session) -> list[tuple[str, int, int]]:
    return [(stay.state, stay.entry_ms, stay.exit_ms) for stay in session.stays]


def entries(session: Session) -> list[tuple[str, int]]:
    return [(stay.state, stay.entry_ms) for stay in session.stays]


def codes(session: Session) -> list[str]:
    return [finding.code for finding in session.findings]


def guarded(when: Condition, lasting: int = 0, **start: Any) -> Scenario:
    return scenario(state("a", way("b", when=when, lasting=lasting)), state("b"), **start)


# --- transitions ------------------------------------------------------------------------------


def test_a_timer_runs_from_the_entry_of_the_state() -> None:
    made = scenario(
        state("a", way("b", on="birth")), state("b", way("c", after=75_000)), state("c")
    )
    session = run(made, birth(10_000), until=90_000)
    assert stays(session) == [("a", 0, 10_000), ("b", 10_000, 85_000), ("c", 85_000, 85_000)]


def test_a_guard_has_to_hold_without_a_break_for_as_long_as_it_says() -> None:
    made = guarded(Doing("bag"), lasting=20_000)
    script = [
        did(5_000, "bag", "start"),
        did(24_000, "bag", "stop"),
        did(30_000, "bag", "start"),
    ]
    assert entries(run(made, *script)) == [("a", 0), ("b", 50_000)]


def test_a_stop_at_the_very_instant_at_which_a_hold_is_full_comes_first() -> None:
    # People's events come before guards at one ms, and in force means before the stop.
    made = guarded(Doing("bag"), lasting=20_000)
    script = [did(5_000, "bag", "start"), did(25_000, "bag", "stop")]
    assert entries(run(made, *script)) == [("a", 0)]


def test_lasting_counts_from_the_entry_of_the_state_at_the_earliest() -> None:
    made = scenario(
        state("a", way("b", after=10_000)),
        state("b", way("c", when=Doing("bag"), lasting=20_000)),
        state("c"),
    )
    assert entries(run(made, did(2_000, "bag", "start"))) == [
        ("a", 0),
        ("b", 10_000),
        ("c", 30_000),
    ]


def test_of_two_transitions_due_at_one_instant_the_first_listed_is_taken() -> None:
    for first, second in (("b", "c"), ("c", "b")):
        made = scenario(
            state("a", way(first, after=5_000), way(second, after=5_000)), state("b"), state("c")
        )
        assert entries(run(made)) == [("a", 0), (first, 5_000)]


def test_all_that_a_transition_names_is_asked() -> None:
    made = scenario(
        state("a", way("b", when=Doing("bag"), lasting=2_000, after=30_000)), state("b")
    )
    assert entries(run(made, did(1_000, "bag", "start"))) == [("a", 0), ("b", 30_000)]
    assert entries(run(made, did(50_000, "bag", "start"))) == [("a", 0), ("b", 52_000)]


def test_an_event_leads_on_only_if_its_guard_holds_as_it_comes() -> None:
    made = scenario(state("a", way("b", on="cry", when=Done("dry"))), state("b"))
    cries = [entry(at, "event", name="cry") for at in (5_000, 20_000)]
    assert entries(run(made, cries[0], did(10_000, "dry"), cries[1])) == [("a", 0), ("b", 20_000)]
    assert entries(run(made, cries[0], did(10_000, "dry"))) == [("a", 0)]


def test_entries_of_one_instant_are_all_taken_in_before_a_guard_is_asked() -> None:
    made = scenario(state("a", way("b", on="cry", when=Done("dry"))), state("b"))
    session = run(made, entry(5_000, "event", name="cry"), did(5_000, "dry"))
    assert entries(session) == [("a", 0), ("b", 5_000)]


def test_what_was_done_at_the_instant_of_an_entry_belongs_to_the_state_that_is_left() -> None:
    made = scenario(
        state("a", way("b", on="birth")), state("b", way("c", when=Done("dry"))), state("c")
    )
    assert entries(run(made, birth(5_000), did(5_000, "dry"))) == [("a", 0), ("b", 5_000)]
    assert entries(run(made, birth(5_000), did(5_001, "dry")))[2:] == [("c", 5_001)]


def test_a_guard_on_a_curve_fires_at_the_solved_crossing() -> None:
    below = Observed("heart_rate", Range(high=60.0, high_open=True))
    made = scenario(state("a", way("b", when=below), heart_rate=falling_heart_rate()), state("b"))
    # 50 + 40 exp(-t/tau) = 60 at t = tau ln 4, tau = 30 s / ln 20
    crossing = math.ceil(30_000 / math.log(20) * math.log(4))
    assert entries(run(made)) == [("a", 0), ("b", crossing)]


def test_a_guard_on_what_was_seen_waits_for_the_reading() -> None:
    made = guarded(Seen("spo2"))
    assert entries(run(made, did(10_000, "probe", "start"))) == [("a", 0), ("b", 70_000)]
    off = did(60_000, "probe", "stop")
    assert entries(run(made, did(10_000, "probe", "start"), off)) == [("a", 0)]
    shown = entry(20_000, "reveal", observation="spo2", shown=True)
    assert entries(run(made, shown)) == [("a", 0), ("b", 20_000)]


def test_a_state_that_ends_closes_the_session_after_its_last_look() -> None:
    made = scenario(state("a", way("b", after=5_000)), state("b", ends=True, linger_ms=10_000))
    session = run(made)
    assert (session.closed, session.end_ms) == ("finished", 15_000)
    assert stays(session)[-1] == ("b", 5_000, 15_000)


def test_a_guard_that_holds_at_the_entry_is_an_error_of_the_scenario_and_is_told() -> None:
    made = scenario(
        state("a", way("b", after=5_000)), state("b", way("c", when=Doing("bag"))), state("c")
    )
    session = run(made, did(1_000, "bag", "start"))
    assert entries(session) == [("a", 0), ("b", 5_000), ("c", 5_001)]
    assert codes(session) == ["left-at-once"]


def test_a_circle_of_guards_that_hold_at_their_entry_comes_to_an_end() -> None:
    always = AnyOf((Doing("bag"), Done("dry")))
    made = scenario(
        state("a", way("b", when=always)),
        state("b", way("c", when=always)),
        state("c", way("a", when=always), way("b", when=always), way("c", when=always)),
    )
    session = run(made, did(1_000, "bag", "start"), did(2_000, "dry"))
    assert len(session.stays) < 10
    assert "left-at-once" in codes(session)


# --- dynamics ---------------------------------------------------------------------------------


def approach(_: float, value: Any, *, goal: float, tau: float) -> Any:
    return (goal - value) / tau


def test_curves_bend_with_a_setting_as_the_differential_equation_says() -> None:
    # dv/dt = (target(t) - v) / tau, solved numerically by scipy with the setting as a step.
    spo2 = Course(30.0, 40.0, 60_000, (Adjust("oxygen", "above", 30.0, 10.0, 1.0),))
    made = scenario(state("a", spo2=spo2))
    session = run(made, put(20_000, "oxygen", 100.0), put(50_000, "oxygen", 60.0))
    tau = 60_000 / math.log(20)
    targets = [(0.0, 20_000.0, 30.0), (20_000.0, 50_000.0, 37.0), (50_000.0, 90_000.0, 33.0)]
    value = 40.0
    for start, end, target in targets:
        slope = partial(approach, goal=target, tau=tau)
        solved = solve_ivp(slope, (start, end), [value], rtol=1e-11, atol=1e-11)
        value = float(solved.y[0][-1])
        assert curve_at(session.curves["spo2"], end) == pytest.approx(value, abs=1e-7)
    assert [segment.start_ms for segment in session.curves["spo2"]] == [0, 20_000, 50_000]


def test_below_its_reference_and_while_not_known_a_setting_shifts_nothing() -> None:
    spo2 = Course(30.0, 40.0, 60_000, (Adjust("oxygen", "above", 30.0, 10.0, 1.0),))
    made = scenario(state("a", spo2=spo2), settings={})
    session = run(made, put(20_000, "oxygen", 21.0), put(30_000, "oxygen", 30.0))
    assert len(session.curves["spo2"]) == 1


def test_what_a_new_state_does_not_mention_goes_on_as_it_was() -> None:
    made = scenario(
        state("a", way("b", after=10_000), heart_rate=falling_heart_rate(), tone="floppy"),
        state("b", way("c", after=10_000), tone="good"),
        state("c", heart_rate=Course(140.0, None, 20_000)),
    )
    session = run(made)
    assert [segment.start_ms for segment in session.curves["heart_rate"]] == [0, 20_000]
    assert session.curves["heart_rate"][1].value == curve_at(
        session.curves["heart_rate"][:1], 20_000
    )
    assert session.words["tone"] == ((0, "floppy"), (10_000, "good"))


def test_a_course_without_a_beginning_starts_from_the_value_that_is_there() -> None:
    made = scenario(
        state("a", way("b", after=5_000), heart_rate=Course(80.0)),
        state("b", heart_rate=Course(120.0, None, 10_000), spo2=Course(90.0, None, 10_000)),
    )
    session = run(made)
    assert session.curves["heart_rate"][-1].value == 80.0
    assert session.curves["spo2"][-1].value == 90.0


# --- supplies ---------------------------------------------------------------------------------


def test_a_cylinder_drained_by_suction_is_empty_at_the_exact_instant() -> None:
    # 45 L at 8 L/min: 5.625 min = 337.5 s (worked by hand).
    made = guarded(SupplyIs("cylinder", Range(high=0.0)), supplies={"cylinder": 45.0})
    session = run(made, did(1_000, "suck", "start"), until=400_000)
    assert entries(session) == [("a", 0), ("b", 338_500)]


def test_an_action_that_ends_another_stops_it_and_what_it_draws() -> None:
    # 45 L at 8 L/min for 60 s leaves 37 L (worked by hand).
    made = guarded(SupplyIs("cylinder", Range(high=0.0)), supplies={"cylinder": 45.0})
    off = did(61_000, "suck_off")
    session = run(made, did(1_000, "suck", "start"), off, did(90_000, "suck_off"), until=400_000)
    assert supply_at(session.supplies["cylinder"], 400_000) == pytest.approx(37.0)
    assert entries(session) == [("a", 0)]
    assert codes(session) == []
    [ran] = [
        performance for performance in session.record.performances if performance.action == "suck"
    ]
    assert (ran.start_ms, ran.stop_ms) == (1_000, 61_000)
    record = run(made, did(1_000, "suck", "start"), did(61_000, "suck_off", how="said"))
    [goes_on] = [
        performance for performance in record.record.performances if performance.action == "suck"
    ]
    assert goes_on.stop_ms == NEVER


def test_gas_is_split_between_the_cylinders_as_the_blend_says() -> None:
    # At 10 L/min: oxygen for 30 % 1.139, 40 % 2.405, 50 % 3.671 L/min, computed here from
    # flow x (F - 0.21) / 0.79; the rest is air.
    made = scenario(state("a"), supplies={"cylinder": 100.0, "air": 100.0})
    for blend, oxygen in ((30.0, 1.139), (40.0, 2.405), (50.0, 3.671), (21.0, 0.0), (100.0, 10.0)):
        session = run(made, put(0, "flow", 10.0), put(0, "oxygen", blend), until=60_000)
        used = 100.0 - (supply_at(session.supplies["cylinder"], 60_000) or 0.0)
        air = 100.0 - (supply_at(session.supplies["air"], 60_000) or 0.0)
        assert used == pytest.approx(oxygen, abs=5e-4)
        assert used + air == pytest.approx(10.0, rel=1e-12)


def test_the_mix_that_the_cylinders_give_is_the_blend_of_the_published_example() -> None:
    # FiO2 = (0.21 air + O2) / total: 10 L/min of air with 6 of oxygen is 0.506 (published sum).
    made = scenario(state("a"), supplies={"cylinder": 100.0, "air": 100.0})
    session = run(made, put(0, "flow", 16.0), put(0, "oxygen", 50.625), until=60_000)
    assert 100.0 - (supply_at(session.supplies["cylinder"], 60_000) or 0.0) == pytest.approx(6.0)


def test_a_new_cylinder_is_full_whoever_says_when() -> None:
    made = guarded(SupplyIs("cylinder", Range(high=0.0)), supplies={"cylinder": 8.0})
    new = did(30_000, "change_cylinder")
    session = run(made, did(0, "suck", "start"), new, until=100_000)
    assert supply_at(session.supplies["cylinder"], 30_000) == 460.0
    assert entries(session) == [("a", 0)]
    late = run(
        made, did(0, "suck", "start"), did(30_000, "change_cylinder", noted=40_000), until=50_000
    )
    assert supply_at(late.supplies["cylinder"], 35_000) == pytest.approx(8.0 - 8.0 * 35 / 60)
    assert supply_at(late.supplies["cylinder"], 40_000) == 460.0
    only_said = run(made, did(0, "suck", "start"), did(30_000, "change_cylinder", how="said"))
    assert entries(only_said) == [("a", 0), ("b", 60_000)]


# --- pauses and skips -------------------------------------------------------------------------


def test_scenario_time_stands_still_in_a_pause() -> None:
    made = scenario(state("a", way("b", after=20_000)), state("b"))
    script = [entry(5_000, "pause"), did(9_000, "dry"), entry(15_000, "resume")]
    session = run(made, *script, until=60_000)
    assert entries(session) == [("a", 0), ("b", 20_000)]
    assert session.stays[1].seq == 5
    assert session.events[5].at_ms == 30_000
    assert session.record.performances[0].start_ms == 5_000
    assert session.paused_ms == 10_000


def test_a_second_pause_is_ignored_and_one_without_an_end_lasts() -> None:
    made = scenario(state("a", way("b", after=20_000)), state("b"))
    script = [entry(5_000, "pause"), entry(8_000, "pause")]
    session = run(made, *script, did(50_000, "dry"), until=90_000)
    assert entries(session) == [("a", 0)]
    assert session.end_ms == 5_000
    assert codes(session) == ["paused-twice"]


def test_a_skip_moves_scenario_time_on_and_what_falls_into_it_keeps_its_instant() -> None:
    made = scenario(
        state("a", way("b", after=20_000), heart_rate=falling_heart_rate()),
        state("b", way("c", after=30_000)),
        state("c", way("d", after=100_000)),
        state("d"),
    )
    session = run(made, entry(10_000, "skip", ms=60_000), until=60_000)
    assert entries(session) == [("a", 0), ("b", 20_000), ("c", 50_000)]
    assert [event.at_ms for event in session.events if event.kind == "state"] == [0, 10_000, 10_000]
    after = run(made, entry(10_000, "skip", ms=60_000), did(12_000, "dry"), until=91_000)
    assert after.record.performances[0].start_ms == 72_000
    assert entries(after)[-1] == ("d", 150_000)


# --- late entries and corrections -------------------------------------------------------------


def test_a_start_recorded_late_makes_a_transition_overdue_and_it_is_taken_as_it_is_noted() -> None:
    made = guarded(Doing("bag"), lasting=20_000)
    session = run(made, did(5_000, "bag", "start", noted=40_000))
    assert entries(session) == [("a", 0), ("b", 40_000)]
    (taken,) = [event for event in session.events if event.data.get("cause") == "rule"]
    assert taken.data["late"] is True
    early = run(made, did(5_000, "bag", "start", noted=15_000))
    assert entries(early) == [("a", 0), ("b", 25_000)]


def test_a_setting_recorded_late_bends_the_curve_only_from_when_it_was_noted() -> None:
    spo2 = Course(30.0, 40.0, 60_000, (Adjust("oxygen", "above", 30.0, 10.0, 1.0),))
    made = scenario(state("a", spo2=spo2))
    session = run(made, put(10_000, "oxygen", 100.0, noted=25_000))
    assert [segment.start_ms for segment in session.curves["spo2"]] == [0, 25_000]
    assert session.record.changes["oxygen"][1].at_ms == 10_000


def test_an_entry_recorded_late_does_not_undo_a_later_one_that_is_known() -> None:
    spo2 = Course(30.0, 40.0, 60_000, (Adjust("oxygen", "above", 30.0, 10.0, 1.0),))
    made = scenario(state("a", spo2=spo2))
    session = run(made, put(10_000, "oxygen", 100.0), put(5_000, "oxygen", 60.0, noted=25_000))
    assert len(session.curves["spo2"]) == 2
    assert [change.value for change in session.record.changes["oxygen"]] == [30.0, 60.0, 100.0]


def named(timed: Timed, number: int) -> Timed:
    return replace(timed, id=f"00000000-0000-4000-8000-{number:012d}")


def amend(at_ms: int, number: int, own: int | None = None, **data: Any) -> Timed:
    timed = entry(at_ms, "amend", id=f"00000000-0000-4000-8000-{number:012d}", **data)
    return timed if own is None else named(timed, own)


def test_a_state_that_was_entered_stays_though_a_correction_would_have_led_elsewhere() -> None:
    made = guarded(Doing("bag"), lasting=20_000)
    session = run(
        made,
        named(did(5_000, "bag", "start"), 1),
        amend(60_000, 1, withdrawn=True, reason="another action"),
    )
    assert entries(session) == [("a", 0), ("b", 25_000)]
    assert session.record.performances == ()


def test_a_correction_counts_for_guards_from_then_on() -> None:
    made = guarded(Doing("bag"), lasting=20_000)
    session = run(
        made,
        named(did(5_000, "bag", "start"), 1),
        amend(10_000, 1, fields={"at_ms": 9_000}),
    )
    assert entries(session) == [("a", 0), ("b", 29_000)]


def test_a_correction_merges_to_the_leaf_and_the_later_one_wins() -> None:
    made = scenario(state("a"))
    start = did(
        5_000,
        "bag",
        "start",
        role="airway",
        settings={"oxygen": {"value": 30, "unit": "%"}, "pressure": {"value": 20, "unit": "cmH2O"}},
    )
    session = run(
        made,
        named(start, 1),
        amend(6_000, 1, fields={"settings": {"pressure": {"value": 25}}}),
        amend(7_000, 1, fields={"settings": {"pressure": {"value": 30}}, "role": None}),
    )
    (bag,) = session.record.performances
    assert (dict(bag.settings), bag.role) == ({"oxygen": 30.0, "pressure": 30.0}, None)


def test_withdrawing_a_correction_restores_what_it_corrected() -> None:
    made = scenario(state("a"))
    session = run(
        made,
        named(did(5_000, "dry"), 1),
        amend(6_000, 1, own=2, fields={"at_ms": 1_000}),
        amend(7_000, 1, own=3, withdrawn=True),
        amend(8_000, 3, withdrawn=True),
        amend(9_000, 2, withdrawn=True),
    )
    assert [performance.start_ms for performance in session.record.performances] == [5_000]


def test_the_clock_can_be_corrected_and_a_named_event_that_is_not_the_clock_can_not() -> None:
    made = scenario(state("a"))
    session = run(made, named(birth(5_000), 1), amend(9_000, 1, fields={"at_ms": 3_000}))
    assert session.record.clock_ms == 3_000
    session = run(
        made,
        named(birth(5_000), 1),
        birth(20_000),
        amend(30_000, 1, withdrawn=True),
    )
    assert session.record.clock_ms == 20_000
    with pytest.raises(RefusedError, match="is a fact"):
        run(made, named(entry(5_000, "event", name="cry"), 1), amend(9_000, 1, withdrawn=True))


# --- holds and the facilitator ----------------------------------------------------------------


def test_a_hold_keeps_automatic_steps_back_and_the_first_listed_is_taken_at_the_release() -> None:
    made = scenario(
        state("a", way("b", after=20_000), way("c", after=10_000)), state("b"), state("c")
    )
    session = run(made, entry(5_000, "hold"), entry(30_000, "release"))
    assert entries(session) == [("a", 0), ("b", 30_000)]
    session = run(made, entry(5_000, "hold"), entry(15_000, "release"))
    assert entries(session) == [("a", 0), ("c", 15_000)]


def test_what_came_due_in_a_hold_is_due_at_the_release_though_it_has_ceased() -> None:
    made = guarded(Doing("bag"), lasting=10_000)
    session = run(
        made,
        entry(1_000, "hold"),
        did(2_000, "bag", "start"),
        did(20_000, "bag", "stop"),
        entry(30_000, "release"),
    )
    assert entries(session) == [("a", 0), ("b", 30_000)]


def test_an_event_during_a_hold_leads_nowhere_and_is_shown_as_lost() -> None:
    made = scenario(state("a", way("b", on="cry")), state("b"))
    session = run(
        made, entry(1_000, "hold"), entry(5_000, "event", name="cry"), entry(9_000, "release")
    )
    assert entries(session) == [("a", 0)]
    assert codes(session) == ["lost-event"]


def test_a_facilitator_takes_any_state_by_hand_even_during_a_hold() -> None:
    made = scenario(state("a"), state("b", way("a", after=5_000)))
    by_hand = entry(10_000, "state", state="b", cause="facilitator")
    session = run(made, entry(1_000, "hold"), by_hand)
    assert [(stay.state, stay.cause) for stay in session.stays] == [
        ("a", "start"),
        ("b", "facilitator"),
    ]
    with pytest.raises(RefusedError, match="no state 'nowhere'"):
        run(made, entry(1_000, "state", state="nowhere", cause="facilitator"))
    with pytest.raises(RefusedError, match="taken by hand"):
        run(made, entry(1_000, "state", state="b", cause="rule", rule=0))


# --- faults, kit, closing ---------------------------------------------------------------------


def test_a_fault_is_put_right_by_its_action_or_by_its_setting_and_counts_as_found() -> None:
    made = guarded(FaultIs("leak", "found"), faults=[leak()])
    session = run(made, did(10_000, "dry"))
    assert entries(session) == [("a", 0), ("b", 10_000)]
    assert [(fault.status, fault.at_ms) for fault in session.record.faults] == [
        ("planted", 0),
        ("mended", 10_000),
    ]
    by_setting = MendedBySetting("pressure", Range(28.0, 32.0))
    made = guarded(FaultIs("leak", "mended"), faults=[leak(mended_by=by_setting)])
    session = run(made, put(5_000, "pressure", 40.0), put(9_000, "pressure", 30.0))
    assert entries(session) == [("a", 0), ("b", 9_000)]


def test_a_reading_in_another_unit_is_converted_and_kept_as_it_was_read() -> None:
    # NIST SP 811: 1 cmH2O = 98.0665 Pa, so 4 kPa = 40.789 cmH2O.
    made = scenario(state("a"))
    session = run(made, put(5_000, "pressure", 4.0, "kPa"))
    (change,) = session.record.changes["pressure"]
    assert change.value == pytest.approx(40.789, abs=5e-4)
    assert (change.as_read and change.as_read.unit) == "kPa"


def test_what_makes_no_sense_is_a_finding_and_nothing_else() -> None:
    made = scenario(state("a"), faults=[leak()])
    session = run(
        made,
        did(1_000, "bag", "stop"),
        did(2_000, "fly"),
        did(3_000, "bag", "start"),
        did(4_000, "bag", "start"),
        did(5_000, "bag"),
        put(6_000, "pressure", 3.0, "kg"),
        put(7_000, "light", "dim"),
        put(8_000, "oxygen", 10.0),
        entry(9_000, "fault", fault="other", status="found"),
        did(10_000, "dry", "start"),
    )
    assert codes(session) == [
        "stop-without-start",
        "unknown-action",
        "started-twice",
        "done-of-lasting",
        "unreadable-value",
        "unreadable-value",
        "implausible-value",
        "unknown-fault",
        "start-of-momentary",
    ]
    assert [performance.action for performance in session.record.performances] == ["bag", "dry"]


def test_what_was_only_said_sets_nothing_and_is_kept_as_said() -> None:
    made = guarded(All((Doing("bag"), SettingIs("pressure", Range(low=25.0)))))
    event = did(5_000, "bag", "start", how="said", settings={"pressure": {"value": 30}})
    session = run(made, event)
    assert entries(session) == [("a", 0)]
    (bag,) = session.record.performances
    assert (bag.way, bag.stop_ms, dict(bag.settings)) == ("said", None, {"pressure": 30.0})
    assert "pressure" not in session.record.changes


def returned(at_ms: int, **changed: Any) -> Timed:
    data = {
        "faults": {"leak": True},
        "cylinders": "two, both full",
        "drugs": "none used",
        "initials": ["ab", "cd"],
        **changed,
    }
    return Timed(at_ms, "returned", data, "k3")


def test_a_cot_with_planted_faults_is_returned_before_the_session_is_closed() -> None:
    made = scenario(
        state("a", way("b", after=5_000)),
        state("b", ends=True),
        faults=[leak()],
        returns_cot=True,
    )
    assert run(made).closed is None
    session = run(made, returned(30_000))
    assert (session.closed, session.end_ms) == ("finished", 30_000)
    for why in ("finished", "stopped early"):
        with pytest.raises(RefusedError, match="returned to service"):
            run(made, entry(10_000, "closed", why=why))
    with pytest.raises(RefusedError, match=r"put right: A leak.*initials of two"):
        run(made, returned(30_000, faults={"leak": False}, initials=["ab"]))
    assert run(made, entry(10_000, "closed", why="safety stop")).closed == "safety stop"
    assert run(made, purpose="rehearsal").closed == "finished"


def test_after_the_end_only_what_people_say_of_it_and_late_entries_are_taken() -> None:
    made = scenario(state("a"))
    live = LiveSession(made)
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    live.record("closed", {"why": "stopped early"}, noted_ms=50_000, by="k3")
    with pytest.raises(RefusedError, match="closed"):
        live.record("action", {"action": "dry", "phase": "done"}, noted_ms=60_000, by="k3")
    late = {"action": "dry", "phase": "done"}
    live.record("action", late, at_ms=40_000, noted_ms=61_000, by="k3")
    live.record("confirmed", {}, noted_ms=70_000, by="k3")
    session = live.session()
    assert (session.end_ms, session.record.confirmed) == (50_000, True)
    assert [performance.start_ms for performance in session.record.performances] == [40_000]
    assert session.findings == ()


def test_the_session_ends_at_its_last_event_if_nobody_closed_it() -> None:
    made = scenario(state("a"))
    session = run(made, did(5_000, "dry"), named(did(9_000, "dry"), 1))
    assert session.end_ms == 9_000
    session = run(
        made,
        did(5_000, "dry"),
        named(did(9_000, "dry"), 1),
        amend(20_000, 1, withdrawn=True),
    )
    assert session.end_ms == 5_000


def test_who_held_which_role_and_when_is_told() -> None:
    made = scenario(state("a"))
    session = run(
        made,
        entry(10_000, "joined", person="m7", role="leader"),
        entry(20_000, "role", person="k3", role="leader", leaves="airway"),
        entry(30_000, "left", person="m7", role="leader"),
    )
    assert [(tenure.person, tenure.role, tenure.start_ms) for tenure in session.record.tenures] == [
        ("k3", "airway", 0),
        ("m7", "leader", 10_000),
        ("k3", "leader", 20_000),
    ]
    assert session.record.tenures[1].end_ms == 30_000
    assert session.record.team == {"airway": ("k3",), "leader": ("m7", "k3")}


# --- a live session ---------------------------------------------------------------------------


def test_an_entry_that_is_sent_twice_is_taken_once() -> None:
    live = LiveSession(scenario(state("a")))
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    data = {"action": "dry", "phase": "done"}
    own = "00000000-0000-4000-8000-000000000001"
    assert len(live.record("action", data, noted_ms=5_000, by="k3", id=own)) == 1
    assert live.record("action", data, noted_ms=6_000, by="k3", id=own) == []


def test_next_due_is_the_log_time_to_wake_at() -> None:
    live = LiveSession(scenario(state("a", way("b", after=20_000)), state("b")))
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    live.record("pause", {}, noted_ms=5_000, by="k3")
    assert live.next_due() is None
    live.record("resume", {}, noted_ms=15_000, by="k3")
    assert live.next_due() == 30_000
    assert live.advance(29_999) == []
    assert [event.data["state"] for event in live.advance(30_000)] == ["b"]
    assert live.next_due() is None


def test_what_came_due_while_nobody_watched_is_applied_in_order_and_marked() -> None:
    made = scenario(
        state("a", way("b", after=10_000)), state("b", way("c", after=10_000)), state("c")
    )
    live = LiveSession(made)
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    written = live.advance(60_000)
    assert [(event.at_ms, event.noted_ms) for event in written] == [
        (10_000, 60_000),
        (20_000, 60_000),
    ]
    assert all(event.data["late"] for event in written)


def test_entries_before_the_opening_and_a_second_opening_are_refused() -> None:
    live = LiveSession(scenario(state("a")))
    with pytest.raises(RefusedError, match="not been opened"):
        live.record("note", {"text": "hello"}, noted_ms=0, by="k3")
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    with pytest.raises(RefusedError, match="opened already"):
        live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    assert live.session().session_id == SESSION


def test_wall_time_goes_on_past_midnight() -> None:
    live = LiveSession(scenario(state("a", way("b", after=90_500)), state("b")))
    live.record("opened", opened(), noted_ms=0, by="k3", wall="2026-02-28T23:59:00.250Z")
    (event,) = live.advance(100_000)
    assert event.wall == "2026-03-01T00:00:40.250Z"
