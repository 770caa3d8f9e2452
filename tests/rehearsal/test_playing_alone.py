"""A scenario is played alone from its start to its debrief, and the baby answers."""

from __future__ import annotations

import pytest

from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.hands import has_baby
from tests import shipped
from tests.coordinator.ward import words_of
from tests.rehearsal.playing import Player


def test_a_resuscitation_is_played_to_its_end_by_one_person(player: Player) -> None:
    """The moves of the careful team of the scenario's plays, by two hands and help."""
    player.begin()
    assert player.state == "waiting"
    player.does("name_roles").turns("oxygen", 21).turns("gas_flow", 8)
    assert player.wait(9).touch("begin").status_code == 200
    assert player.state == "limp"
    player.wait(5).does("call_for_help").does("dry")
    player.wait(12).does("assess_breathing").does("head_neutral")
    player.wait(5).turns("ventilation_rate", 30).turns("mask_size", "fits")
    player.does("mask_ventilation")
    player.wait(8).does("watch_chest")
    assert player.signs["chest"] == "Chest movement: none"
    player.does("reseat_mask").wait(5).does("listen_to_heart")
    player.wait(7)
    counting = player.view["counting"]
    player.touch("tell", counting["id"], observation="heart_rate", value=counting["bands"][1])
    player.turns("peak_pressure", 36).wait(7)
    assert player.signs["chest"] == "Chest movement: good"
    player.does("call_senior").wait(30)
    player.turns("oxygen", 100).does("chest_compressions", by="call_for_help").wait(60)
    assert player.state == "recovering"
    player.does("chest_compressions").does("oximeter").wait(70).turns("oxygen", 40)
    player.wait(60)
    assert player.state == "settled"
    player.does("hand_over").wait(20)
    ended = player.browser.client.get(f"/rehearse/{player.session}", follow_redirects=True)
    assert "It ended with: Handed over." in ended.text
    assert player.log("opened")[0]["purpose"] == "rehearsal"
    assert player.log("closed") == [{"why": "finished"}]
    assert player.log("confirmed") == [{}]


@pytest.mark.parametrize("scenario", shipped.SCENARIOS)
def test_whatever_is_left_undone_a_scenario_comes_to_its_end_without_a_facilitator(
    player: Player, scenario: str
) -> None:
    player.begin(scenario, way="guided")
    for _ in range(400):
        if player.is_over:
            break
        player.wait(10)
    assert player.is_over
    assert player.log("closed") == [{"why": "finished"}]
    states = player.desk.hub.running(player.session).scenario.states
    assert states[player.log("state")[-1]["state"]].ends
    assert not [state for state in player.log("state") if state["cause"] == "facilitator"]


@pytest.mark.parametrize("scenario", shipped.SCENARIOS)
def test_the_page_says_which_published_set_up_its_t_piece_follows(
    player: Player, scenario: str
) -> None:
    """Hawkes 2009: the one of the two sources that tells of all three valves at 15 L/min."""
    player.begin(scenario)
    page = words_of(player.browser.client.get(f"/rehearse/{player.session}"))
    assert "How pressures follow the flow: T-piece on the bench, set at 5 L/min." in page
    assert "Hawkes 2009" in page
    assert "complete after 36 s at 5 L/min, 31 s at 8 L/min and 28 s at 10 L/min." in page
    assert "So Follett (2015) measured it, on average" in page
    of_a_baby = has_baby(shipped.scenario(scenario))
    assert ("comes to the analyser and the baby gradually" in page) is of_a_baby
    assert ("comes to the analyser gradually" in page) is not of_a_baby


def test_no_action_of_a_scenario_needs_a_hand_that_cannot_come() -> None:
    """With all help at the cot there are hands for whatever the vocabulary has."""
    rules = alone_rules()
    vocabulary = shipped.scenario("term-not-breathing").vocabulary
    most = rules.hands + sum(helper.hands for helper in rules.help.values())
    for action in vocabulary.actions.values():
        assert rules.task(action).hands <= most, action.name


def test_the_rules_of_playing_alone_name_what_the_vocabulary_has() -> None:
    rules = alone_rules()
    vocabulary = shipped.scenario("term-not-breathing").vocabulary
    named = {*rules.help, *rules.looks, *rules.tasks}
    named |= {event.action for event in rules.events.values()}
    assert named <= set(vocabulary.actions)
    shown = {name for names in rules.looks.values() for name in names}
    assert shown <= set(vocabulary.observations)
