"""A cot is prepared and a baby resuscitated, to the debrief, with key presses and nothing else.

Rules of this file:

- All that is found, and all that is heard, is in Chromium's accessibility tree; whoever plays comes
  to it by Tab, Shift+Tab and arrow keys (`by_keys.py`), as on a phone's keyboard.
- The focus is never hidden, never nowhere on the page, and never kept from leaving it.
"""

from __future__ import annotations

from tests.desk.browser.facilitator import Facilitator
from tests.rehearsal.browser.by_keys import ByKeys
from tests.rehearsal.browser.listener import CONFIRMS, Listener


def test_a_cot_is_prepared_to_the_debrief_by_keys_and_what_the_accessibility_tree_says(
    facilitator: Facilitator,
) -> None:
    """What is wrong is found by looking: nothing in the tree names it before it was looked at."""
    plays = Listener(facilitator, ByKeys)
    tree = plays.tree
    assert isinstance(tree, ByKeys)
    plays.begin("Preparing the cot for a term birth", way="Guided")
    plays.is_ready("call")
    plays.does("Preparation", "Clean your hands")
    plays.goes_to("The cot")
    for fault in ("place for the bag is empty", "second hand stands", "leak"):
        assert fault not in tree.read().words
    plays.looks("Self-inflating bag", "The place for the bag is empty.")
    there = tree.leaves("Tab")
    assert there > 5
    assert tree.leaves("Shift+Tab") > there
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
    tree.types("spinbutton", "Gas flow, L/min", "7", ("region", "Gas flow"))
    plays.sees("Gas flow", "The flowmeter stands at 7 L/min.")
    plays.page.keyboard.press("ArrowUp")
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


def test_a_baby_is_resuscitated_to_the_debrief_by_keys_alone(facilitator: Facilitator) -> None:
    plays = Listener(facilitator, ByKeys)
    tree = plays.tree
    plays.begin("Term newborn who responds to ventilation")
    plays.does("Breathing", "Gas flow: 8 L/min")
    plays.is_ready("birth")
    plays.does("Team", "Call for help")
    plays.lets_go_by(10)  # the hand that was at the cot is free
    plays.does("Breathing", "Start ventilation")
    plays.does("Airway", "Put the head in the neutral position")
    plays.lets_go_by(10)
    plays.does("Breathing", "Check chest movement")
    tree.hears("Chest movement: good")
    plays.listens_to_the_heart()
    tree.types("spinbutton", "A figure instead (/min)", "100")
    tree.press("button", "Say it")
    tree.wait("no count", lambda read: not read.having("region", "What is the heart rate…"))
    plays.goes_to("Drugs and vascular access")
    tree.press("button", "Give adrenaline")
    tree.focus(tree.only("spinbutton", "Volume, mL", [("dialog", "Give adrenaline")]))
    plays.page.keyboard.type("0.3")
    tree.press("button", "Not now", ("dialog", "Give adrenaline"))
    plays.lets_go_by(30)
    plays.lists("Hands", "Help: both hands free")
    tree.press("button", "Help takes over ventilation")
    plays.lists("Hands", "Help: ventilating; one hand free")
    plays.lets_go_by(30, 30)
    plays.does("Breathing", "Assess breathing and tone")
    tree.hears("Breathing regular")
    tree.press("radio", "Help", ("group", "Who does it"), key=CONFIRMS)
    tree.press("button", "Stop ventilation", ("region", "Hands"))
    plays.lists("Hands", "Help: both hands free")
    tree.press("radio", "You", ("group", "Who does it"), key=CONFIRMS)
    plays.does("Team", "Hand over")
    tree.press("button", "Skip 30 s")
    plays.ends("It ended with: With the parent.")
