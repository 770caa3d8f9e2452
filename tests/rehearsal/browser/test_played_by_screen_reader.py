"""A baby is resuscitated, compressions and all, by somebody who hears the page.

Rules of this file:

- All that is found, and all that is heard, is in Chromium's accessibility tree
  (`accessibility_tree.py`): names, roles, states and live regions.
- What changes is heard where a live region says it; what can be gone back to is in a list.
"""

from __future__ import annotations

from tests.desk.browser.facilitator import Facilitator
from tests.rehearsal.browser.listener import CONFIRMS, Listener


def test_a_baby_is_resuscitated_to_the_debrief_by_what_the_accessibility_tree_says(
    facilitator: Facilitator,
) -> None:
    plays = Listener(facilitator)
    tree = plays.tree
    plays.begin("Term newborn who is not breathing")
    plays.does("Team", "Allocate roles")
    plays.does("Breathing", "Oxygen: 21 %", "Gas flow: 8 L/min")
    plays.is_ready("birth")
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
    plays.listens_to_the_heart()
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
