"""A scenario is played to its end and its debrief by names and roles alone, as a reader tells them.

Nothing here looks for a place on the screen, a class or an id: what is found is what Chromium's
accessibility tree has, so that whoever hears the page or has keys alone can play it.
"""

from __future__ import annotations

import re

from playwright.sync_api import Locator, Page, expect

from tests.desk.browser.facilitator import PHONE, Facilitator

MADE_IN_MS = 180_000.0
"""How long a debrief may take, which a process of its own makes beside all other tests."""


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

    def asks(self, who: str) -> None:
        """Let somebody do what is touched from now on."""
        choice = self.page.get_by_role("radio", name=who, exact=True)
        choice.focus()
        self.page.keyboard.press("Space")
        expect(choice).to_be_checked()

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

    def finds(self, words: str) -> None:
        """The baby's signs come to say this."""
        expect(self.page.get_by_role("list", name="The baby")).to_contain_text(words)


def test_a_resuscitation_is_played_to_its_debrief_by_names_and_keys(
    facilitator: Facilitator,
) -> None:
    player = ByName(facilitator)
    page = player.page
    player.begin("Term newborn who is not breathing")
    player.does("Team", "Allocate roles")
    player.does("Breathing", "Oxygen: 21 %", "Gas flow: 8 L/min")
    player.press("button", "I am ready: on to the birth")
    expect(page.get_by_role("heading", name="The baby")).to_be_visible()
    player.does("Team", "Call for help")
    player.does("Warmth", "Dry the baby")
    player.waits(11)
    player.does("Breathing", "Assess breathing and tone")
    player.finds("Breathing absent")
    player.does("Airway", "Put the head in the neutral position")
    player.does("Breathing", "Start ventilation")
    player.waits(8)
    player.does("Breathing", "Check chest movement")
    player.finds("Chest movement: none")
    player.does("Airway", "Reseat the mask")
    player.waits(4)
    player.does("Circulation", "Listen to the heart")
    player.waits(7)
    expect(page.get_by_role("heading", name="What is the heart rate? Call it out")).to_be_visible()
    player.press("button", "I can't hear them")
    expect(page.get_by_role("region", name="What is the heart rate?")).to_contain_text("You count")
    player.press("button", "60 to 100 /min")
    player.finds("Heart rate 60 to 100 /min")
    breathing = page.get_by_role("tabpanel", name="Breathing")
    player.does("Breathing", "Oxygen: 100 %")
    for much in (5, 1):
        player.press("button", f"Peak pressure (PIP): up by {much} cmH₂O", breathing)
    # 36 with the outlet closed; at the mask a tenth of the flow is lost.
    expect(breathing).to_contain_text("Manometer: 4 cmH₂O, and 35 cmH₂O with each breath")
    player.waits(9)
    player.finds("Chest movement: good")
    player.waits(30)
    expect(page.get_by_role("list", name="Hands")).to_contain_text("Help: both hands free")
    player.asks("Help")
    player.does("Circulation", "Start chest compressions")
    expect(page.get_by_role("status").filter(has_text="Help: chest")).to_be_visible()
    player.waits(60)
    player.does("Circulation", "Stop chest compressions")
    player.asks("You")
    player.does("Breathing", "Put the pulse oximeter on the right hand")
    player.waits(65)
    player.does("Breathing", "Oxygen: 40 %")
    player.waits(60)
    player.does("Team", "Hand over")
    player.waits(20)
    expect(page.get_by_role("heading", name="Your own times")).to_be_visible()
    expect(page.get_by_text("It ended with: Handed over.")).to_be_visible()
    player.press("link", "Open the debrief")
    expect(page.get_by_text("This was a rehearsal.")).to_be_visible(timeout=MADE_IN_MS)


def test_a_cot_is_prepared_to_its_debrief_by_names_and_keys(facilitator: Facilitator) -> None:
    """What is wrong is found by looking: nothing on the page names it before it was looked at."""
    player = ByName(facilitator)
    page = player.page
    player.begin("Preparing the cot for a term birth")
    expect(page.get_by_text("The place for the bag is empty")).to_have_count(0)
    player.press("button", "I am ready: on to the call")
    player.does("Preparation", "Clean your hands")
    player.press("tab", "The cot")
    player.looks("Self-inflating bag", "The place for the bag is empty. No mask lies there either.")
    player.works("Self-inflating bag", "Not as it should be", "Fetch a self-inflating bag")
    player.looks("Oxygen cylinder", "Its gauge stands at 100 bar.")
    player.works("Oxygen cylinder", "Change the oxygen cylinder")
    player.sees("Oxygen cylinder", "Its gauge stands at 230 bar.")
    player.looks("Blender", "The blender stands at 100 %.")
    player.types("Blender", "Oxygen, %", "30")
    player.sees("Blender", "The blender stands at 30 %.")
    player.looks("Gas flow", "The flowmeter stands at 0 L/min.")
    player.types("Gas flow", "Gas flow, L/min", "8")
    player.sees("Gas flow", "The flowmeter stands at 8 L/min.")
    player.looks("T-piece", "Its outlet is open.")
    player.works("T-piece", "Keep the outlet closed", "Finger over the hole in the cap")
    player.sees("T-piece", "Manometer: 12 cmH₂O")  # it leaks
    player.works("T-piece", "Not as it should be", "Change the T-piece")
    player.sees("T-piece", "Manometer: 40 cmH₂O")
    player.works("T-piece", "Finger over the hole in the cap")
    player.sees("T-piece", "Manometer: 5 cmH₂O")
    player.works("T-piece", "Keep the outlet closed")  # and let go
    player.sees("T-piece", "Manometer: 0 cmH₂O")
    player.looks("Suction", "Its gauge stands at 0 kPa.")
    player.works("Suction", "Suction: On")
    player.works("Suction", "Keep the tubing closed")
    player.sees("Suction", "20 kPa")
    player.works("Suction", "Suction: Off")
    player.looks("Clock", "Its second hand stands.")
    player.works("Clock", "Not as it should be", "Change its battery or fetch another clock")
    player.does("Team", "Allocate roles")
    player.waits(60)
    player.does("Preparation", "Declare the cot ready")
    player.waits(20)
    expect(page.get_by_text("It ended with: Cot declared ready.")).to_be_visible()
    player.press("link", "Open the debrief")
    expect(page.get_by_text("This was a rehearsal.")).to_be_visible(timeout=MADE_IN_MS)
