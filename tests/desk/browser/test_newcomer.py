"""What somebody who has read nothing but the pages must be able to see and read."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.desk.browser.facilitator import PHONE, Facilitator

# Tiles whose name sticks out of them, which hides what sticks out.
_CUT_TILES = """() => [...document.querySelectorAll(".act")].filter((tile) => {
    const label = tile.querySelector(".act-label").getBoundingClientRect();
    return label.bottom > tile.getBoundingClientRect().bottom + 1;
}).map((tile) => tile.textContent)"""


def _several_at_once(page: Page) -> None:
    page.locator("#event").tap()
    for key in "fdknhxo":
        page.keyboard.press(key)


def _counted(page: Page) -> list[int]:
    """How many entries each crowd on the tape stands for."""
    chips = page.locator(".tape-chip.crowd").all_inner_texts()
    return [int(words.removesuffix(" more")) for words in chips]


def test_entries_too_close_to_be_read_are_counted_and_opened_by_one_touch(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    _several_at_once(page)
    facilitator.all_kept()
    crowd = page.locator(".tape-entry", has=page.locator(".tape-chip.crowd")).first
    expect(crowd).to_be_visible()

    # nothing is left out: each entry has its label, or is counted in one crowd
    kept = len(facilitator.log()) - 1  # all but the opening
    expect(page.locator("#kept")).to_contain_text(f"{kept + 1} entries")
    labels = page.locator(".tape-chip:not(.crowd)")
    assert labels.count() + sum(_counted(page)) == kept
    assert all(count >= 2 for count in _counted(page))
    # and what is shown has room for a word: 12 letters of 12 px are about 80 px wide
    for chip in labels.all():
        box = chip.bounding_box()
        assert box is not None
        assert box["width"] >= 80 or chip.evaluate("one => one.scrollWidth <= one.clientWidth")

    words = (crowd.get_attribute("title") or "").split("; ")
    crowd.tap()
    expect(page.locator("#dock h2")).to_have_text("Entries close together, latest first")
    listed = page.locator("#dock .entries button span").all_inner_texts()
    assert listed == words[::-1]
    page.locator("#dock .entries button").first.tap()
    expect(page.locator("#dock h2")).to_contain_text(words[-1])


def test_on_a_phone_the_first_actions_are_seen_without_scrolling(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    page.locator("#event").tap()
    expect(page.locator("#next-list .soon")).to_be_visible()
    # what has no time yet is not lost: it is counted here and listed under "Go to…"
    expect(page.locator("#next-list .few")).to_have_text("1 more under “Go to…”.")
    expect(page.locator("#next-list .later")).to_be_hidden()
    box = page.locator(".act.asked").first.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < PHONE[1] * 0.65


def test_a_long_name_stands_whole_in_its_tile(facilitator: Facilitator) -> None:
    page = facilitator.start("chest-one-side")
    page.locator("#event").tap()
    page.locator("#hold").tap()
    facilitator.move_on(150)  # past the time of what the leader is asked before
    page.locator("#states").tap()
    page.get_by_role("button", name="Sudden deterioration, one side moving less", exact=True).tap()
    expect(facilitator.action("consider_causes")).to_be_visible()
    assert page.evaluate(_CUT_TILES) == []


def test_the_way_into_an_open_panel_by_key_is_told_on_it(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    page.keyboard.press("v")
    expect(page.locator("#dock .into")).to_have_text("Enter goes into it")
    page.keyboard.press("Enter")
    assert page.evaluate(
        "document.querySelector('#dock .dock-body').contains(document.activeElement)"
    )


def test_the_score_stays_in_view_while_the_record_is_corrected(facilitator: Facilitator) -> None:
    page = facilitator.start()
    _several_at_once(page)
    page.locator("#end").tap()
    page.get_by_role("button", name="Yes: it is finished").tap()
    page.get_by_role("link", name="Review and correct the record").tap()
    total = page.locator("#total")
    expect(total).to_have_text(re.compile(r"^Score: \d+ %"))
    before = total.inner_text()
    entry = page.locator("#entries details", has_text="Drying the baby")
    entry.locator("summary").tap()
    entry.get_by_role("button", name="Remove").tap()
    expect(page.locator("#entries .removed")).to_contain_text("Drying the baby")
    expect(total).not_to_have_text(before)
    page.locator("#add-action").scroll_into_view_if_needed()
    expect(total).to_be_in_viewport()


def test_a_pause_moves_nothing_under_the_finger(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    expect(page.locator("#sentence")).to_contain_text("the team does not know")
    places = "() => ['#search', '#pause', '#hold'].map((id) => "
    places += "document.querySelector(id).getBoundingClientRect().top)"
    before = page.evaluate(places)
    page.locator("#pause").tap()
    expect(page.locator("#clock-note")).to_have_text("since birth · paused")
    assert page.evaluate(places) == before
    page.locator("#pause").tap()
    expect(page.locator("#clock-note")).to_have_text("since birth · next mark 1 min")
    expect(page.locator("#paused")).to_contain_text("in all")
    assert page.evaluate(places) == before
