"""A page of rehearsing alone as tests use it: by names and roles, with keys.

Nothing here looks for a place on the screen, a class or an id.
"""

from __future__ import annotations

import re

from playwright.sync_api import Locator, Page, expect

from tests.desk.browser.facilitator import PHONE, Facilitator


class ByName:
    """A page that is used by roles and names alone."""

    def __init__(self, facilitator: Facilitator) -> None:
        self.facilitator = facilitator
        self.page: Page = facilitator.page
        self.page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})

    def begin(self, scenario: str, way: str = "Alone") -> None:
        page = self.page
        page.goto(self.facilitator.server.address)
        self.press("link", "Rehearse alone")
        page.get_by_role("radio", name=re.compile(f"^{scenario}")).focus()
        page.keyboard.press("Space")
        page.get_by_role("radio", name=re.compile(f"^{way}")).focus()
        page.keyboard.press("Space")
        self.press("button", "Begin")
        expect(page.get_by_role("heading", name="The situation")).to_be_visible()

    def press(self, role: str, name: str, among: Page | Locator | None = None) -> None:
        """Come to something by its name, and press it with a key."""
        there = among or self.page
        there.get_by_role(role, name=name, exact=True).focus()  # type: ignore[arg-type]
        self.page.keyboard.press("Enter")

    def does(self, part: str, *names: str) -> None:
        """Do things of a part of the job, one after the other."""
        self.press("tab", part)
        for name in names:
            before = self.page.get_by_role("list", name="What has happened").inner_text()
            self.press("button", name, self.page.get_by_role("tabpanel", name=part))
            expect(self.page.get_by_role("list", name="What has happened")).not_to_have_text(
                before, use_inner_text=True
            )

    def waits(self, seconds: int) -> None:
        """Let time go by, in steps that one touch lets go by."""
        while seconds > 0:
            step = 30 if seconds > 10 else 10
            seconds -= step
            self.press("button", f"Skip {step} s")

    def part(self, label: str) -> Locator:
        """What is shown of a part of the cot, and what can be done to it."""
        return self.page.get_by_role("region", name=label, exact=True)

    def looks(self, label: str, words: str) -> None:
        self.press("button", label)
        self.sees(label, words)

    def sees(self, label: str, words: str) -> None:
        expect(self.part(label)).to_contain_text(words)

    def works(self, label: str, *names: str) -> None:
        for name in names:
            self.press("button", name, self.part(label))

    def types(self, label: str, dial: str, value: str) -> None:
        self.part(label).get_by_role("spinbutton", name=dial).fill(value)
        self.page.keyboard.press("Enter")
