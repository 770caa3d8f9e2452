"""Undo takes back the last thing done on this device, whatever it was; redo brings it back."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.desk.browser.facilitator import TABLET, Facilitator


def test_undo_says_what_it_would_undo_and_asks_before_the_birth_is_taken_back(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    expect(page.locator("#clock-note")).to_contain_text("since birth")
    expect(page.locator("#undo")).to_contain_text("Undo: Birth")
    page.locator("#undo").tap()
    dock = page.locator("#dock")
    expect(dock).to_contain_text("Undo “Birth”?")
    page.get_by_role("button", name="No, it stands").tap()
    assert facilitator.logged("undone") == []
    page.locator("#undo").tap()
    page.get_by_role("button", name="Yes, undo it").tap()
    expect(page.locator("#clock-note")).to_contain_text("since the start")
    facilitator.all_kept()
    born = next(event for event in facilitator.log() if event["kind"] == "event")
    assert facilitator.logged("undone") == [{"id": born["id"]}]
    page.locator("#redo").tap()
    expect(page.locator("#clock-note")).to_contain_text("since birth")
    facilitator.all_kept()
    births = [event["at_ms"] for event in facilitator.log() if event["kind"] == "event"]
    assert births == [born["at_ms"], born["at_ms"]]


def test_a_hold_a_pause_and_an_entry_are_taken_back_and_brought_back_in_turn(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    facilitator.action("call_for_help").tap()
    page.locator("#hold").tap()
    page.locator("#pause").tap()
    undo = page.locator("#undo")
    expect(undo).to_contain_text("Undo: Paused")
    undo.tap()
    expect(page.locator("#pause")).to_have_attribute("aria-pressed", "false")
    undo.tap()
    expect(page.locator("#hold")).to_have_attribute("aria-pressed", "false")
    expect(undo).to_contain_text("Undo: Call for help")
    undo.tap()
    expect(undo.locator("span")).to_have_text("Undo")
    facilitator.all_kept()
    page.locator("#redo").tap()
    expect(undo).to_contain_text("Undo: Call for help")
    page.locator("#redo").tap()
    expect(page.locator("#hold")).to_have_attribute("aria-pressed", "true")


def test_a_state_taken_by_hand_is_taken_back_after_it_was_asked(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    page.locator("#states").tap()
    page.locator("#dock .dock-list").last.get_by_role("button").first.tap()
    page.locator("#undo").tap()
    page.get_by_role("button", name="Yes, undo it").tap()
    facilitator.all_kept()
    (undone,) = facilitator.logged("undone")
    states = [
        event
        for event in facilitator.log()
        if event["kind"] == "state" and event["by"] != "program"
    ]
    assert undone["id"] == states[-1]["id"]


def test_two_devices_each_undo_their_own_and_see_what_they_would_undo(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    code = page.locator("body").get_attribute("data-recorder")
    other = facilitator.device(TABLET)
    other.goto(f"{facilitator.server.address}/join")
    other.get_by_role("textbox", name="Code").fill(str(code))
    other.get_by_label("a second observer's").check()
    other.get_by_role("button", name="Join").tap()
    other.locator(".act").first.wait_for()
    facilitator.action("call_for_help").tap()
    facilitator.action("name_roles", other).tap()
    expect(page.locator("#undo")).to_contain_text("Undo: Call for help")
    expect(other.locator("#undo")).to_contain_text("Undo: Roles allocated")
    other.locator("#undo").tap()
    facilitator.all_kept(other)
    named = next(e for e in facilitator.log() if e["data"].get("action") == "name_roles")
    assert [amend["id"] for amend in facilitator.amends()] == [named["id"]]
    expect(page.locator("#undo")).to_contain_text("Undo: Call for help")


def test_stop_stands_away_from_undo(facilitator: Facilitator) -> None:
    page = facilitator.start()
    stop, undo = (page.locator(name).bounding_box() for name in ("#stop", "#undo"))
    assert stop is not None
    assert undo is not None
    assert undo["y"] - (stop["y"] + stop["height"]) > 300
    assert stop["x"] - (undo["x"] + undo["width"]) > 300
