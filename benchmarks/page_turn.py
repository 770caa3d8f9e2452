"""A dial that is turned in Chromium: from the touch until the page's own screen shows the turn.

Timed in the page, by its own clock, so that what drives the browser is no part of it: until the
figure beside the dial is written, and until the frame that shows it.
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from benchmarks.console import Target, Times

if TYPE_CHECKING:
    from playwright.async_api import Browser

TURNS = 15
_RESTS_MS = 600
"""Longer than turns that follow one another are gathered into one."""
_FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking")
_TURN = """async ([box, turns, rests]) => {
  const dial = document.querySelector(box);
  const stands = dial.querySelector(".stands");
  const buttons = [...dial.querySelectorAll("button")];
  const times = [];
  for (let turn = 0; turn < turns; turn++) {
    await new Promise((rested) => setTimeout(rested, rests));
    const sign = turn % 2 ? "−" : "+";
    const button = buttons.find((each) => each.textContent === sign) ?? buttons[0];
    const before = stands.textContent;
    const written = new Promise((done) => {
      const changes = new MutationObserver(() => {
        if (stands.textContent === before) return;
        changes.disconnect();
        done(performance.now());
      });
      changes.observe(stands, { childList: true, characterData: true, subtree: true });
    });
    const began = performance.now();
    button.click();
    const at = await written;
    await new Promise(requestAnimationFrame);
    times.push([at - began, performance.now() - began]);
  }
  return times;
}"""


def chromium_path() -> str | None:
    """Where the system's own Chromium is; nothing where it is missing."""
    return shutil.which("chromium")


@asynccontextmanager
async def chromium(path: str) -> AsyncIterator[Browser]:
    """Open the Chromium at a path, and close it again."""
    from playwright.async_api import async_playwright

    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=path, args=_FLAGS)
        try:
            yield browser
        finally:
            await browser.close()


async def turned(
    browser: Browser, target: Target, path: str, times: Times, *, tab: str = "", dial: str = "body"
) -> None:
    """Turn the dial of a page again and again. ``tab``: what is opened for it.

    ``times``: ``durable`` becomes until the figure is written, ``shown`` until its frame.
    """
    address = f"http://127.0.0.1:{target.device.port}"
    context = await browser.new_context()
    if target.device.cookie:
        name, _, value = target.device.cookie.partition("=")
        await context.add_cookies([{"name": name, "value": value, "url": address}])
    page = await context.new_page()
    await page.goto(address + path)
    if tab:
        await page.click(tab)
    for written, shown in await page.evaluate(_TURN, [dial, TURNS, _RESTS_MS]):
        times.durable.append(written / 1000)
        times.shown.append(shown / 1000)
    await context.close()
