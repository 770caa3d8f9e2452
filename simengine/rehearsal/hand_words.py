"""What is said of hands: whose are full and what frees one, and what help says back.

Rules of this file:

- Help says back what it was told as it begins: the loop is closed. What one does oneself is not
  told to oneself.
- Who has no hand free is told what keeps both, and each thing that frees one.
"""

from __future__ import annotations

from simengine.quantities.formatting import capitalised, listed
from simengine.rehearsal.alone_rules import Task
from simengine.rehearsal.hands import ONESELF, AtTheCot, Hands
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.vocabulary import Action


def closed_loop(action: Action, called: str, phase: str) -> str:
    """Return what help says back of what it was told; empty for what one does oneself."""
    if not called:
        return ""
    if phase == "stop":
        return say("help_stops", who=called, noun=action.noun)
    if action.lasting:
        return say("help_starts", who=called, noun=action.noun)
    return say("helper_says", who=called, words=f"{capitalised(action.doing)}.")


def no_free_hand(hands: Hands, task: Task, by: str) -> str:
    """Return why somebody has no hand for a task, and what frees one."""
    person = hands.of(by)
    assert person is not None
    who, doing, do = person.called, doing_words(person), frees_words(hands, task, by)
    if by == ONESELF:
        key = "one_hand_busy" if person.free else "no_free_hand"
        return say(key, doing=doing, do=do)
    if person.free:
        return say("help_one_hand_busy", who=who, doing=doing, do=do)
    return say("help_no_free_hand", who=who, doing=doing, do=do)


def doing_words(person: AtTheCot) -> str:
    """Return what somebody's hands do."""
    return listed([kept.doing for kept in person.keeps])


def frees_words(hands: Hands, task: Task, by: str) -> str:
    """Return each thing that frees a hand of somebody, as a sentence."""
    person = hands.of(by)
    assert person is not None
    ways = [kept.frees for kept in person.keeps if kept.frees]
    if any(not kept.frees for kept in person.keeps):
        ways.append(say("frees_wait"))
    others = [other for other in hands.people if other.by != by and other.free >= task.hands]
    if others:
        other = others[0]
        ways.append(say("frees_help", who=other.called) if other.called else say("frees_yourself"))
    elif hands.coming:
        ways.append(say("frees_coming", who=hands.coming[0].called))
    elif len(hands.people) == 1:
        ways.append(say("frees_call"))
    return f"{capitalised(listed(ways, 'or'))}."
