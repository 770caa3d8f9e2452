"""In a pause nothing is done: it would take no time, and all of it would be at one instant."""

from __future__ import annotations

from typing import Any

import pytest

from tests.rehearsal.playing import Player

TOUCHES: dict[str, tuple[str, str, dict[str, Any]]] = {
    "done": ("action", "hand_hygiene", {}),
    "looked at": ("cot", "t_piece", {"control": "look"}),
    "turned": ("cot", "flow", {"control": "gas_flow", "value": 5}),
    "set": ("set", "ventilation_rate", {"value": 30}),
    "let go by": ("skip", "", {"ms": 10_000}),
    "born": ("begin", "", {}),
}


def entries(player: Player) -> int:
    """How much the log holds."""
    live = player.desk.hub.running(player.session).live
    assert live is not None
    return len(live.events)


@pytest.mark.parametrize("done", TOUCHES)
def test_nothing_is_done_in_a_pause_and_the_log_has_nothing_of_it(
    player: Player, done: str
) -> None:
    do, name, chosen = TOUCHES[done]
    player.begin()
    player.wait(5).touch("pause")
    before = entries(player)
    refused = player.touch(do, name, **chosen)
    assert refused.status_code == 409
    assert refused.json()["words"] == "It is paused: go on first."
    assert entries(player) == before
    assert player.touch("resume").status_code == 200
    assert player.touch(do, name, **chosen).status_code == 200


def test_a_pause_can_be_ended_and_so_can_a_rehearsal_in_it(player: Player) -> None:
    player.begin()
    player.wait(5).touch("pause")
    assert player.touch("end").status_code == 200
    assert player.log("closed") == [{"why": "stopped early"}]


def test_pressure_follows_a_flow_that_is_turned_twice_around_a_pause(player: Player) -> None:
    """Up and back again, the needle stands where it stood: nothing of it is lost in a pause."""
    player.begin()
    player.wait(5).turns("gas_flow", 8)
    first = player.stands("end_pressure")
    player.wait(5).touch("pause")
    for flow in (5, 15):
        player.refused("cot", "flow", control="gas_flow", value=flow)
    player.touch("resume")
    player.turns("gas_flow", 5).wait(1)
    low = player.stands("end_pressure")
    high = player.turns("gas_flow", 15).wait(1).stands("end_pressure")
    assert low < first < high
    assert player.turns("gas_flow", 8).stands("end_pressure") == first
