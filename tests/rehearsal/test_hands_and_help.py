"""Two hands, help that comes once it was called, and the baby by looking and listening."""

from __future__ import annotations

import json
import re
from html import unescape
from itertools import pairwise
from typing import Any

import pytest

from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.baby import beats_between
from simengine.scoring import score
from simengine.session.account import PROGRAM
from simengine.session.record import Segment
from tests.rehearsal.playing import Player

RULES = alone_rules()


@pytest.fixture
def born(player: Player) -> Player:
    """A baby who has just been born, to somebody who is alone with it."""
    player.begin().turns("gas_flow", 8)
    player.wait(5).touch("begin")
    return player.wait(1)


def hands(player: Player) -> dict[str, str]:
    return {line["who"]: line["words"] for line in player.view["hands"]}


def test_what_runs_keeps_a_hand_and_a_third_needs_help(born: Player) -> None:
    born.does("mask_ventilation")
    assert hands(born) == {"You": "ventilating; one hand free"}
    words = born.refused("action", "chest_compressions")
    assert words == (
        "That takes both hands, and one is busy: ventilating. Stop ventilation or call for help."
    )
    assert "chest_compressions" not in [entry["action"] for entry in born.log("action")]


def test_both_hands_before_the_baby_is_there_too(player: Player) -> None:
    player.begin()
    assert hands(player) == {"You": "both hands free"}
    player.touch("cot", "t_piece", control="outlet", value=True)
    player.touch("cot", "suction", control="tubing", value=True)
    assert hands(player) == {
        "You": "keeping the outlet closed and keeping the suction tubing closed; no hand free"
    }
    assert player.refused("cot", "flow", control="gas_flow", value=8) == (
        "Both hands are busy: keeping the outlet closed and keeping the suction tubing closed. "
        "Let go of the outlet, let go of the suction tubing or call for help."
    )
    player.touch("cot", "suction", control="tubing", value=False)
    player.turns("gas_flow", 8)


# --- the cot --------------------------------------------------------------------------------------


def test_one_hand_closes_outlet_and_cap_and_the_other_turns_the_dials(player: Player) -> None:
    player.begin("cot-preterm").turns("gas_flow", 8)
    for hold in ("outlet", "cap"):
        assert player.touch("cot", "t_piece", control=hold, value=True).status_code == 200
    held = "keeping the outlet and the hole in the cap closed"
    assert hands(player) == {"You": f"{held}; one hand free"}
    player.turns("peak_pressure", 28).turns("end_pressure", 6)
    assert hands(player) == {"You": f"{held} and busy at the cot; no hand free"}
    player.wait(RULES.cot_ms / 1000)
    assert hands(player) == {"You": f"{held}; one hand free"}


def test_work_at_the_cot_needs_a_hand_for_its_time_and_looking_at_a_needle_none(
    born: Player,
) -> None:
    born.does("chest_compressions")
    words = born.refused("cot", "blender", control="oxygen", value=100)
    assert words.startswith("Both hands are busy: giving chest compressions. Stop chest compress")
    assert "Both hands are busy" in born.refused("cot", "bag", control="look")
    assert born.touch("cot", "t_piece", control="look").status_code == 200
    born.does("chest_compressions").does("mask_ventilation").turns("oxygen", 100)
    assert hands(born)["You"] == "ventilating and busy at the cot; no hand free"
    assert "wait until it is done" in born.refused("action", "hat")
    born.turns("oxygen", 60)  # the hand that is there goes on
    born.wait(RULES.cot_ms / 1000).does("hat")


def test_the_hand_on_the_t_piece_takes_it_to_the_face(player: Player) -> None:
    player.begin().turns("gas_flow", 8)
    player.touch("cot", "t_piece", control="outlet", value=True)
    player.wait(5).touch("begin")
    player.wait(1).does("listen_to_heart").does("mask_ventilation")
    assert hands(player)["You"] == "listening to the heart and ventilating; no hand free"
    assert "Its outlet is open" in player.touch("cot", "t_piece", control="look").json()["words"]


# --- help -----------------------------------------------------------------------------------------


@pytest.fixture
def helped(born: Player) -> Player:
    """The same with help at the cot."""
    return born.does("call_for_help").wait(RULES.help["call_for_help"].after_ms / 1000 + 1)


def test_help_that_was_called_comes_and_does_what_it_is_told(born: Player) -> None:
    helper = RULES.help["call_for_help"]
    born.does("mask_ventilation").does("call_for_help")
    assert hands(born)["Help"].startswith("on the way")
    assert born.refused("action", "chest_compressions", by="call_for_help") == (
        "They are not here yet."
    )
    born.wait(helper.after_ms / 1000 + 1)
    answer = born.touch("action", "chest_compressions", by="call_for_help")
    assert answer.json()["words"] == "Help: chest compressions started."
    assert hands(born) == {
        "You": "ventilating; one hand free",
        "Help": "giving chest compressions; no hand free",
    }


