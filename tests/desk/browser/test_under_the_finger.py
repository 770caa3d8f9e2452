"""What comes into a strip never comes under a finger, and can be touched a second after it came.

The page's clock is moved by the test; what it shows are views of a play, brought as by its stream.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.desk.browser.facilitator import Facilitator
from tests.desk.browser.test_strips_on_the_screen import STREAM, Instant, instants_of, views_of

SCENARIO = "term-not-breathing"


@pytest.fixture(name="brought")
def brought_to_a_strip(facilitator: Facilitator) -> tuple[Page, Locator]:
    """A page that shows a play's first instant; and the tile that its second one brings."""
    page = facilitator.page
    page.add_init_script(f"({STREAM})()")
    page.clock.install()
    facilitator.start(SCENARIO)
    first, second = two_instants()
    views = b",".join(views_of(SCENARIO, (first, second))).decode()
    page.evaluate("json => { window.views = JSON.parse(json); }", f"[{views}]")
    show(page, 0)
    for _ in range(3):
        page.clock.fast_forward(1_100)
    new = {tile.name for _, tile in second.tiles - first.tiles if tile.kind == "action"}
    old = {tile.name for _, tile in first.tiles}
    name = sorted(new - old)[0]
    return page, page.locator(f'.strip .act[data-acts="{name}"]')


def two_instants() -> tuple[Instant, Instant]:
    """An instant, and a later one that brings an action into a place that is empty by then."""
    instants = instants_of(SCENARIO)
    first = next(instants)
    kept = {tile for _, tile in first.tiles}
    for instant in instants:
        new = {tile for _, tile in instant.tiles if tile.kind == "action"} - kept
        if new and first.tiles <= instant.tiles:
            return first, instant
    raise AssertionError("no instant brings anything")


def show(page: Page, place: int) -> None:
    page.evaluate("place => bring({ ...views[place], version: 1000 + place })", place)


def stop_the_clock(page: Page) -> None:
    """Let the page's time go on by what the test says alone, however long the test takes."""
    page.clock.pause_at(page.evaluate("Date.now()") / 1000 + 1)


def test_a_place_of_the_strip_is_not_filled_within_a_second_of_a_touch(
    brought: tuple[Page, Locator],
) -> None:
    page, tile = brought
    stop_the_clock(page)
    page.locator("#sentence").tap()
    show(page, 1)
    page.clock.run_for(700)
    expect(tile).to_have_count(0)
    page.clock.run_for(1_200)
    expect(tile).to_have_count(1)


def test_what_has_just_come_is_not_recorded_by_a_touch_that_was_meant_for_what_stood_there(
    brought: tuple[Page, Locator], facilitator: Facilitator
) -> None:
    page, tile = brought
    stop_the_clock(page)
    page.clock.run_for(2_000)
    show(page, 1)
    page.clock.run_for(300)
    expect(tile).to_have_count(1)
    recorded = len(facilitator.logged("action"))
    tile.tap()
    expect(page.locator("#notices")).to_contain_text(
        "That button had only just appeared. Touch it again."
    )
    page.clock.run_for(1_500)
    assert len(facilitator.logged("action")) == recorded
    page.clock.resume()
    tile.tap()
    page.clock.run_for(1_500)
    facilitator.all_kept()
    assert len(facilitator.logged("action")) == recorded + 1
