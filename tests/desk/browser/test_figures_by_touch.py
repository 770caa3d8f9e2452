"""How many touches each thing takes from the main screen, and what is asked about."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, expect

from tests.desk.browser.facilitator import Facilitator


class Finger:
    """One finger, and how often it came down."""

    def __init__(self) -> None:
        self.touches = 0

    def tap(self, what: Locator) -> None:
        self.touches += 1
        what.tap()


@pytest.fixture
def finger() -> Finger:
    return Finger()


def test_oxygen_goes_from_30_to_100_per_cent_with_two_touches(
    facilitator: Facilitator, finger: Finger
) -> None:
    page = facilitator.start()
    finger.tap(facilitator.setting("oxygen"))
    offered = page.locator("#dock .words button").all_inner_texts()
    assert {"21 %", "30 %", "40 %", "60 %", "100 %"} <= set(offered)
    finger.tap(page.get_by_role("button", name="100 %", exact=True))
    assert finger.touches == 2
    expect(facilitator.setting("oxygen")).to_contain_text("100 %")


def test_peak_pressure_offers_what_it_stands_at_and_5_and_10_more(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    facilitator.setting("peak_pressure").tap()
    offered = page.locator("#dock .words button").all_inner_texts()
    assert offered[:4] == ["30 cmH₂O", "25 cmH₂O", "35 cmH₂O", "40 cmH₂O"]


def test_adrenaline_takes_two_touches_with_dose_volume_and_route_and_flush_one_more(
    facilitator: Facilitator, finger: Finger
) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    finger.tap(facilitator.action("adrenaline"))
    finger.tap(page.get_by_role("button", name="20 mcg/kg, 0.68 mL, umbilical venous"))
    assert finger.touches == 2
    expect(page.locator("#dock")).to_contain_text("of 0.1 mg/mL")
    expect(page.locator("#dock .caution")).to_be_visible()
    finger.tap(page.get_by_role("button", name="Flush 1 mL"))
    assert finger.touches == 3
    page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    (given,) = facilitator.logged("action")
    assert (given["action"], given["role"]) == ("adrenaline", "circulation")
    assert "dose" not in given  # nothing is recorded that was not touched
    (dose,) = [amend["fields"]["dose"] for amend in facilitator.amends()]
    assert dose == {
        "amount": {"value": 20, "unit": "mcg/kg"},
        "volume": {"value": 0.68, "unit": "mL"},
        "strength": {"value": 0.1, "unit": "mg/mL"},
        "route": "umbilical_vein",
        "flush": {"value": 1, "unit": "mL"},
    }


def test_a_heart_rate_is_told_with_two_touches_in_bands_first(
    facilitator: Facilitator, finger: Finger
) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    finger.tap(facilitator.action("listen_to_heart"))
    bands = page.get_by_role("group", name="Heart rate, as called out").get_by_role("button")
    assert bands.all_inner_texts() == ["below 60", "60 to 100", "above 100"]
    finger.tap(bands.nth(1))
    assert finger.touches == 2
    page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    (amend,) = facilitator.amends()
    assert amend["fields"]["spoken"]["heart_rate"] == {"value": "60 to 100", "unit": "/min"}


def test_a_fault_is_found_with_one_touch_and_put_right_with_one_more(
    facilitator: Facilitator, finger: Finger
) -> None:
    page = facilitator.start("cot-term")
    tile = page.locator(".tiles .act[data-fault]").first
    name = tile.get_attribute("data-fault")
    expect(tile).to_contain_text("planted")
    finger.tap(tile)
    expect(tile).to_contain_text("found")
    finger.tap(tile)
    expect(tile).to_contain_text("put right")
    assert finger.touches == 2
    facilitator.all_kept()
    steps = [(step["fault"], step["status"]) for step in facilitator.logged("fault")]
    assert steps == [(name, "found"), (name, "mended")]


def test_said_and_not_done_takes_two_touches(facilitator: Facilitator, finger: Finger) -> None:
    page = facilitator.start()
    finger.tap(page.locator("#said"))
    finger.tap(facilitator.action("call_for_help"))
    assert finger.touches == 2
    facilitator.action("call_senior").tap()
    facilitator.all_kept()
    assert [act.get("how") for act in facilitator.logged("action")] == ["said", None]


def test_a_moment_is_marked_for_the_debrief_with_one_touch_and_a_word_may_follow(
    facilitator: Facilitator, finger: Finger
) -> None:
    page = facilitator.start()
    finger.tap(page.locator("#mark-this"))
    assert finger.touches == 1
    page.get_by_label("A word about it").fill("Who leads?")
    page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    assert facilitator.logged("note")[-1] == {"text": "Marked for the debrief"}
    assert facilitator.amends()[-1]["fields"] == {"text": "Who leads?"}


def test_a_prepared_cue_takes_two_touches(facilitator: Facilitator, finger: Finger) -> None:
    page = facilitator.start()
    finger.tap(page.locator("#cues"))
    finger.tap(page.locator("#dock .dock-list button").first)
    assert finger.touches == 2
    facilitator.all_kept()
    assert len(facilitator.logged("cue")) == 1


def test_a_step_that_is_held_goes_on_by_itself(facilitator: Facilitator) -> None:
    page = facilitator.start()
    facilitator.setting("oxygen").tap()
    more = page.get_by_label("Oxygen: higher")
    more.hover()
    page.mouse.down()
    expect(facilitator.setting("oxygen")).to_contain_text(re.compile("3[5-9] %|[4-9][0-9] %|100 %"))
    page.mouse.up()
    page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    (kept,) = facilitator.logged("set")
    assert kept["value"] >= 35


@pytest.mark.parametrize(
    ("label", "typed", "asked"),
    [("Or dose", "680", "Outside 5 to 20 mL/kg."), ("Or dose", "-5", "Outside 5 to 20 mL/kg.")],
)
def test_680_and_less_than_nothing_are_asked_about_and_kept_only_if_meant(
    facilitator: Facilitator, label: str, typed: str, asked: str
) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    facilitator.action("volume").tap()
    page.get_by_role("button", name="Another…").tap()
    page.get_by_label(label, exact=True).fill(typed)
    page.keyboard.press("Tab")
    expect(page.get_by_role("alert")).to_contain_text(asked)
    page.get_by_label(f"{label}: unit").select_option("mL")
    page.get_by_label(label, exact=True).fill(typed.replace("680", "681"))
    page.keyboard.press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("Outside 17 to 68 mL.")
    page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    assert facilitator.amends() == []


def test_a_flush_or_pressure_below_zero_is_asked_about(facilitator: Facilitator) -> None:
    page = facilitator.start()
    facilitator.setting("suction_pressure").tap()
    page.get_by_label("Suction pressure: unit").select_option("kPa")
    page.get_by_label("Suction pressure", exact=True).fill("-5")
    page.keyboard.press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("Outside 0 to 40 kPa.")
    assert facilitator.logged("set") == []


def test_a_gauge_in_another_unit_shows_what_stands_on_it(facilitator: Facilitator) -> None:
    page = facilitator.start("cot-term")
    expect(facilitator.setting("suction_pressure")).to_contain_text("20 kPa")
    assert "150.01" not in page.inner_text("body")
