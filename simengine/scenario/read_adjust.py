"""What shifts or limits a target: in a state of a scenario, and in a rule of the physiology.

Rules of this file:

- A condition of a shift is one that holds or not at any instant, whoever has entered a state since:
  ``done`` and ``seen`` are not.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf

from simengine.scenario.conditions import Condition, Done, Seen, leaves
from simengine.scenario.model import Adjust, AnyAdjust, Instead, Limit, Shift
from simengine.scenario.place import Place
from simengine.scenario.read_conditions import Context, read_condition
from simengine.scenario.vocabulary import Observation


def read_adjusts(place: Place, unit: str, context: Context) -> tuple[AnyAdjust, ...]:
    """Read a list of shifts and limits of a target in ``unit``."""
    adjusts = [_adjust(item, unit, context) for item in place.elements("a list of shifts")]
    return tuple(adjust for adjust in adjusts if adjust is not None)


def read_instead(place: Place, observation: Observation, context: Context) -> tuple[Instead, ...]:
    """Read a list of words that are shown while a condition holds; the first that holds counts."""
    rules = []
    for item in place.elements("a list of words"):
        at, reads = item.need("while"), item.need("reads")
        for key in ("by", "at_most", "at_least", "per"):
            if item.get(key) is not None:
                item.key(key).say("'reads' with one of its words", "needless-key", found="")
        condition = read_lasting_condition(at, context) if at is not None else None
        word = (
            reads.name(observation.words, f"a word of '{observation.name}'")
            if reads is not None
            else None
        )
        if condition is not None and word is not None:
            rules.append(Instead(condition, word))
    return tuple(rules)


def _adjust(place: Place, unit: str, context: Context) -> AnyAdjust | None:
    at = place.get("while")
    condition = read_lasting_condition(at, context) if at is not None else None
    if at is not None and condition is None:
        return None
    if condition is not None and place.get("per") is None:
        return _while(place, unit, condition)
    of, per_at, by_at = place.need("of"), place.need("per"), place.need("by")
    above, below = place.get("above"), place.get("below")
    if place.is_map() and (above is None) == (below is None):
        given = "neither" if above is None else "both"
        place.say("either 'above' or 'below'", "above-or-below", found=given)
        return None
    name = of.name(context.vocabulary.settings, context.a_setting) if of is not None else None
    if name is None or of is None or per_at is None or by_at is None:
        return None
    setting = context.vocabulary.settings[name]
    if setting.unit is None:
        of.say("a setting with a unit", "words-for-number", hint=f"'{name}' is told in words")
        return None
    side = above or below
    assert side is not None
    per, by = per_at.difference(setting.unit), by_at.difference(unit)
    reference = side.quantity(setting.unit)
    if per is not None and per <= 0:
        per_at.say("more than 0", "negative")
    if per is None or by is None or reference is None:
        return None
    return Adjust(name, "above" if above is not None else "below", reference, per, by, condition)


def _while(place: Place, unit: str, condition: Condition) -> Shift | Limit | None:
    by_at, most, least = place.get("by"), place.get("at_most"), place.get("at_least")
    if place.get("reads") is not None:
        place.key("reads").say("a figure for what has a unit", "words-for-number", found="a word")
        return None
    if (by_at is None) == (most is None and least is None):
        given = "neither" if by_at is None else "both"
        place.say("either 'by', or 'at_most' and 'at_least'", "by-or-limit", found=given)
        return None
    if by_at is not None:
        by = by_at.difference(unit)
        return Shift(condition, by) if by is not None else None
    high = most.quantity(unit) if most is not None else inf
    low = least.quantity(unit) if least is not None else -inf
    if low is None or high is None:
        return None
    if low > high:
        place.say("'at_least' at or below 'at_most'", "ends-swapped", found="one above it")
    return Limit(condition, low, high)


def read_lasting_condition(place: Place, context: Context) -> Condition | None:
    """Read a condition that what shifts a target may wait for; ``None`` after a problem."""
    condition = read_condition(place, replace(context, guards=True))
    for leaf in leaves(condition) if condition is not None else ():
        if isinstance(leaf, Done) and not leaf.ever:
            clause, hint = "done", "write 'done_ever'"
        elif isinstance(leaf, Seen):
            clause, hint = "seen", "the baby does not wait for what a team knows"
        else:
            continue
        place.say("a condition of any state", "not-in-any-state", found=f"'{clause}'", hint=hint)
        return None
    return condition