def test_who_is_full_is_told_that_help_could_do_it(helped: Player) -> None:
    helped.does("mask_ventilation")
    words = helped.refused("action", "chest_compressions")
    assert words.endswith("Stop ventilation or let it be done by Help.")
    helped.does("chest_compressions", by="call_for_help")
    assert helped.refused("action", "hat", by="call_for_help") == (
        "Help has no hand free: giving chest compressions. Stop chest compressions or do it "
        "yourself."
    )


def test_what_help_does_is_the_helpers_in_the_log_and_in_words(helped: Player) -> None:
    helped.does("chest_compressions", by="call_for_help").wait(5)
    helped.turns("ventilation_rate", 30, by="call_for_help")
    assert helped.refused("cot", "blender", control="oxygen", value=100, by="call_for_help")
    stopped = helped.touch("action", "chest_compressions")
    assert stopped.json()["words"] == "Help: chest compressions stopped."
    turned = helped.touch("cot", "blender", control="oxygen", value=100, by="call_for_help")
    assert turned.json()["words"].startswith("Help: The blender stands at 100 %.")
    done = [entry for entry in helped.log("action", "set") if entry.get("role") == "Help"]
    assert [entry.get("action", entry.get("setting")) for entry in done] == [
        *("chest_compressions", "ventilation_rate", "chest_compressions", "oxygen"),
    ]
    happened = [entry["words"] for entry in helped.view["happened"]]
    assert "Oxygen 100 % (Help)" in happened
    assert any(words.startswith("Chest compressions stopped (Help)") for words in happened)


def test_the_score_has_the_helpers_part_as_the_helpers(helped: Player) -> None:
    helped.does("dry", by="call_for_help").wait(30)
    helped.touch("end")
    live = helped.desk.hub.running(helped.session).live
    assert live is not None
    assert "Help" in score(live.session()).roles


def test_help_takes_over_and_where_its_hands_are_full_the_two_change_places(
    helped: Player,
) -> None:
    helped.does("mask_ventilation")
    (running,) = helped.view["running"]
    assert running["take_over"] == [{"by": "call_for_help", "words": "Help takes over ventilation"}]
    over = helped.touch("take over", "mask_ventilation", by="call_for_help")
    assert over.json()["words"] == "Help: taking over ventilation."
    assert hands(helped) == {"You": "both hands free", "Help": "ventilating; one hand free"}
    helped.does("chest_compressions").wait(30)
    over = helped.touch("take over", "mask_ventilation", by="")
    assert over.json()["words"] == (
        "You take over ventilation. Help: taking over chest compressions."
    )
    assert hands(helped) == {
        "You": "ventilating; one hand free",
        "Help": "giving chest compressions; no hand free",
    }


def test_a_change_of_hands_is_no_pause(helped: Player) -> None:
    helped.does("mask_ventilation").wait(10)
    helped.touch("take over", "mask_ventilation", by="call_for_help")
    helped.wait(10)
    live = helped.desk.hub.running(helped.session).live
    assert live is not None
    first, second = (
        performance
        for performance in live.session().record.performances
        if performance.action == "mask_ventilation"
    )
    assert first.stop_ms == second.start_ms
    assert (first.role, second.role) == ("airway", "Help")


def test_nobody_takes_over_what_would_leave_somebody_short_of_hands(helped: Player) -> None:
    helped.does("mask_ventilation").does("chest_compressions", by="call_for_help")
    helped.does("look_in_mouth")
    words = helped.refused("take over", "mask_ventilation", by="call_for_help")
    assert words.startswith("Help has no hand free: giving chest compressions.")
    assert hands(helped)["Help"] == "giving chest compressions; no hand free"


def test_what_takes_two_people_waits_for_the_second(born: Player) -> None:
    words = born.refused("action", "two_person_hold")
    assert "takes two people" in words
    born.does("call_for_help").wait(RULES.help["call_for_help"].after_ms / 1000 + 1)
    born.does("two_person_hold")


def test_pressures_are_not_tried_while_the_mask_is_on_a_face(born: Player) -> None:
    born.does("mask_ventilation")
    words = born.refused("cot", "t_piece", control="outlet", value=True)
    assert words.startswith("The mask is on the face")
    born.does("mask_ventilation")
    assert born.touch("cot", "t_piece", control="outlet", value=True).status_code == 200


def test_a_fault_planted_meanwhile_is_told_in_no_list(player: Player) -> None:
    player.begin("preterm-oxygen-fails")
    player.wait(5).touch("begin")
    running = player.desk.hub.running(player.session)
    planted = {"fault": "oxygen_shut", "status": "planted"}
    assert running.live is not None
    running.live.record("fault", planted, noted_ms=running.log_ms(), by=PROGRAM)
    assert player.log("fault") == [planted]
    assert "whistling" not in " ".join(line["words"] for line in player.view["happened"])


