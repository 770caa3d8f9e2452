"""A part of the cot is come to and turned by Tab, arrow and Enter keys, as a phone's keyboard has.

Nothing is given the focus but by keys. Where it stands is never hidden (WCAG 2.2, 2.4.11 Focus Not
Obscured): the walk holds it at each step, by what is at the middle and the corners of it.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.desk.browser.facilitator import PHONE, Facilitator

MOST_KEYS = 150
HIDDEN = """() => {
  const here = document.activeElement;
  if (here === document.body) return [];
  const { left, top, right, bottom } = here.getBoundingClientRect();
  const inset = 6;  // within rounded corners
  return [
    [(left + right) / 2, (top + bottom) / 2],
    ...[left + inset, right - inset].flatMap((x) => [[x, top + inset], [x, bottom - inset]]),
  ].filter(([x, y]) => {
    const there = document.elementFromPoint(x, y);
    return !there || !(here.contains(there) || there.contains(here));
  }).map(([x, y]) => `${here.outerHTML.slice(0, 120)} at ${x}, ${y}`);
}"""


class Walker:
    """Somebody who comes from thing to thing by keys."""

    def __init__(self, facilitator: Facilitator) -> None:
        self.page: Page = facilitator.page
        self.page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        self.page.goto(facilitator.server.address)

    def key(self, name: str) -> None:
        self.page.keyboard.press(name)
        assert self.page.evaluate(HIDDEN) == []

    def comes_to(self, role: str, name: str, key: str = "Tab") -> None:
        """Press a key until something has the focus; its name begins so."""
        wanted = self.page.get_by_role(role, name=re.compile(f"^{name}"))  # type: ignore[arg-type]
        expect(wanted.first).to_be_visible()
        for _ in range(MOST_KEYS):
            self.key(key)
            if wanted.and_(self.page.locator(":focus")).count():
                return
        pytest.fail(f"{key} never comes to the {role} “{name}”")

    def begins(self, scenario: str) -> None:
        self.comes_to("link", "Rehearse alone")
        self.page.keyboard.press("Enter")
        expect(self.page.get_by_role("button", name="Begin")).to_be_visible()
        self.comes_to("radio", "")
        self.comes_to("radio", scenario, "ArrowDown")
        self.comes_to("radio", "Guided|Alone")
        self.comes_to("radio", "Alone", "ArrowDown")
        self.comes_to("button", "Begin")
        self.page.keyboard.press("Enter")
        expect(self.page.get_by_role("heading", name="The situation")).to_be_visible()

    def goes_through(self, key: str) -> int:
        """Press a key until the focus has left the page; how often it was somewhere on it."""
        for stops in range(MOST_KEYS):
            self.key(key)
            if self.page.evaluate("document.activeElement === document.body"):
                return stops
        pytest.fail(f"{key} never leaves the page")


def test_a_control_of_the_cot_is_come_to_and_turned_by_keys_and_the_focus_is_never_hidden(
    facilitator: Facilitator,
) -> None:
    walks = Walker(facilitator)
    page = walks.page
    walks.begins("Preparing the cot for a term birth")
    walks.comes_to("button", "I am ready: on to the call")
    page.keyboard.press("Enter")
    first = page.get_by_role("tab", name="The cot")
    expect(first).to_be_focused()
    walks.key("ArrowRight")
    expect(page.get_by_role("tab", selected=True)).not_to_have_text("The cot")
    expect(page.get_by_role("tab", selected=True)).to_be_focused()
    walks.key("ArrowLeft")
    expect(first).to_be_focused()
    walks.comes_to("button", "Gas flow")
    page.keyboard.press("Enter")
    flow = page.get_by_role("region", name="Gas flow", exact=True)
    expect(flow).to_contain_text("The flowmeter stands at 0 L/min.")
    walks.comes_to("spinbutton", "Gas flow, L")
    walks.key("ArrowUp")
    page.keyboard.press("Enter")
    expect(flow).to_contain_text("The flowmeter stands at 1 L/min.")
    there = walks.goes_through("Tab")
    assert there > 5
    assert walks.goes_through("Shift+Tab") > there
