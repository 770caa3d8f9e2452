"""The screen stays awake while a session runs; where the browser refuses, the page says so."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.desk.browser.facilitator import Facilitator

COUNTED = """
const told = (what) => {
  const { dataset } = document.documentElement;
  dataset.asked = `${dataset.asked ?? ""}${what};`;
};
Object.defineProperty(navigator, "wakeLock", { value: { request: (what) => {
  told(what);
  return Promise.resolve({ release: () => told("released") });
} } });
"""
REFUSED = """
Object.defineProperty(navigator, "wakeLock", { value: { request: () => Promise.reject() } });
"""


def test_the_console_asks_for_it_once_and_lets_go_at_the_end(facilitator: Facilitator) -> None:
    page = facilitator.page
    page.add_init_script(COUNTED)
    facilitator.start()
    root = page.locator("html")
    expect(root).to_have_attribute("data-asked", "screen;")
    expect(page.locator("#dim")).to_be_hidden()
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(root).to_have_attribute("data-asked", "screen;screen;")
    page.locator("#stop").click()
    expect(root).to_have_attribute("data-asked", "screen;screen;released;")


def test_where_the_browser_refuses_the_console_and_the_display_say_so(
    facilitator: Facilitator,
) -> None:
    page = facilitator.page
    page.add_init_script(REFUSED)
    facilitator.start()
    expect(page.locator("#dim")).to_be_visible()
    display = facilitator.device()
    display.add_init_script(REFUSED)
    display.goto(page.evaluate("document.body.dataset.display"))
    expect(display.locator("#dim")).to_contain_text("This browser can't keep the screen awake")
