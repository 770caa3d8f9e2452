"""A cot is prepared and a baby resuscitated by somebody who hears the page and has keys alone.

Rules of this file:

- All that is found, and all that is heard, is in Chromium's accessibility tree
  (`accessibility_tree.py`): names, roles, states and live regions.
- What changes is heard where a live region says it; what can be gone back to is in a list.
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

    def __init__(self, facilitator: Facilitator) -> None:
        self.page: Page = facilitator.page
        self.page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        self.page.goto(facilitator.server.address)
        self.tree = AccessibilityTree(self.page)

    def begin(self, scenario: str) -> None:
        """Come to the page of a scenario from the first page of the console."""
        self.tree.press("link", "Rehearse alone")
        self.tree.press("radio", f"{scenario}…", key=CONFIRMS)
        self.tree.press("radio", "Alone…", key=CONFIRMS)
        self.tree.press("button", "Begin")
        self.tree.only("heading", "The situation")

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


def test_a_baby_is_resuscitated_to_the_debrief_by_what_the_accessibility_tree_says(
    facilitator: Facilitator,
) -> None:
    plays = Listener(facilitator)
    tree = plays.tree
    plays.begin("Term newborn who is not breathing")
    plays.does("Team", "Allocate roles")
    plays.does("Breathing", "Oxygen: 21 %", "Gas flow: 8 L/min")
    tree.press("button", "I am ready: on to the birth")
    tree.only("heading", "The baby")
    plays.does("Team", "Call for help")
    plays.does("Warmth", "Dry the baby")
    plays.lets_go_by(10)
    plays.does("Breathing", "Assess breathing and tone")
    tree.hears("Breathing absent")
    plays.lists("The baby", "Breathing absent")
    plays.does("Airway", "Put the head in the neutral position")
    plays.does("Breathing", "Start ventilation")
    tree.only("button", "Stop ventilation", [("tabpanel", "Breathing")])
    plays.lists("Hands", "You: ventilating; one hand free")
    plays.lets_go_by(10)
    plays.does("Breathing", "Check chest movement")
    tree.hears("Chest movement: none")
    plays.does("Airway", "Reseat the mask")
    plays.lets_go_by(10)
    plays.does("Circulation", "Listen to the heart")
    tree.only("heading", "Count the beats.")
    plays.lets_go_by(10)
    tree.only("heading", "What is the heart rate? Call it out")
    tree.press("button", "I can't hear them")
    tree.hears("You count")
    tree.press("button", "60 to 100 /min")
    tree.hears("Heart rate 60 to 100 /min")
    plays.goes_to("Breathing")
    tree.press("button", "Peak pressure (PIP): up by 5 cmH₂O", ("tabpanel", "Breathing"))
    tree.hears("The manometer stands at 4 cmH₂O, and 34 cmH₂O with each breath.")
    tree.press("button", "Peak pressure (PIP): up by 1 cmH₂O", ("tabpanel", "Breathing"))
    tree.wait(
        "35 cmH₂O at the mask, which loses a tenth of the flow",
        lambda read: any(
            "Manometer: 4 cmH₂O, and 35 cmH₂O with each breath" in panel.words
            for panel in read.having("tabpanel", "Breathing")
        ),
    )
    plays.does("Breathing", "Oxygen: 100 %")
    plays.lets_go_by(10)
    plays.lists("The baby", "Chest movement: good")
    plays.lets_go_by(30)
    plays.lists("Hands", "Help: both hands free")
    tree.press("radio", "Help", ("group", "Who does it"), key=CONFIRMS)
    plays.does("Circulation", "Start chest compressions")
    tree.hears("Help: chest compressions started.")
    plays.lists("Hands", "Help: giving chest compressions; no hand free")
    plays.lets_go_by(30, 30)
    plays.does("Circulation", "Stop chest compressions")
    tree.hears("Help: chest compressions stopped.")
    tree.press("radio", "You", ("group", "Who does it"), key=CONFIRMS)
    plays.does("Breathing", "Put the pulse oximeter on the right hand")
    plays.lets_go_by(30, 30, 10)
    plays.does("Breathing", "Read out the SpO2", "Oxygen: 40 %")
    plays.lets_go_by(30, 30, 10)
    plays.does("Team", "Hand over")
    tree.press("button", "Skip 30 s")
    plays.ends("It ended with: Handed over.")


def test_a_cot_is_prepared_to_the_debrief_by_what_the_accessibility_tree_says(
    facilitator: Facilitator,
) -> None:
    """What is wrong is found by looking: nothing in the tree names it before it was looked at."""
    plays = Listener(facilitator)
    tree = plays.tree
    plays.begin("Preparing the cot for a term birth")
    tree.press("button", "I am ready: on to the call")
    plays.does("Preparation", "Clean your hands")
    plays.goes_to("The cot")
    for fault in ("place for the bag is empty", "second hand stands", "leak"):
        assert fault not in tree.read().words
    plays.looks("Self-inflating bag", "The place for the bag is empty.")
    plays.works("Self-inflating bag", "Not as it should be")
    tree.hears("Noted: not as it should be. If you can put it right, do.")
    plays.works("Self-inflating bag", "Fetch a self-inflating bag")
    plays.sees("Self-inflating bag", "A self-inflating bag lies there.")
    plays.looks("Oxygen cylinder", "Its gauge stands at 100 bar.")
    plays.works("Oxygen cylinder", "Change the oxygen cylinder")
    plays.sees("Oxygen cylinder", "Its gauge stands at 230 bar.")
    plays.looks("Blender", "The blender stands at 100 %.")
    tree.types("spinbutton", "Oxygen, %", "30", ("region", "Blender"))
    plays.sees("Blender", "The blender stands at 30 %.")
    plays.looks("Gas flow", "The flowmeter stands at 0 L/min.")
    tree.types("spinbutton", "Gas flow, L/min", "8", ("region", "Gas flow"))
    plays.sees("Gas flow", "The flowmeter stands at 8 L/min.")
    plays.looks("T-piece", "Its outlet is open.")
    plays.works("T-piece", "Keep the outlet closed", "Finger over the hole in the cap")
    plays.sees("T-piece", "Manometer: 12 cmH₂O")  # it leaks
    plays.works("T-piece", "Not as it should be", "Change the T-piece")
    plays.sees("T-piece", "Manometer: 40 cmH₂O")
    plays.works("T-piece", "Finger over the hole in the cap")
    plays.sees("T-piece", "Manometer: 5 cmH₂O")
    plays.works("T-piece", "Keep the outlet closed")  # and let go: the suction takes both hands
    plays.sees("T-piece", "Manometer: 0 cmH₂O")
    plays.looks("Suction", "Its gauge stands at 0 kPa.")
    plays.works("Suction", "Suction: On", "Keep the tubing closed")
    plays.sees("Suction", "20 kPa")
    plays.works("Suction", "Suction: Off")
    plays.looks("Clock", "Its second hand stands.")
    plays.works("Clock", "Not as it should be", "Change its battery or fetch another clock")
    plays.does("Team", "Allocate roles")
    plays.lets_go_by(30, 30)
    plays.does("Preparation", "Declare the cot ready")
    tree.press("button", "Skip 30 s")
    plays.ends("It ended with: Cot declared ready.")
