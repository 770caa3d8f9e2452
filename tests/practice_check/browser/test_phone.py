"""The practice check on a phone, in one hand: by touch, closed half way, finished and printed."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.desk.browser.facilitator import PHONE, Facilitator
from tests.desk.browser.page_faults import SIZES, faults, picture


def opened(facilitator: Facilitator) -> Page:
    """The list on a phone that knows nothing but the code."""
    page = facilitator.page
    page.goto(f"{facilitator.server.address}/practice")
    page.get_by_label("Unit").fill("Larkmoor")
    page.get_by_role("button", name="Open the list").tap()
    page.wait_for_url("**/practice/*")
    code = page.locator("section strong").first.inner_text()
    phone = facilitator.device(PHONE)
    phone.goto(f"{facilitator.server.address}/join")
    phone.get_by_label("Code", exact=False).first.fill(code)
    phone.get_by_role("button", name="Join").tap()
    phone.wait_for_url(f"**/practice/{code}")
    return phone


def test_a_cot_is_gone_through_by_the_thumb_and_nothing_is_lost_half_way(
    facilitator: Facilitator,
) -> None:
    phone = opened(facilitator)
    assert phone.evaluate(SIZES) == []
    assert faults(phone) == []
    picture(phone, "practice-check-phone")
    progress = phone.locator("[data-progress]")
    seal = phone.locator("#row-seal")
    seal.get_by_text("As it should be", exact=True).tap()
    expect(progress).to_contain_text("1 of 30 looked at")
    phone.get_by_role("button", name="Next").tap()
    expect(phone.locator("#row-power")).to_be_in_viewport()
    bag = phone.locator("#row-bag")
    bag.get_by_text("Not right", exact=True).tap()
    bag.get_by_text("Self-inflating bag valve stuck", exact=False).tap()
    suction = phone.locator("#row-suction")
    suction.get_by_label("Suction", exact=False).first.fill("20")
    suction.locator("select").select_option("kPa")
    picture(phone, "practice-check-phone-row")

    phone.reload()
    expect(progress).to_contain_text("3 of 30 looked at")
    expect(suction.locator("select")).to_have_value("kPa")

    phone.get_by_role("button", name="Finish").tap()
    marks = phone.locator(".found")
    expect(marks).to_contain_text("20 kPa")
    expect(marks).to_contain_text("Self-inflating bag valve stuck")
    assert phone.evaluate(SIZES) == []
    assert faults(phone) == []
    picture(phone, "practice-check-phone-found")

    facilitator.page.goto(f"{facilitator.server.address}/cohort/threats")
    expect(facilitator.page.locator("body")).to_contain_text("Self-inflating bag valve stuck")
