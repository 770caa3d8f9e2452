"""The pages of rehearsing alone on a phone and a tablet: whole, large enough, and used by all."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import expect

from tests.desk.browser.facilitator import PHONE, TABLET, Facilitator
from tests.desk.browser.page_faults import SIZES, everything, faults, picture
from tests.rehearsal.browser.test_by_names_and_roles import ByName

SCREENS = {"phone": PHONE, "tablet": TABLET}


def looked_at(player: ByName, name: str, tmp_path: Path) -> dict[str, list[str]]:
    """What is wrong with the page as it stands, at each size."""
    wrong = {}
    for screen, (width, height) in SCREENS.items():
        player.page.set_viewport_size({"width": width, "height": height})
        wrong[f"{name} on a {screen}"] = player.page.evaluate(SIZES)
        picture(player.page, f"rehearsal-{name}-{screen}", tmp_path)
    return wrong | {name: faults(player.page)}


def test_a_resuscitation_is_whole_and_accessible_at_each_step(
    facilitator: Facilitator, tmp_path: Path
) -> None:
    player = ByName(facilitator)
    page = player.page
    page.goto(f"{facilitator.server.address}/rehearse")
    wrong = looked_at(player, "choose", tmp_path)
    player.begin("Term newborn who is not breathing", way="Guided")
    wrong |= looked_at(player, "before", tmp_path)
    player.press("button", "I am ready: on to the birth")
    player.does("Breathing", "Gas flow: 8 L/min", "Start ventilation", "Assess breathing and tone")
    player.does("Circulation", "Listen to the heart")
    player.waits(10)
    player.does("Breathing", "Put the pulse oximeter on the right hand")
    player.waits(70)
    wrong |= looked_at(player, "play", tmp_path)
    player.press("tab", "Drugs and vascular access")
    player.press("button", "Give adrenaline")
    expect(page.get_by_role("dialog")).to_be_visible()
    wrong |= looked_at(player, "dose", tmp_path)
    player.press("button", "Not now")
    player.press("button", "End here")
    player.press("button", "End here", page.get_by_role("dialog"))
    expect(page.get_by_role("heading", name="Try again from here")).to_be_visible()
    wrong |= looked_at(player, "after", tmp_path)
    assert everything(wrong) == []


def test_one_touch_for_a_real_patient_blanks_the_screen_and_ends_it(
    facilitator: Facilitator,
) -> None:
    player = ByName(facilitator)
    page = player.page
    player.begin("Term newborn who is not breathing")
    player.press("button", "I am ready: on to the birth")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    stop = page.get_by_role("button", name="STOP: real patient")
    expect(stop).to_be_in_viewport(ratio=1)
    stop.tap()
    expect(page.get_by_role("alert")).to_contain_text("STOP: real patient")
    player.press("link", "Look at it later")
    expect(page.get_by_role("heading", name="Try again from here")).to_be_visible()


def test_the_cot_is_whole_and_accessible(facilitator: Facilitator, tmp_path: Path) -> None:
    player = ByName(facilitator)
    player.begin("Preparing the cot for a term birth")
    player.press("button", "I am ready: on to the call")
    player.looks("Gas flow", "The flowmeter stands at 0 L/min.")
    player.types("Gas flow", "Gas flow, L/min", "8")
    player.looks("T-piece", "Its outlet is open.")
    player.works("T-piece", "Keep the outlet closed", "Finger on the hole of the cap")
    player.sees("T-piece", "Manometer: 12 cmH₂O")
    wrong = looked_at(player, "cot", tmp_path)
    player.looks("Suction", "Its gauge stands at 0 kPa.")
    wrong |= looked_at(player, "suction", tmp_path)
    assert everything(wrong) == []


def test_a_pointer_stands_where_its_figure_is(facilitator: Facilitator) -> None:
    """From end to end of the scale in proportion: 20 of 0 to 40 kPa is straight up."""
    player = ByName(facilitator)
    player.begin("Preparing the cot for a term birth")
    player.press("button", "I am ready: on to the call")
    player.looks("Suction", "Its gauge stands at 0 kPa.")
    pointer = player.part("Suction").locator(".pointer")
    expect(pointer).to_have_attribute("transform", re.compile(r"rotate\(-120\.0 "))
    player.works("Suction", "Suction: On", "Keep the tubing closed")
    expect(pointer).to_have_attribute("transform", re.compile(r"rotate\(0\.0 "))


def test_whoever_is_at_something_that_goes_away_is_taken_to_what_can_be_done(
    facilitator: Facilitator,
) -> None:
    player = ByName(facilitator)
    page = player.page
    player.begin("Term newborn who is not breathing")
    player.press("button", "I am ready: on to the birth")
    expect(page.get_by_role("tab", selected=True)).to_be_focused()
    player.does("Circulation", "Listen to the heart")
    player.waits(10)
    player.press("button", "I can't hear them")
    expect(page.get_by_role("button", name="Below 60 /min")).to_be_focused()
    player.press("button", "60 to 100 /min")
    expect(page.get_by_role("tab", name="Circulation")).to_be_focused()
