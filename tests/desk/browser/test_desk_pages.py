"""Every page: accessible, whole at each size, quiet where quiet is asked, and its picture."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.desk.browser.facilitator import LAPTOP, PHONE, TABLET, Facilitator
from tests.desk.browser.page_faults import SIZES, everything, faults, picture, theme_of

# Labels on the tape, tiles in a lane and buttons of the head must not lie on one another.
_OVERLAPS = """() => {
    const found = [];
    // what a lane's tiles show of one as far as they are scrolled
    const seenOf = (one) => {
        const box = one.getBoundingClientRect();
        const frame = (one.closest(".tiles") ?? one).getBoundingClientRect();
        return { left: Math.max(box.left, frame.left), right: Math.min(box.right, frame.right),
            top: Math.max(box.top, frame.top), bottom: Math.min(box.bottom, frame.bottom) };
    };
    for (const group of [".tape-chip", ".act", ".head button, .next button", ".foot-head *"]) {
        const boxes = [...document.querySelectorAll(group)]
            .filter((one) => one.checkVisibility() && one.textContent.trim() !== ""
                && one.children.length < 5 && one.tagName !== "DIV")
            .map((one) => [one, seenOf(one)])
            .filter(([, box]) => box.right > box.left && box.bottom > box.top);
        for (const [one, a] of boxes) for (const [other, b] of boxes) {
            if (one === other || one.contains(other) || other.contains(one)) continue;
            if (a.left + 1 < b.right && b.left + 1 < a.right
                && a.top + 1 < b.bottom && b.top + 1 < a.bottom) {
                found.push(`${one.textContent.trim()} lies on ${other.textContent.trim()}`);
            }
        }
    }
    return found;
}"""


def _ran(facilitator: Facilitator) -> Page:
    """A session some entries in, with time between them."""
    page = facilitator.start()
    for keys, then in (("BdF", 14), ("ln", 20), ("ov", 8)):
        for key in keys:
            page.keyboard.press(f"Shift+{key}" if key == "B" else key.lower())
        page.keyboard.press("Escape")
        facilitator.move_on(then)
        expect(page.locator("#dock")).to_be_hidden()
    facilitator.all_kept()
    expect(facilitator.action("mask_ventilation")).to_be_visible()
    expect(page.locator("#next")).to_contain_text("senior")
    expect(page.locator("#sentence")).to_contain_text("the team found")
    expect(page.locator(".notice")).to_have_count(0)
    return page


def test_the_pages_before_a_session(facilitator: Facilitator) -> None:
    page = facilitator.page
    page.goto(facilitator.server.address)
    wrong = {"choose": faults(page) + page.evaluate(SIZES)}
    picture(page, "choose")
    facilitator.choose()
    wrong["prebrief"] = faults(page) + page.evaluate(SIZES)
    picture(page, "prebrief")
    facilitator.begin()
    page.goto(f"{facilitator.server.address}/join")
    wrong["join"] = faults(page) + page.evaluate(SIZES)
    picture(page, "join")
    page.goto(f"{facilitator.server.address}/nowhere")
    wrong["message"] = faults(page) + page.evaluate(SIZES)
    assert everything(wrong) == []


def test_the_console_at_each_size_by_day_and_by_night(facilitator: Facilitator) -> None:
    page = _ran(facilitator)
    wrong = {}
    for name, (width, height) in (("tablet", TABLET), ("laptop", LAPTOP), ("phone", PHONE)):
        page.set_viewport_size({"width": width, "height": height})
        page.keyboard.press("Escape")
        expect(page.locator("#dock")).to_be_hidden()
        page.wait_for_function("() => document.fonts.status === 'loaded'")
        wrong[name] = page.evaluate(SIZES) + page.evaluate(_OVERLAPS)
        picture(page, f"console-{name}")
    page.set_viewport_size({"width": TABLET[0], "height": TABLET[1]})
    wrong["axe"] = faults(page)
    theme_of(page, "night")
    picture(page, "console-night")
    theme_of(page, "day")
    assert everything(wrong) == []


def _panels() -> Iterator[tuple[str, str]]:
    yield from (
        ("settings", "v"),
        ("heart rate told", "l"),
        ("dose", "a"),
        ("search", "/"),
        ("states", "Shift+G"),
        ("cues", "Shift+N"),
        ("people", "Shift+R"),
        ("observations", "Shift+O"),
        ("faults", "Shift+F"),
        ("shorten", "Shift+K"),
        ("several at once", "Shift+C"),
        ("record", "Shift+L"),
        ("menu", "Shift+M"),
        ("keys", "?"),
        ("end", "Shift+E"),
    )


def test_every_panel_of_the_console(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    wrong = {}
    for name, key in _panels():
        page.keyboard.press("Escape")
        page.keyboard.press(key)
        expect(page.locator("#dock")).to_be_visible()
        wrong[name] = faults(page) + page.evaluate(SIZES)
        if name in ("settings", "dose"):
            picture(page, f"panel-{name}")
    assert everything(wrong) == []


def test_the_bedside_display(facilitator: Facilitator) -> None:
    page = facilitator.start()
    display = facilitator.display()
    expect(display.locator("#about")).to_contain_text("the clock has not started")
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    expect(display.locator("#about")).to_have_text("since birth")
    signs = display.locator("#signs")
    assert "/min" not in signs.inner_text(), "nobody has listened yet"
    page.keyboard.press("l")
    expect(signs).to_contain_text("/min")  # six seconds of listening later
    text = display.inner_text("body")
    for code in ("N-104", "M-021", "N-117", "D-009"):
        assert code not in text
    assert "SIMULATION" in display.inner_text(".band")
    wrong = faults(display) + display.evaluate(SIZES)
    overflow = display.evaluate("document.documentElement.scrollHeight - innerHeight")
    picture(display, "bedside")
    assert wrong == []
    assert overflow <= 0, "a wall display is never scrolled"
    display.set_viewport_size({"width": PHONE[1], "height": PHONE[0]})
    assert display.evaluate(SIZES) == []
    assert display.evaluate("document.documentElement.scrollHeight - innerHeight") <= 0
    expect(display.get_by_text("Training only, never for a real patient.")).to_be_in_viewport()


def test_the_pages_after_a_session(facilitator: Facilitator) -> None:
    page = _ran(facilitator)
    page.keyboard.press("Shift+E")
    page.get_by_role("button", name="Yes: it is finished").tap()
    expect(page.locator("#closed")).to_be_visible()
    wrong = {"closed": faults(page) + page.evaluate(SIZES)}
    picture(page, "closed")
    page.get_by_role("link", name="Review and correct the record").tap()
    page.locator("#items li").first.wait_for()
    page.locator("#entries summary").nth(6).tap()
    wrong["review"] = faults(page) + page.evaluate(SIZES)
    picture(page, "review")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    wrong["review on a phone"] = page.evaluate(SIZES)
    assert everything(wrong) == []


def test_the_return_of_the_cot_and_stop(facilitator: Facilitator) -> None:
    page = facilitator.start("cot-term")
    session = facilitator.session
    page.goto(f"{facilitator.server.address}/s/{session}/return")
    wrong = {"return": faults(page) + page.evaluate(SIZES)}
    picture(page, "return")
    page.goto(f"{facilitator.server.address}/s/{session}")
    page.keyboard.press("!")
    expect(page.locator("#blank")).to_be_visible()
    wrong["stop"] = faults(page)
    picture(page, "stop")
    assert everything(wrong) == []


def test_the_score_follows_a_correction_in_the_review(facilitator: Facilitator) -> None:
    page = _ran(facilitator)
    page.keyboard.press("Shift+E")
    page.get_by_role("button", name="Yes: it is finished").tap()
    page.get_by_role("link", name="Review and correct the record").tap()
    item = page.locator("#items li").filter(has_text="Drying the baby")
    expect(item).to_contain_text("on time")
    page.get_by_label("Reason for the corrections").fill("seen on the film")
    entry = page.locator("#entries li").filter(has_text="Drying the baby")
    entry.locator("summary").tap()
    entry.get_by_role("button", name="Remove").tap()
    expect(item).not_to_contain_text("on time")
    amend = facilitator.amends()[-1]
    assert amend["withdrawn"] is True
    assert amend["reason"] == "seen on the film"
    page.get_by_role("button", name="The record is right").tap()
    # what nobody wrote down is asked for first; none of it keeps this record from being right
    expect(page.locator("#notices")).to_contain_text("this was not written down")
    page.get_by_role("button", name="The record is right").tap()
    expect(page.locator("#standing")).to_contain_text("The record has been confirmed")


def test_nothing_moves_where_reduced_motion_is_asked(
    facilitator: Facilitator, chromium: Browser
) -> None:
    page = facilitator.start()
    page.emulate_media(reduced_motion="reduce")
    moving = page.evaluate(
        """() => [...document.querySelectorAll("*")].filter((one) => {
            const style = getComputedStyle(one);
            return style.animationName !== "none" || !/^0s(, 0s)*$/.test(style.transitionDuration);
        }).length"""
    )
    assert moving == 0


@pytest.mark.parametrize("path", ["/", "/join"])
def test_pages_take_nothing_from_another_host(facilitator: Facilitator, path: str) -> None:
    page = facilitator.page
    requests: list[str] = []
    page.on("request", lambda request: requests.append(request.url))
    page.goto(f"{facilitator.server.address}{path}", wait_until="networkidle")
    assert requests
    assert [url for url in requests if not url.startswith(facilitator.server.address)] == []


def test_what_a_screen_shows_is_remembered_on_the_device(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+M")
    page.get_by_role("button", name="What is expected").tap()
    expect(page.locator("#expected")).to_be_hidden()
    page.keyboard.press("Shift+D")
    expect(page.locator("html")).to_have_attribute("data-theme", "night")
    page.reload()
    expect(page.locator("#expected")).to_be_hidden()
    expect(page.locator("html")).to_have_attribute("data-theme", "night")


def test_the_truth_can_be_hidden_and_then_only_what_the_team_knows_is_told(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    sentence = page.locator("#sentence")
    expect(sentence).to_contain_text("Heart rate")
    expect(sentence).to_contain_text("/min")
    page.keyboard.press("Shift+M")
    page.get_by_role("button", name="What is true").tap()
    expect(sentence).not_to_contain_text("/min")
    expect(sentence).to_contain_text("the team does not know")
