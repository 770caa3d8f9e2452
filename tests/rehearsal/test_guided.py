"""Guided: after a while without progress the next step is told, as a cue, and marked as one."""

from __future__ import annotations

import pytest

from simengine.rehearsal.alone_rules import alone_rules
from simengine.scoring import score
from tests.rehearsal.playing import Player

HINT_S = alone_rules().hint_ms / 1000
URGENT_S = alone_rules().hint_urgent_ms / 1000


def born(player: Player, way: str) -> Player:
    player.begin(way=way).wait(5).touch("begin")
    return player.wait(1)


def test_the_next_step_is_told_after_a_while_without_progress(player: Player) -> None:
    born(player, "guided").wait(HINT_S + 1)
    hint = player.view["hint"]
    (cue,) = player.log("cue")
    assert hint == f"Hint, noted as a cue: {cue['text']}"
    assert cue["prompts"]


def test_progress_puts_the_hint_off(player: Player) -> None:
    born(player, "guided").wait(HINT_S - 2).does("dry").wait(URGENT_S - 2)
    assert player.view["hint"] == ""
    player.wait(HINT_S)
    assert player.view["hint"] != ""


def test_what_can_not_wait_is_told_sooner(player: Player) -> None:
    born(player, "guided").wait(HINT_S + 12).does("dry").wait(URGENT_S + 1)
    assert "Start ventilation" in player.view["hint"]


def test_alone_nothing_is_told(player: Player) -> None:
    born(player, "alone").wait(5 * HINT_S)
    assert player.view["hint"] == ""
    assert player.log("cue") == []


def test_a_step_is_not_told_for_ever(player: Player) -> None:
    born(player, "guided")
    for _ in range(12):
        player.wait(HINT_S).is_over  # noqa: B018 - looking takes what is due
    cues = [cue["text"] for cue in player.log("cue")]
    assert all(cues[n : n + 3] != [cues[n]] * 3 for n in range(len(cues) - 2))


def test_what_was_done_after_a_hint_is_marked_as_prompted(player: Player) -> None:
    born(player, "guided").wait(HINT_S + 1)
    assert player.view["hint"]
    (cue,) = player.log("cue")
    player.does(cue["prompts"]).wait(2).touch("end")
    live = player.desk.hub.running(player.session).live
    assert live is not None
    subjects = {item.id: item.asked for item in live.scenario.key}
    marked = [item.id for item in score(live.session(), redraws=0).items if item.with_cue]
    prompted = [name for name in marked if getattr(subjects[name], "action", "") == cue["prompts"]]
    assert prompted == marked != []


@pytest.mark.parametrize("scenario", ["cot-term", "ward-collapse"])
def test_a_hint_of_any_scenario_names_what_its_guide_asks(player: Player, scenario: str) -> None:
    player.begin(scenario, way="guided").wait(5).touch("begin")
    player.wait(HINT_S + 2)
    assert player.view["hint"]
