"""What a log says of how settings arrive: taken where it makes sense, and else told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from simengine.quantities import Range
from simengine.scenario.conditions import SettingIs
from simengine.scenario.model import Course, Instead, Shift, Word
from simengine.session.arrival import Arrival, at_the_infant
from simengine.session.full_speed import opening, play
from simengine.session.live import LiveSession
from tests import shipped
from tests.session.small import WALL, birth, opened, put, scenario, state, way

SCENARIO = "term-not-breathing"
ARRIVES: Mapping[str, Any] = {
    "found": {"value": 30, "unit": "%"},
    "flow": "gas_flow",
    "flow_found": {"value": 0, "unit": "L/min"},
    "delays": [
        {"at": {"value": 10, "unit": "L/min"}, "ms": 20_000},
        {"at": {"value": 5000, "unit": "mL/min"}, "ms": 40_000},
    ],
}


def at(flow: float, unit: str = "L/min", *, ms: float = 30_000) -> dict[str, Any]:
    return {"at": {"value": flow, "unit": unit}, "ms": ms}


def under_way(arrives: Any) -> LiveSession:
    of_a_baby = shipped.scenario(SCENARIO)
    data = {
        **opening(of_a_baby, session_id="00000000-0000-4000-8000-00000000000f"),
        "arrives": arrives,
    }
    live = LiveSession(of_a_baby, chained=False)
    live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
    return live


def arriving(live: LiveSession, *entries: tuple[int, str, float]) -> list[tuple[int, float]]:
    for at_ms, setting, value in entries:
        live.record("set", {"setting": setting, "value": value}, noted_ms=at_ms, by="me")
    return [(at, float(value)) for at, value in live.fold.timeline.arriving.get("oxygen", ())]


def test_flows_are_read_in_any_unit_and_order_and_lie_in_straight_lines_between() -> None:
    arrival = under_way({"oxygen": ARRIVES}).fold.account.arrivals["oxygen"]
    assert arrival.delays == ((5.0, 40_000.0), (10.0, 20_000.0))
    flows = (1, 5, 7.5, 10, 15)
    assert [arrival.delay_ms(flow) for flow in flows] == [40_000, 40_000, 30_000, 20_000, 20_000]
    assert arrival.delay_ms(0.0) is None


def test_what_comes_ends_at_the_dial_after_the_delay_at_the_flow() -> None:
    steps = arriving(under_way({"oxygen": ARRIVES}), (1_000, "gas_flow", 10), (2_000, "oxygen", 60))
    assert steps[0] == (0, 30.0)
    assert steps[-1] == (22_000, 60.0)
    assert [value for _, value in steps[1:]] == pytest.approx([35, 40, 45, 50, 55, 60])


def problems(live: LiveSession) -> list[str]:
    """What the session says of it, each with its place in the opening."""
    findings = live.session().findings
    return [finding.words for finding in findings if finding.code == "unreadable-arrival"]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"delays": []}, "delays: expected a list of delays, found []"),
        ({"delays": "soon"}, "delays: expected a list of delays, found soon"),
        (
            {"delays": [at(8, ms=0)]},
            "delays[0] › ms: expected whole milliseconds from 1 on, found 0",
        ),
        ({"delays": [at(8, ms=30_000.5)]}, "delays[0] › ms: expected whole milliseconds from 1 on"),
        ({"delays": [at(8, "kPa")]}, "delays[0] › at: Gas flow: 8.0 kPa can't be converted"),
        (
            {"delays": [at(-5)]},
            "delays[0] › at: expected a flow above 0 L/min, each once, found −5",
        ),
        ({"delays": [at(0)]}, "delays[0] › at: expected a flow above 0 L/min, each once, found 0"),
        ({"delays": [at(8), at(8)]}, "delays[1] › at: expected a flow above 0 L/min, each once"),
        ({"flow": "no_such"}, "flow: expected a setting of the vocabulary, found no_such"),
        ({"flow": "oxygen"}, "flow: expected another setting than the one that arrives"),
        ({"flow": "heater_mode"}, "flow: expected a setting that is a number, found heater_mode"),
        ({"found": {"value": "high"}}, "found: Oxygen is a number of %, not 'high'"),
        ({"flow_found": None}, "flow_found: Gas flow: no value was given"),
    ],
)
def test_what_makes_no_sense_is_told_with_its_place_and_the_setting_acts_at_once(
    changed: Mapping[str, Any], words: str
) -> None:
    live = under_way({"oxygen": {**ARRIVES, **changed}})
    assert arriving(live, (1_000, "gas_flow", 10), (2_000, "oxygen", 60)) == []
    (problem, *_) = problems(live)
    assert problem.startswith(f"arrives › oxygen › {words}")
    assert problem.endswith("; so what is turned acts at once.")


def test_all_that_makes_no_sense_is_told_at_once() -> None:
    delays = [at(-5), at(8, ms=-1)]
    live = under_way({"oxygen": {**ARRIVES, "found": {"value": "high"}, "delays": delays}})
    assert len(problems(live)) == 3


@pytest.mark.parametrize(
    ("arrives", "words"),
    [
        (None, "arrives: expected a map of settings to how they arrive, found None"),
        ([], "arrives: expected a map"),
        ("late", "arrives: expected a map"),
        ({"oxygen": "late"}, "arrives › oxygen: expected how it arrives, found late"),
        ({"no_such": ARRIVES}, "arrives › no_such: expected a setting of the vocabulary"),
        ({"heater_mode": ARRIVES}, "arrives › heater_mode: expected a setting that is a number"),
    ],
)
def test_what_is_of_no_such_form_or_setting_is_told_as_well(arrives: Any, words: str) -> None:
    live = under_way(arrives)
    assert arriving(live, (1_000, "oxygen", 60)) == []
    (problem,) = problems(live)
    assert problem.startswith(words)


def test_what_is_right_is_told_of_in_no_word_and_whole_milliseconds_may_have_a_point() -> None:
    live = under_way({"oxygen": {**ARRIVES, "delays": [at(8, ms=36_000.0)]}})
    assert problems(live) == []
    assert live.fold.account.arrivals["oxygen"].delays == ((8.0, 36_000.0),)
    assert problems(under_way({"oxygen": ARRIVES})) == []


def test_a_dial_that_nobody_had_set_is_known_to_the_infant_from_its_first_turn_on() -> None:
    arrival = Arrival("oxygen", 21.0, "gas_flow", 8.0, ((8.0, 30_000.0),))
    assert at_the_infant(arrival, {"oxygen": [(40_000, 21.0)]}) == [(40_000, 21.0)]
    assert at_the_infant(arrival, {"oxygen": [(40_000, 81.0)]}) == [
        (40_000, 21.0),
        *((40_000 + 5_000 * step, 21.0 + 10.0 * step) for step in range(1, 7)),
    ]


def test_a_turn_that_was_written_down_late_comes_as_it_would_have_come() -> None:
    late, known = under_way({"oxygen": ARRIVES}), under_way({"oxygen": ARRIVES})
    for live in (late, known):
        arriving(live, (1_000, "gas_flow", 10))
    turn = {"setting": "oxygen", "value": 60}
    known.record("set", turn, noted_ms=2_000, by="me")
    late.record("set", turn, noted_ms=30_000, at_ms=2_000, by="me")
    assert late.fold.timeline.arriving == known.fold.timeline.arriving


def test_a_condition_turns_a_sign_once_it_has_come_and_leads_on_with_the_dial() -> None:
    high = SettingIs("oxygen", Range(90.0, 100.0))
    begins = state(
        "begins",
        way("ends", when=high, lasting=10_000),
        spo2=Course(to=60.0, start=60.0, within_ms=30_000, adjust=(Shift(high, 20.0),)),
        tone=Word("floppy", (Instead(high, "good"),)),
    )
    made = scenario(begins, state("ends"), settings={"oxygen": 30.0, "flow": 5.0})
    delays = [{"at": {"value": 5, "unit": "L/min"}, "ms": 20_000}]
    how = {**ARRIVES, "flow": "flow", "delays": delays}
    session = play(
        made,
        [birth(0), put(1_000, "oxygen", 100.0)],
        opened={**opened(), "arrives": {"oxygen": how}},
        wall=WALL,
        until_ms=60_000,
    )
    assert [stay.entry_ms for stay in session.stays] == [0, 11_000]
    # Of six steps the last alone, 20 s after the turn, is above 90 %.
    assert [(part.start_ms, part.target) for part in session.curves["spo2"]] == [
        (0, 60.0),
        (21_000, 80.0),
    ]
    assert session.words["tone"] == ((0, "floppy"), (21_000, "good"))
