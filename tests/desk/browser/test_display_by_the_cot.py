"""The display by the cot with all that can be looked for, on a wall and on a phone on its side."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.console.consoles import entry
from tests.desk.browser.facilitator import Facilitator
from tests.desk.browser.page_faults import SIZES
from tests.desk.browser.test_safety import COUNT_TONES
from tests.shipped import scenario

ON_ITS_SIDE = ((844, 390), (740, 360), (667, 375))
SAFETY = "Training only, never for a real patient."


def all_shown(facilitator: Facilitator) -> Page:
    """A display on which every sign of the baby has been shown by hand."""
    page = facilitator.start("term-not-breathing")
    page.locator("#event").tap()
    facilitator.all_kept()
    token = page.locator('meta[name="csrf"]').get_attribute("content")
    assert token is not None
    names = sorted(scenario("term-not-breathing").vocabulary.observations)
    at_ms = facilitator.log()[-1]["at_ms"]
    shown = [entry("reveal", at_ms, {"observation": name, "shown": True}) for name in names]
    address = f"{facilitator.server.address}/s/{facilitator.session}/events"
    answer = page.request.post(address, data={"events": shown}, headers={"x-csrf-token": token})
    assert answer.json()["refused"] == []
    display = facilitator.display()
    assert display.locator("#signs li").count() >= 8
    return display


@pytest.mark.parametrize("size", ON_ITS_SIDE)
def test_on_a_phone_on_its_side_the_safety_line_is_whole_whatever_is_shown(
    facilitator: Facilitator, size: tuple[int, int]
) -> None:
    display = all_shown(facilitator)
    display.set_viewport_size({"width": size[0], "height": size[1]})
    line = display.get_by_text(SAFETY)
    expect(line).to_be_in_viewport(ratio=1)
    assert line.evaluate("one => one.scrollWidth <= one.clientWidth + 1")
    assert display.evaluate("document.documentElement.scrollHeight - innerHeight") <= 0
    for sign in ("Heart rate", "SpO"):
        expect(display.locator("#signs li").filter(has_text=sign).first).to_be_in_viewport(ratio=1)
    assert display.evaluate(SIZES) == []


def test_heart_rate_and_spo2_stand_first_and_largest(facilitator: Facilitator) -> None:
    display = all_shown(facilitator)
    sizes = display.locator("#signs li").evaluate_all(
        "all => all.map((one) => [one.textContent, parseFloat(getComputedStyle(one).fontSize)])"
    )
    assert sizes[0][0].startswith("Heart rate")
    assert sizes[1][0].startswith("SpO")
    assert min(sizes[0][1], sizes[1][1]) > max(size for _, size in sizes[2:])


def test_where_timekeeping_is_scored_the_display_shows_and_sounds_no_mark(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start("term-not-breathing")
    display = facilitator.device((1280, 720))
    display.add_init_script(COUNT_TONES)
    display.goto(page.evaluate("document.body.dataset.display"))
    display.locator("#time").tap()
    expect(display.locator("#tones")).to_be_hidden()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    facilitator.move_on(58)
    expect(display.locator("#time")).to_have_text(re.compile(r"^1:(0[2-9]|[1-5]\d)$"))
    expect(display.locator("#about")).to_have_text("since birth")
    expect(display.locator("#bedside-clock")).not_to_have_class(re.compile("marked"))
    assert display.evaluate("globalThis.tones") == 0
