"""The record during a session: moved, doubled up, told as not seen, and what is said beside it."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.desk.browser.facilitator import Facilitator


def test_an_entry_slid_along_the_tape_takes_that_instant(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.move_on(30)
    page.keyboard.press("d")
    facilitator.all_kept()
    label = page.locator(".tape-entry").filter(has_text="Drying the baby")
    box = label.bounding_box()
    assert box is not None
    x, y = box["x"] + 20, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 30, y)
    page.mouse.move(x - 60, y)
    page.mouse.up()
    facilitator.all_kept()
    (action,) = [event for event in facilitator.log() if event["kind"] == "action"]
    (amend,) = facilitator.amends()
    assert amend["id"] == action["id"]
    assert amend["fields"]["at_ms"] < action["at_ms"]
    expect(page.locator("#dock")).to_be_hidden()  # a slide is no touch


def test_several_actions_are_caught_up_at_one_moment(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.move_on(20)
    page.keyboard.press("Shift+C")
    for name in ("Drying the baby", "Call for help", "Ventilation"):
        page.locator("#dock").get_by_role("button", name=name, exact=True).tap()
    page.get_by_role("button", name=re.compile("^Record 3 at")).tap()
    facilitator.all_kept()
    events = [event for event in facilitator.log() if event["kind"] == "action"]
    assert {event["data"]["action"] for event in events} == {
        "dry",
        "call_for_help",
        "mask_ventilation",
    }
    assert len({event["at_ms"] for event in events}) == 1
    phases = {event["data"]["action"]: event["data"]["phase"] for event in events}
    assert phases["mask_ventilation"] == "start"


def test_the_same_moment_as_the_last_gives_two_actions_one_time(facilitator: Facilitator) -> None:
    page = facilitator.start()
    facilitator.action("call_for_help").tap()
    same = page.locator("#same")
    same.tap()
    expect(same).to_have_attribute("aria-pressed", "true")
    facilitator.action("name_roles").tap()
    expect(same).to_have_attribute("aria-pressed", "false")
    facilitator.all_kept()
    first, second = [event for event in facilitator.log() if event["kind"] == "action"]
    assert first["at_ms"] == second["at_ms"]


def test_what_nobody_could_see_leaves_the_list(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    row = page.locator("#expected-list li").filter(has_text="Roles allocated")
    row.get_by_role("button", name="could not be seen").tap()
    facilitator.all_kept()
    expect(row).to_have_count(0)
    assert facilitator.logged("unobserved") == [{"item": "expect:name_roles"}]
    page.locator("#expected-fold").tap()
    expect(page.locator("#expected-list li").filter(has_text="Roles allocated")).to_contain_text(
        "unobserved"
    )


def test_an_action_can_be_recorded_as_only_said_or_its_kit_as_not_there(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.keyboard.press("/")
    dock = page.locator("#dock")
    dock.get_by_label("A touch records").select_option("said")
    dock.get_by_role("button", name="Call for help").tap()
    dock.get_by_label("A touch records").select_option("away")
    dock.get_by_role("button", name="Laryngeal mask", exact=True).tap()
    facilitator.all_kept()
    (act,) = facilitator.logged("action")
    assert (act["action"], act["how"]) == ("call_for_help", "said")
    assert facilitator.logged("unavailable") == [{"action": "laryngeal_mask"}]


def test_a_cue_marks_what_it_prompts_and_information_does_not(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+N")
    page.get_by_role("button", name="What is the heart rate now?").tap()
    page.keyboard.press("Shift+N")
    page.get_by_label("Words", exact=True).fill("The chest is not moving.")
    page.get_by_role("button", name="As information").tap()
    facilitator.all_kept()
    (cue,) = facilitator.logged("cue")
    assert cue == {
        "text": "What is the heart rate now?",
        "planned": True,
        "prompts": "listen_to_heart",
    }
    assert {"text": "The chest is not moving."} in facilitator.logged("information")


def test_an_observation_shown_by_hand_stands_on_the_bedside_display(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    display = facilitator.display()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    expect(display.locator("#signs")).not_to_contain_text("Temperature")
    expect(page.locator("#sentence")).to_contain_text("heart rate", ignore_case=True)
    page.keyboard.press("Shift+O")
    page.get_by_role("group", name="Temperature").get_by_role("button", name="Show").tap()
    expect(display.locator("#signs")).to_contain_text("°C")
    facilitator.all_kept()
    assert facilitator.logged("reveal") == [{"observation": "temperature", "shown": True}]


def test_what_the_manikin_cannot_show_is_told_by_one_touch_on_the_baby_and_taken_back(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    display = facilitator.display()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    baby = page.locator("#sentence")
    expect(baby).not_to_contain_text("the team found")
    baby.get_by_role("button", name=re.compile("^SpO2", re.IGNORECASE)).tap()
    expect(page.locator("#notices")).to_contain_text("told to the team")
    expect(baby).to_contain_text("the team found")
    expect(display.locator("#signs")).to_contain_text("SpO2")
    # Told at that instant: it grows old, as any reading does, and nothing goes on being shown.
    expect(display.locator("#signs")).to_contain_text("ago")
    facilitator.all_kept()
    reveal = {"observation": "spo2", "shown": True, "once": True}
    assert facilitator.logged("reveal") == [reveal]
    page.keyboard.press("z")
    expect(baby).not_to_contain_text("the team found")
    expect(display.locator("#signs")).not_to_contain_text("SpO2")
    assert facilitator.errors == []


def test_the_facilitator_takes_a_step_now_and_goes_to_any_state(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    page.locator("#states").tap()
    page.get_by_role("button", name="Heart rate recovering", exact=True).tap()
    expect(page.locator("#sentence")).to_contain_text("rising")
    facilitator.all_kept()
    last = facilitator.logged("state")[-1]
    assert (last["state"], last["cause"]) == ("recovering", "facilitator")


def test_a_fault_is_found_and_put_right_from_its_panel(facilitator: Facilitator) -> None:
    page = facilitator.start("cot-term")
    for button in ("Found", "Put right"):
        page.keyboard.press("Shift+F")
        fault = page.get_by_role("group", name="Self-inflating bag missing")
        fault.get_by_role("button", name=button).tap()
    facilitator.all_kept()
    statuses = [step["status"] for step in facilitator.logged("fault")]
    assert statuses[-2:] == ["found", "mended"]
