"""On a tablet the debrief offers "what if?", and a touch is answered on a page that reads alone."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.desk.browser.page_faults import SIZES, faults, picture
from tests.room.browser.leading import Leading

QUESTION = re.compile("^What if we had ")


def test_a_touch_on_the_offer_is_answered_and_leads_back(leading: Leading) -> None:
    page, session = leading.page, leading.session
    page.goto(f"{leading.facilitator.server.address}/s/{session}/debrief?part=whole")
    offers = page.get_by_role("link", name=QUESTION)
    expect(offers.first).to_be_visible()
    offers.first.tap()
    title = page.get_by_role("heading", level=1)
    expect(title).to_have_text(re.compile("what if we had "))
    expect(page.get_by_role("heading", name="What would have come of it")).to_be_visible()
    answer = page.get_by_text(re.compile("^(In this scenario, |Nobody can tell)"))
    expect(answer.first).to_be_visible()
    assert faults(page) + page.evaluate(SIZES) == []
    picture(page, "what-if")
    page.get_by_role("link", name="What if a step had gone as aimed for?").tap()
    all_offers = page.get_by_role("link", name=re.compile("what if we had "))
    expect(all_offers.first).to_be_visible()
    assert faults(page) + page.evaluate(SIZES) == []
    page.get_by_role("link", name="Debrief").tap()
    expect(page.get_by_role("heading", name="What to work on")).to_be_visible()


def test_it_is_asked_and_answered_by_keys_alone(leading: Leading) -> None:
    page, session = leading.page, leading.session
    page.goto(f"{leading.facilitator.server.address}/s/{session}/debrief?part=whole")
    page.get_by_role("link", name=QUESTION).first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("what if we had "))
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Debrief")).to_be_focused()
