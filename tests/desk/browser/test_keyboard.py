"""A whole session by keys alone, on a laptop."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.desk.browser.facilitator import LAPTOP, Facilitator


@pytest.fixture(autouse=True)
def _laptop(facilitator: Facilitator) -> None:
    width, height = LAPTOP
    facilitator.page.set_viewport_size({"width": width, "height": height})


def test_a_session_is_run_by_keys_alone(facilitator: Facilitator) -> None:
    page = facilitator.start()
    press = page.keyboard.press
    press("Shift+B")
    expect(page.locator("#clock-note")).to_contain_text("since birth")
    press("d")
    press("v")
    press("Enter")  # into the panel, at the first setting it asks
    press("Tab")
    press("ArrowUp")
    press("ArrowUp")
    press("Escape")
    press("l")
    press(",")
    press("-")
    press("f")  # at the same moment as the last
    press("/")
    page.keyboard.type("oximeter on")
    press("Enter")
    press("Escape")
    press("p")
    expect(page.locator("#pause")).to_contain_text("Resume")
    press("p")
    expect(page.locator("#pause")).to_contain_text("Pause")
    press("Shift+H")
    expect(page.locator("#hold")).to_contain_text("Release")
    press("Shift+H")
    press("v")
    facilitator.all_kept()

    log = facilitator.log()
    actions = [event for event in log if event["kind"] == "action"]
    assert [(act["data"]["action"], act["data"]["phase"]) for act in actions] == [
        ("dry", "done"),
        ("mask_ventilation", "start"),
        ("listen_to_heart", "done"),
        ("name_roles", "done"),
        ("oximeter", "start"),
        ("mask_ventilation", "stop"),
    ]
    heard, named = actions[2], actions[3]
    moves = [
        amend["fields"]["at_ms"] for amend in facilitator.amends() if "at_ms" in amend["fields"]
    ]
    assert moves == [max(0, heard["at_ms"] - 1000)]
    assert named["at_ms"] == moves[-1]
    peaks = [
        amend["fields"]["settings"]
        for amend in facilitator.amends()
        if "settings" in amend["fields"]
    ]
    assert peaks == [{"peak_pressure": {"value": 32, "unit": "cmH2O"}}]
    kinds = [event["kind"] for event in log]
    assert [kind for kind in kinds if kind in ("pause", "resume", "hold", "release")] == [
        "pause",
        "resume",
        "hold",
        "release",
    ]

    press("Shift+E")
    press("Enter")  # the focus is on "Yes: it is finished"
    expect(page.locator("#closed-why")).to_have_text("This session is over: finished.")


def test_an_entry_is_never_moved_into_the_future(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("d")
    page.keyboard.press(">")
    facilitator.all_kept()
    (amend,) = [event for event in facilitator.log() if event["kind"] == "amend"]
    assert amend["data"]["fields"]["at_ms"] <= amend["noted_ms"]


def test_undo_takes_back_step_by_step_what_was_recorded_here(facilitator: Facilitator) -> None:
    page = facilitator.start()
    press = page.keyboard.press
    press("Shift+B")
    press("d")
    press("f")
    press(",")
    press("z")  # the correction
    press("z")  # the roles named
    facilitator.all_kept()
    page.reload()
    page.locator(".act").first.wait_for()
    press("z")  # the drying, after a reload
    facilitator.all_kept()
    log = facilitator.log()
    by_id = {event["id"]: event for event in log}
    undone = [by_id[amend["id"]] for amend in facilitator.amends() if amend.get("withdrawn")]
    assert [event["kind"] for event in undone] == ["amend", "action", "action"]
    assert [event["data"].get("action") for event in undone] == [None, "name_roles", "dry"]


def test_every_key_of_the_vocabulary_stands_on_its_button_and_in_the_list(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    button = facilitator.action("mask_ventilation")
    expect(button.locator("kbd")).to_have_text("V")
    page.keyboard.press("?")
    rows = page.locator(".keys-list li")
    listed = {
        row.locator("kbd").inner_text(): row.locator("span").inner_text() for row in rows.all()
    }
    assert listed["V"] == "Ventilation"
    assert listed["Z"] == "Undo"
    assert listed["!"] == "STOP: real patient"
    assert rows.count() == len(listed), "one key does two things"


def test_keys_do_nothing_while_somebody_types(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+N")
    page.get_by_label("Words", exact=True).focus()
    page.keyboard.type("very dry, said the leader!")
    page.get_by_role("button", name="As a note to yourself").press("Enter")
    facilitator.all_kept()
    assert facilitator.logged("action") == []
    assert facilitator.logged("closed") == []
    assert facilitator.logged("note")[-1]["text"] == "very dry, said the leader!"


def test_keys_can_be_switched_off_on_a_device(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.locator("#menu").tap()
    switch = page.locator("#dock").get_by_role("button", name="Keys", exact=True).last
    switch.tap()
    expect(switch).to_have_attribute("aria-pressed", "false")
    page.reload()
    page.locator(".act").first.wait_for()
    page.keyboard.press("d")
    facilitator.action("call_for_help").tap()
    facilitator.all_kept()
    assert [act["action"] for act in facilitator.logged("action")] == ["call_for_help"]
