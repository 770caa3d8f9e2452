"""The review: every part of an entry is corrected there, and what is missing is asked and added."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.desk.browser.facilitator import Facilitator
from tests.desk.test_confirming import where_no_pressure_is_known


def test_what_nobody_wrote_down_is_asked_filled_in_and_then_confirmed(
    chromium: Browser, tmp_path: Path
) -> None:
    own = where_no_pressure_is_known(tmp_path / "own")
    facilitator = Facilitator(chromium, tmp_path / "data", own)
    page = facilitator.start("pressure-not-known")
    page.keyboard.press("Shift+B")
    facilitator.action("mask_ventilation").tap()
    facilitator.all_kept()
    later = re.compile(r"^(0:0[2-9]|0:[1-5]\d|[1-9]\d*:\d\d)$")
    facilitator.clock_since_birth(later)  # so that 0:01 lies within the session
    page.keyboard.press("Shift+E")
    page.get_by_role("button", name="Yes: stopped early").tap()
    page.get_by_role("link", name="Review and correct the record").tap()

    question = page.locator("#needed-list li").filter(
        has_text="Needed before the record can be confirmed"
    )
    expect(question).to_have_count(1)
    page.get_by_role("button", name="The record is right").tap()
    expect(page.locator("#notices")).to_contain_text("this was not written down")
    question.get_by_role("button", name="Fill it in").tap()
    entry = page.locator("#entries details[open]")
    peak = entry.get_by_label("Peak pressure (PIP)", exact=True)
    peak.fill("30")
    peak.press("Enter")
    expect(question).to_have_count(0)
    (filled,) = facilitator.amends()
    assert filled["fields"] == {"settings": {"peak_pressure": {"value": 30, "unit": "cmH2O"}}}

    # a time is typed, too, and what is missing is added with all that it may say
    typed = page.locator("#entries details[open]").get_by_label("At (minutes:seconds)")
    typed.fill("0:01")
    typed.press("Enter")
    page.locator("#add-action").select_option("adrenaline")
    page.locator("#add-role").select_option(index=1)
    page.locator("#add-how").select_option("simulated")
    for label, figure in (("Volume", "0.7"), ("Flush", "1")):
        typed = page.locator("#add-parts").get_by_role("textbox", name=label, exact=True)
        typed.fill(figure)
        typed.press("Tab")
    page.locator("#add-parts").get_by_role("group", name="Route").get_by_role("button").first.tap()
    page.locator("#add-time").fill("0:01")
    page.get_by_role("button", name="Add to the record").tap()
    expect(page.locator("#entries")).to_contain_text("drenaline")
    given = next(act for act in facilitator.logged("action") if act["action"] == "adrenaline")
    assert given["how"] == "simulated"
    assert given["role"]
    assert given["dose"]["volume"]["value"] == 0.7
    assert given["dose"]["flush"]["value"] == 1
    assert given["dose"]["route"]

    page.locator("#add-action").select_option("set:oxygen")
    page.locator("#add-parts").get_by_label("Oxygen", exact=True).fill("40")
    page.locator("#add-parts").get_by_label("Oxygen", exact=True).press("Tab")
    page.locator("#add-time").fill("0:01")
    page.get_by_role("button", name="Add to the record").tap()
    expect(page.locator("#entries")).to_contain_text("40")
    assert {"setting": "oxygen", "value": 40, "unit": "%"} in facilitator.logged("set")
    page.get_by_role("button", name="The record is right").tap()
    if not facilitator.logged("confirmed"):  # what does not block has been asked for once
        page.get_by_role("button", name="The record is right").tap()
    expect(page.locator("#standing")).to_contain_text("The record has been confirmed")
    assert facilitator.errors == []
    facilitator.leave()
