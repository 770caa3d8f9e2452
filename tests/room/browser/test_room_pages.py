"""The room as it is used: led by touch or by keys, followed by the wall, and its picture."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.desk.browser.facilitator import PHONE
from tests.desk.browser.page_faults import SIZES, everything, faults, picture
from tests.room.browser.leading import Leading
from tests.room.held import NOTE

STEPS = {
    "feelings": "How was it?",
    "story": "What happened?",
    "reasons": "Why?",
    "along": "What will we take away?",
}


def test_each_step_on_the_tablet_and_on_the_wall(leading: Leading) -> None:
    page, wall = leading.page, leading.wall()
    wrong = {}
    for name, title in STEPS.items():
        leading.step(title)
        expect(wall.locator(f'[data-step="{name}"]')).to_be_visible()
        if name == "story":
            page.locator("#slider").focus()
            page.locator("#slider").fill("180000")
            page.locator("#slider").dispatch_event("change")
            expect(wall.locator(".walk .time")).to_have_text("3:00")
        if name == "along":
            page.locator("#along-typed input").nth(0).fill("seal the mask before anything else")
            page.locator("#along-typed input").nth(1).fill("say what I see, loudly")
            page.locator("#along-typed input").nth(1).blur()
            expect(wall.locator(".along li")).to_have_count(2)
        wrong[f"{name} on the tablet"] = faults(page) + page.evaluate(SIZES)
        wrong[f"{name} on the wall"] = faults(wall) + wall.evaluate(SIZES)
        picture(page, f"room-{name}")
        picture(wall, f"wall-{name}")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    wrong["on a phone"] = page.evaluate(SIZES)
    assert everything(wrong) == []


def test_the_wall_is_never_scrolled_to_be_read(leading: Leading) -> None:
    wall = leading.wall()
    for name, title in STEPS.items():
        leading.step(title)
        expect(wall.locator(f'[data-step="{name}"]')).to_be_visible()
        over = wall.evaluate("document.documentElement.scrollHeight - innerHeight")
        assert over <= 0, f"{name} is {over} px too high"


def test_it_plays_to_the_next_mark_and_stands_there(leading: Leading) -> None:
    page, wall = leading.page, leading.wall()
    leading.step("What happened?")
    page.get_by_role("radio", name="16").check()
    page.get_by_role("button", name="Play").tap()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    expect(page.locator("#note")).to_have_text(NOTE)
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    expect(wall.locator(".walk .stopped")).to_be_visible()
    assert page.locator(".walk .time").inner_text() == wall.locator(".walk .time").inner_text()
    assert NOTE not in wall.content()


def test_keys_lead_it_from_end_to_end(leading: Leading) -> None:
    page, wall = leading.page, leading.wall()
    page.keyboard.press("2")
    expect(wall.locator('[data-step="story"]')).to_be_visible()
    page.keyboard.press("]")
    expect(wall.locator(".walk .stopped")).to_be_visible()
    page.keyboard.press("ArrowRight")
    expect(wall.locator(".walk .stopped")).to_be_hidden()
    page.keyboard.press("3")
    title = wall.locator(".moment h3")
    expect(title).to_be_visible()
    before = title.inner_text()
    page.keyboard.press("ArrowRight")
    expect(title).not_to_have_text(before)
    page.keyboard.press("4")
    expect(wall.locator('[data-step="along"]')).to_be_visible()


def test_what_if_is_shown_by_a_touch(leading: Leading) -> None:
    page, wall = leading.page, leading.wall()
    leading.step("Why?")
    ask = page.locator("#what-if")
    moments = page.locator("#moments button")
    for number in range(moments.count()):
        moments.nth(number).tap()
        expect(moments.nth(number)).to_have_attribute("aria-pressed", "true")
        if ask.is_enabled():
            break
    ask.tap()
    words = wall.locator(".what-if .told")
    expect(words).to_contain_text("In this scenario,")
    expect(wall.locator(".what-if .limits")).to_contain_text("nothing about a real baby")
    picture(wall, "wall-what-if")


def test_the_score_comes_last_or_not_at_all(leading: Leading) -> None:
    page, wall = leading.page, leading.wall()
    assert page.locator("nav.steps").get_by_role("button", name="In figures").is_hidden()
    assert "%" not in wall.locator(".score-lines").text_content()  # type: ignore[operator]
    page.get_by_text("The wall", exact=True).tap()
    page.get_by_text("The score after the last step").tap()
    leading.step("In figures")
    expect(wall.locator(".score-lines")).to_contain_text("%")


def test_a_moment_is_tried_again_from_the_room(leading: Leading) -> None:
    page = leading.page
    leading.step("Why?")
    page.locator("#again").tap()
    page.locator(".act").first.wait_for()
    assert "/s/" in page.url
    assert leading.session not in page.url
    session = leading.facilitator.session
    (opened,) = leading.facilitator.logged("opened")
    assert opened["purpose"] == "rehearsal"
    assert opened["retry"]["session"] == leading.session
    assert opened["session"] == session
