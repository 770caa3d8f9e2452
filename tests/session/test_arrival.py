"""What a log says of how settings arrive: taken where it makes sense, and else at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from simengine.session.arrival import arrivals_of
from simengine.session.fold import Fold
from simengine.session.full_speed import opening
from simengine.session.live import LiveSession
from tests import shipped

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


def under_way(arrives: Any) -> LiveSession:
    scenario = shipped.scenario(SCENARIO)
    data = {
        **opening(scenario, session_id="00000000-0000-4000-8000-00000000000f"),
        "arrives": arrives,
    }
    live = LiveSession(scenario, chained=False)
    live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
    return live


def arriving(live: LiveSession, *entries: tuple[int, str, float]) -> list[tuple[int, float]]:
    for at_ms, setting, value in entries:
        live.record("set", {"setting": setting, "value": value}, noted_ms=at_ms, by="me")
    return [(at, float(value)) for at, value in live.fold.timeline.arriving.get("oxygen", ())]


def test_flows_are_read_in_any_unit_and_order_and_lie_in_straight_lines_between() -> None:
    fold: Fold = under_way({"oxygen": ARRIVES}).fold
    (arrival,) = arrivals_of(fold.events[0], fold.scenario.vocabulary.settings)
    assert arrival.delays == ((5.0, 40_000.0), (10.0, 20_000.0))
    flows = (1, 5, 7.5, 10, 15)
    assert [arrival.delay_ms(flow) for flow in flows] == [40_000, 40_000, 30_000, 20_000, 20_000]
    assert arrival.delay_ms(0.0) is None


def test_what_comes_ends_at_the_dial_after_the_delay_at_the_flow() -> None:
    steps = arriving(under_way({"oxygen": ARRIVES}), (1_000, "gas_flow", 10), (2_000, "oxygen", 60))
    assert steps[0] == (0, 30.0)
    assert steps[-1] == (22_000, 60.0)
    assert [value for _, value in steps[1:]] == pytest.approx([35, 40, 45, 50, 55, 60])


@pytest.mark.parametrize(
    "changed",
    [
        {"delays": []},
        {"delays": [{"at": {"value": 8, "unit": "L/min"}, "ms": 0}]},
        {"delays": [{"at": {"value": 8, "unit": "kPa"}, "ms": 30_000}]},
        {"delays": "soon"},
        {"flow": "no_such_setting"},
        {"flow": "oxygen"},
        {"flow": "heater_mode"},
        {"found": {"value": "high"}},
        {"flow_found": None},
    ],
)
def test_what_makes_no_sense_lets_the_setting_act_at_once(changed: Mapping[str, Any]) -> None:
    live = under_way({"oxygen": {**ARRIVES, **changed}})
    assert arriving(live, (1_000, "gas_flow", 10), (2_000, "oxygen", 60)) == []


@pytest.mark.parametrize("arrives", [None, [], "late", {"no_such_setting": ARRIVES}])
def test_nothing_of_the_right_form_is_nothing(arrives: Any) -> None:
    assert arriving(under_way(arrives), (1_000, "oxygen", 60)) == []


def test_a_word_is_no_figure_that_could_come() -> None:
    live = under_way({"heater_mode": ARRIVES})
    assert not live.fold.timeline.arriving


def test_a_turn_that_was_written_down_late_comes_as_it_would_have_come() -> None:
    late, known = under_way({"oxygen": ARRIVES}), under_way({"oxygen": ARRIVES})
    for live in (late, known):
        arriving(live, (1_000, "gas_flow", 10))
    turn = {"setting": "oxygen", "value": 60}
    known.record("set", turn, noted_ms=2_000, by="me")
    late.record("set", turn, noted_ms=30_000, at_ms=2_000, by="me")
    assert late.fold.timeline.arriving == known.fold.timeline.arriving
