"""Somebody who plays alone, by names and roles, and hears what the page says.

How they come to what they press is the tree's (`accessibility_tree.py`, `by_keys.py`).
"""

from __future__ import annotations

from playwright.sync_api import Page

from tests.desk.browser.facilitator import PHONE, Facilitator
from tests.rehearsal.browser.accessibility_tree import AccessibilityTree

MADE_IN_S = 180.0
"""How long a debrief may take, which a process of its own makes beside all other tests."""

CONFIRMS = "Space"
"""The key that chooses a radio button."""


class Listener:
    """Somebody at a phone who plays alone, and hears it."""

    def __init__(
        self, facilitator: Facilitator, comes: type[AccessibilityTree] = AccessibilityTree
    ) -> None:
        """``comes``: the tree that gives what is pressed the focus, in its way."""
        self.page: Page = facilitator.page
        self.page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        self.page.goto(facilitator.server.address)
        self.tree = comes(self.page)

    def begin(self, scenario: str, way: str = "Alone") -> None:
        """Come to the page of a scenario from the first page of the console."""
        self.tree.turns("link", "Rehearse alone")
        self.tree.press("radio", f"{scenario}…", key=CONFIRMS)
        self.tree.press("radio", f"{way}…", key=CONFIRMS)
        self.tree.turns("button", "Begin")
        self.tree.only("heading", "The situation")

    def is_ready(self, words: str) -> None:
        """Go on from the briefing to what the team's clock runs for."""
        self.tree.press("button", f"I am ready: on to the {words}")
        self.tree.until("no briefing", lambda: not self.tree.having("heading", "The situation"))

    def does(self, part: str, *names: str) -> None:
        """Do things of a part of the job, one after the other, each once the last is told."""
        self.goes_to(part)
        for name in names:
            self.does_next(part, name)

    def does_next(self, part: str, name: str) -> None:
        before = self.happened()
        self.tree.press("button", name, ("tabpanel", part))
        self.tree.until(f"“{name}” told", lambda: self.happened() not in ("", before))

    def goes_to(self, part: str) -> None:
        self.tree.press("tab", part)
        self.tree.only("tabpanel", part)

    def happened(self) -> str:
        """What has happened so far, the last first."""
        return self.tree.words_of("list", "What has happened")

    def lets_go_by(self, *steps: int) -> None:
        """Let time (s) go by, in steps that one touch lets go by."""
        for step in steps:
            self.lets_go(step)

    def lets_go(self, step: int) -> None:
        before = self.seconds()
        self.tree.press("button", f"Skip {step} s")
        self.tree.until(f"{step} s later", lambda: self.seconds() >= before + step)

    def seconds(self) -> int:
        """What the clock tells, as seconds since time zero."""
        clock = self.tree.words_of("timer")
        minutes, _, rest = clock.lstrip("−-").partition(":")
        return (60 * int(minutes) + int(rest)) * (1 if clock[0].isdigit() else -1)

    def lists(self, name: str, words: str) -> None:
        """A list says this; it can be gone back to."""
        self.tree.until(
            f"“{words}” in the list “{name}”", lambda: words in self.tree.words_of("list", name)
        )

    def looks(self, part: str, words: str) -> None:
        """Look at a part of the cot, and hear what it shows."""
        self.tree.press("button", part)
        self.sees(part, words)
        self.tree.hears(words)

    def sees(self, part: str, words: str) -> None:
        """What a part of the cot shows comes to say this."""
        self.tree.until(f"“{words}” at {part}", lambda: words in self.tree.words_of("region", part))

    def works(self, part: str, *names: str) -> None:
        for name in names:
            self.tree.press("button", name, ("region", part))

    def ends(self, words: str) -> None:
        """It ends by itself as time is let go by, and its debrief is opened."""
        self.tree.turns("button", "Skip 30 s")
        self.tree.wait("the page after it", lambda tree: words in tree.words)
        self.tree.only("heading", "Your own times")
        self.tree.only("heading", "Try again from here")
        self.tree.turns("link", "Open the debrief", MADE_IN_S)
        self.tree.wait("the debrief", lambda tree: "This was a rehearsal." in tree.words)
