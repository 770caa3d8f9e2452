"""Somebody who plays alone, by names and roles, and hears what the page says.

How they come to what they press is the tree's (`accessibility_tree.py`, `by_keys.py`).
"""

from __future__ import annotations

from playwright.sync_api import Page

from tests.desk.browser.facilitator import PHONE, Facilitator
from tests.rehearsal.browser.accessibility_tree import AccessibilityTree, Node

MADE_IN_MS = 180_000.0
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
        self.tree.press("link", "Rehearse alone")
        self.tree.press("radio", f"{scenario}…", key=CONFIRMS)
        self.tree.press("radio", f"{way}…", key=CONFIRMS)
        self.tree.press("button", "Begin")
        self.tree.only("heading", "The situation")

    def is_ready(self, words: str) -> None:
        """Go on from the briefing to what the team's clock runs for."""
        self.tree.press("button", f"I am ready: on to the {words}")
        self.tree.wait("no briefing", lambda tree: not tree.having("heading", "The situation"))

    def does(self, part: str, *names: str) -> None:
        """Do things of a part of the job, one after the other, each once the last is told."""
        self.goes_to(part)
        for name in names:
            self.does_next(part, name)

    def does_next(self, part: str, name: str) -> None:
        before = self.happened(self.tree.read())
        self.tree.press("button", name, ("tabpanel", part))
        self.tree.wait(f"“{name}” told", lambda tree: self.happened(tree) not in ([], before))

    def goes_to(self, part: str) -> None:
        self.tree.press("tab", part)
        self.tree.only("tabpanel", part)

    def happened(self, tree: Node) -> list[str]:
        """What has happened so far, the last first."""
        return [
            item.words
            for region in tree.having("list", "What has happened")
            for item in region.within
        ]

    def lets_go_by(self, *steps: int) -> None:
        """Let time (s) go by, in steps that one touch lets go by."""
        for step in steps:
            self.lets_go(step)

    def lets_go(self, step: int) -> None:
        before = seconds(self.tree.read())
        self.tree.press("button", f"Skip {step} s")
        self.tree.wait(f"{step} s later", lambda tree: seconds(tree) >= before + step)

    def listens_to_the_heart(self) -> None:
        """Listen to the heart for ten seconds, hear nothing, and be told the count instead."""
        self.does("Circulation", "Listen to the heart")
        self.tree.only("heading", "Count the beats.")
        self.lets_go_by(10)
        self.tree.only("heading", "What is the heart rate? Call it out")
        self.tree.press("button", "I can't hear them")
        self.tree.hears("You count")

    def lists(self, name: str, words: str) -> None:
        """A list says this; it can be gone back to."""
        self.tree.wait(
            f"“{words}” in the list “{name}”",
            lambda tree: any(words in region.words for region in tree.having("list", name)),
        )

    def looks(self, part: str, words: str) -> None:
        """Look at a part of the cot, and hear what it shows."""
        self.tree.press("button", part)
        self.sees(part, words)
        self.tree.hears(words)

    def sees(self, part: str, words: str) -> None:
        """What a part of the cot shows comes to say this."""
        self.tree.wait(
            f"“{words}” at {part}",
            lambda tree: any(words in here.words for here in tree.having("region", part)),
        )

    def works(self, part: str, *names: str) -> None:
        for name in names:
            self.tree.press("button", name, ("region", part))

    def ends(self, words: str) -> None:
        """It ends by itself, and its debrief is opened."""
        self.tree.wait("the page after it", lambda tree: words in tree.words)
        self.tree.only("heading", "Your own times")
        self.tree.only("heading", "Try again from here")
        with self.page.expect_navigation(timeout=MADE_IN_MS):
            self.tree.press("link", "Open the debrief")
        self.tree.wait("the debrief", lambda tree: "This was a rehearsal." in tree.words)


def seconds(tree: Node) -> int:
    """What the clock tells, as seconds since time zero."""
    clock = next(node.words for node in tree.all() if node.role == "timer")
    minutes, _, rest = clock.lstrip("−-").partition(":")
    return (60 * int(minutes) + int(rest)) * (1 if clock[0].isdigit() else -1)
