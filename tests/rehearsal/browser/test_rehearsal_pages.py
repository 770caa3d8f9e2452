"""The pages of rehearsing alone on a phone and a tablet: whole, large enough, and used by all."""

from __future__ import annotations

import json
import re

from playwright.sync_api import expect

from tests.desk.browser.facilitator import PHONE, TABLET, Facilitator
from tests.desk.browser.page_faults import SIZES, everything, faults, picture
from tests.rehearsal.browser.by_name import ByName

SCREENS = {"phone": PHONE, "tablet": TABLET}


def looked_at(player: ByName, name: str) -> dict[str, list[str]]:
    """What is wrong with the page as it stands, at each size."""
    wrong = {}
    for screen, (width, height) in SCREENS.items():
        player.page.set_viewport_size({"width": width, "height": height})
        wrong[f"{name} on a {screen}"] = player.page.evaluate(SIZES)
        picture(player.page, f"rehearsal-{name}-{screen}")
    return wrong | {name: faults(player.page)}


def test_a_resuscitation_is_whole_and_accessible_at_each_step(facilitator: Facilitator) -> None:
    player = ByName(facilitator)
    page = player.page
    page.goto(f"{facilitator.server.address}/rehearse")
    wrong = looked_at(player, "choose")
    player.begin("Term newborn who is not breathing", way="Guided")
    wrong |= looked_at(player, "before")
    player.press("button", "I am ready: on to the birth")
    player.does("Breathing", "Gas flow: 8 L/min", "Start ventilation", "Assess breathing and tone")
    player.waits(10)
    player.does("Circulation", "Listen to the heart")
    player.waits(10)
    player.does("Breathing", "Put the pulse oximeter on the right hand")
    player.waits(70)
    wrong |= looked_at(player, "play")
    player.press("tab", "Drugs and vascular access")
    player.press("button", "Give adrenaline")
    expect(page.get_by_role("dialog")).to_be_visible()
    wrong |= looked_at(player, "dose")
    player.press("button", "Not now")
    player.press("button", "End here")
    player.press("button", "End here", page.get_by_role("dialog"))
    expect(page.get_by_role("heading", name="Try again from here")).to_be_visible()
    wrong |= looked_at(player, "after")
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
    page.keyboard.press("Tab")  # to all that is left to come to
    expect(page.get_by_role("link", name="Look at it later")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Try again from here")).to_be_visible()


def test_the_cot_is_whole_and_accessible(facilitator: Facilitator) -> None:
    player = ByName(facilitator)
    player.begin("Preparing the cot for a term birth")
    player.press("button", "I am ready: on to the call")
    player.looks("Gas flow", "The flowmeter stands at 0 L/min.")
    player.types("Gas flow", "Gas flow, L/min", "8")
    player.looks("T-piece", "Its outlet is open.")
    player.works("T-piece", "Keep the outlet closed", "Finger over the hole in the cap")
    player.sees("T-piece", "Manometer: 12 cmH₂O")
    wrong = looked_at(player, "cot")
    player.looks("Suction", "Its gauge stands at 0 kPa.")
    wrong |= looked_at(player, "suction")
    assert everything(wrong) == []


def test_a_pointer_stands_where_its_figure_is(facilitator: Facilitator) -> None:
    """From end to end of the scale in proportion: 20 of 0 to 40 kPa is straight up.

    It stands there as soon as the words do.
    """
    player = ByName(facilitator)
    player.begin("Preparing the cot for a term birth")
    player.press("button", "I am ready: on to the call")
    player.looks("Suction", "Its gauge stands at 0 kPa.")
    pointer = player.part("Suction").locator(".pointer")
    stands = pointer.get_attribute("transform")
    assert stands is not None
    assert stands.startswith("rotate(-120.0 ")
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


def test_the_manometer_moves_with_each_breath_and_its_words_do_not(
    facilitator: Facilitator,
) -> None:
    """From 4 to 27 of 0 to 80 cmH2O, a tenth of the flow being lost at the mask."""
    player = ByName(facilitator)
    page = player.page
    player.begin("Term newborn who is not breathing")
    player.press("button", "I am ready: on to the birth")
    player.does("Breathing", "Gas flow: 8 L/min", "Start ventilation")
    breathing = page.get_by_role("tabpanel", name="Breathing")
    words = breathing.locator("figcaption")
    expect(words).to_have_text(re.compile(r"^Manometer: 4 cmH₂O, and \d\d cmH₂O with each breath$"))
    turned = page.evaluate(
        """() => new Promise((resolve) => {
            const pointer = document.querySelector(".manometer .pointer");
            window.turned = new Set();
            new MutationObserver(() => {
                window.turned.add(pointer.getAttribute("transform"));
                if (window.turned.size > 20) resolve([...window.turned]);
            }).observe(pointer, {attributes: true});
        })"""
    )
    angles = [float(turn.removeprefix("rotate(").split()[0]) for turn in turned]
    assert min(angles) >= -108.5
    assert -45 < max(angles) < -20
    page.emulate_media(reduced_motion="reduce")
    pointer, far = breathing.locator(".pointer"), breathing.locator(".far")
    expect(pointer).to_have_attribute("transform", re.compile(r"rotate\(-108\.0 "))
    expect(far).to_have_attribute("visibility", "visible")
    page.evaluate("window.turned.clear()")
    expect(words).to_have_text(re.compile("with each breath"))
    faults_there = looked_at(player, "manometer")
    assert page.evaluate("window.turned.size") == 0
    assert everything(faults_there) == []


def test_help_is_told_by_touch_and_by_keys_and_the_choice_stays(facilitator: Facilitator) -> None:
    player = ByName(facilitator)
    page = player.page
    player.begin("Term newborn who is not breathing")
    expect(page.get_by_role("group", name="Who does it")).to_have_count(0)
    player.press("button", "I am ready: on to the birth")
    player.does("Team", "Call for help")
    player.waits(60)
    choice = page.get_by_role("group", name="Who does it")
    choice.get_by_text("Help", exact=True).tap()
    player.does("Breathing", "Start ventilation")
    status = page.locator("#told")
    expect(status).to_have_text("Help: ventilation started.")
    player.does("Breathing", "Check chest movement")
    expect(choice.get_by_role("radio", name="Help")).to_be_checked()
    hands = page.get_by_role("list", name="Hands")
    expect(hands).to_contain_text("Help: ventilating; one hand free")
    player.press("button", "Take over ventilation yourself")
    expect(status).to_have_text("You take over ventilation.")
    expect(hands).to_contain_text("You: ventilating; one hand free")
    choice.get_by_role("radio", name="Help").focus()
    page.keyboard.press("ArrowUp")
    expect(choice.get_by_role("radio", name="You")).to_be_checked()
    faults_there = looked_at(player, "help")
    assert everything(faults_there) == []


def test_the_first_turn_of_a_dial_is_sent_at_once_and_those_that_follow_it_as_one(
    facilitator: Facilitator,
) -> None:
    player = ByName(facilitator)
    page = player.page
    player.begin("Term newborn who is not breathing")
    player.press("tab", "Breathing")
    turned: list[float] = []
    page.on(
        "request",
        lambda request: (
            turned.append(json.loads(request.post_data or "")["chosen"]["value"])
            if request.url.endswith("/do")
            else None
        ),
    )
    more = page.get_by_role("button", name="Gas flow: more")
    with page.expect_response("**/do"):
        more.evaluate("button => { for (let turn = 0; turn < 4; turn += 1) button.click(); }")
    expect(page.get_by_role("group", name="Gas flow")).to_contain_text("now 4 L/min")
    assert turned == [1, 4]