def test_a_task_keeps_its_hand_for_the_time_that_it_takes(born: Player) -> None:
    born.does("mask_ventilation").does("listen_to_heart")
    assert "no hand free" in hands(born)["You"]
    assert "Both hands are busy" in born.refused("action", "hat")
    born.wait(6).does("hat")


def test_what_runs_is_stopped_by_the_next_touch_and_its_hand_is_free(born: Player) -> None:
    born.does("mask_ventilation").wait(10).does("mask_ventilation")
    assert hands(born) == {"You": "both hands free"}
    assert [act["phase"] for act in born.log("action")] == ["start", "stop"]


def test_nothing_is_done_to_a_baby_who_is_not_born(player: Player) -> None:
    player.begin()
    assert player.refused("action", "dry") == "The baby is not here yet."


def test_a_sign_is_known_once_somebody_has_looked(born: Player) -> None:
    assert born.signs == {}
    born.does("assess_breathing")
    assert born.signs == {
        "breathing": "Breathing absent",
        "tone": "Tone floppy",
        "colour": "Colour blue",
    }
    assert "heart_rate" not in born.signs
    assert "chest" not in born.signs


def test_a_sensor_shows_after_its_delay_and_then_as_it_is(born: Player) -> None:
    born.does("oximeter")
    assert born.signs["spo2"].startswith("SpO2, right hand (preductal): first reading in")
    born.wait(61)
    assert "{value}" in born.signs["spo2"]


def test_there_is_nothing_to_read_out_before_a_sensor_reads(born: Player) -> None:
    assert "no sensor shows" in born.refused("action", "read_spo2")
    born.does("oximeter").wait(61).does("read_spo2")
    (reading,) = [act for act in born.log("action") if act["action"] == "read_spo2"]
    assert reading["spoken"]["spo2"]["unit"] == "%"


def test_a_rate_is_counted_and_called_out_and_counts_as_told_with_the_listening(
    born: Player,
) -> None:
    born.does("listen_to_heart")
    assert born.view["counting"]["beats"]
    born.wait(7)
    assert born.signs["heart_rate"] == "Heart rate: beats heard, rate not called out yet"
    counting = born.view["counting"]
    assert counting["counted"] == f"You count {len(counting['beats'])} beats in 6 s."
    assert born.touch("tell", counting["id"], observation="heart_rate", value=80).status_code == 200
    assert born.signs["heart_rate"] == "Heart rate 80 /min"
    assert born.view["counting"] is None
    live = born.desk.hub.running(born.session).live
    assert live is not None
    (listened,) = [
        performance
        for performance in live.session().record.performances
        if performance.action == "listen_to_heart"
    ]
    assert listened.spoken["heart_rate"].value == 80


@pytest.mark.parametrize("rate", [40.0, 60.0, 84.0, 100.0, 148.0])
def test_beats_times_ten_are_the_rate_as_the_trade_counts_it(rate: float) -> None:
    """Six seconds of listening, beats times ten (common practice, no source)."""
    beats = beats_between((Segment(0, rate, rate, None),), 0, 6_000)
    assert abs(10 * len(beats) - rate) <= 10
    gaps = [later - sooner for sooner, later in pairwise(beats)]
    assert max(gaps) - min(gaps) <= 10  # a beat as regular as the clock allows


def test_a_dose_is_chosen_by_whoever_gives_it_and_none_is_offered(born: Player) -> None:
    drugs = next(group for group in groups(born) if group["name"] == "drugs")
    adrenaline = next(act for act in drugs["acts"] if act["name"] == "adrenaline")
    assert set(adrenaline["dose"]) == {"figures", "routes", "caution"}
    assert "Say how much" in born.refused("action", "adrenaline", route="umbilical_vein")
    assert "route" in born.refused("action", "adrenaline", volume=0.7, strength=0.1)
    born.does("adrenaline", volume=0.7, strength=0.1, flush=1, route="umbilical_vein")
    (given,) = [act for act in born.log("action") if act["action"] == "adrenaline"]
    assert given["dose"]["volume"] == {"value": 0.7, "unit": "mL"}


def groups(player: Player) -> list[dict[str, Any]]:
    """What can be done, as it comes with the page."""
    page = player.browser.client.get(f"/rehearse/{player.session}").text
    match = re.search(r'data-groups="([^"]*)"', page)
    assert match is not None
    return list(json.loads(unescape(match.group(1))))


def test_an_alarm_is_heard_by_whoever_plays_without_looking(player: Player) -> None:
    player.begin("preterm-oxygen-fails").turns("gas_flow", 8)
    player.wait(5).touch("begin")
    player.wait(1).does("clamp_cord").wait(14).does("head_neutral").does("mask_ventilation")
    assert player.wait(20).view["cot"]["heard"] == []
    player.wait(RULES.late_fault_ms / 1000)
    assert any("alarm" in words for words in player.view["cot"]["heard"])
    assert player.view["cot"]["part"] == ""
