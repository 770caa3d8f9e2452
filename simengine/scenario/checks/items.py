"""Key items that can never apply, never be met, or never tell teams apart.

Rules of this file:

- All are warnings: what can't be scored leaves both sums and harms none, and a facilitator's hand
  or another protocol may bring it about.
- A window that closes before its ``ideal`` leaves nothing to be missed.
- All is judged by the longest that stays can last; see ``reach`` for what is left out.
"""

from __future__ import annotations

from collections.abc import Set
from functools import reduce
from math import inf
from typing import NamedTuple

from simengine.quantities import Range, format_duration
from simengine.scenario.checks.known import NEVER, Known, earliest, surely
from simengine.scenario.checks.reach import Reach
from simengine.scenario.checks.reasons import why_never
from simengine.scenario.checks.walk import (
    leaves,
    observed_in,
)
from simengine.scenario.conditions import Condition, Doing
from simengine.scenario.key import (
    AskedAction,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    Order,
    Repeat,
    Respond,
)
from simengine.scenario.model import Transition
from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read

_NEVER_SCORED = "this item can never be scored"


class _Item(NamedTuple):
    """An item at its place; ``states``: those of its ``during`` that can be entered."""

    at: Place
    reach: Reach
    states: Set[str]

    def never(self, place: Place | None, expected: str, found: str | None = None) -> None:
        """Note that the item can never apply."""
        (place or self.at).say(
            expected, "never-applies", found=found, level="warning", hint=_NEVER_SCORED
        )


def check_items(read: Read, reach: Reach) -> None:
    """Note what is wrong with the items of the key."""
    for item, place in read.key_places:
        during = place.get("during")
        named = [name for name in item.during if name not in reach.known]
        states = (set(item.during) or reach.known.keys()) & reach.known.keys()
        one = _Item(place, reach, states)
        if named and not states:
            names = ", ".join(f"'{name}'" for name in named)
            one.never(during, "a state that can be entered", f"{names}, which can't be")
            continue
        match item:
            case Expect():
                _expect(one, item)
            case Respond():
                _respond(one, item)
            case Repeat():
                _repeat(one, item)
            case Keep():
                _keep(one, item)
            case Avoid():
                _avoid(one, item)
            case Order(actions=actions):
                _order(place, actions)


def _expect(one: _Item, item: Expect) -> None:
    reach, at = one.reach, one.at
    name = item.anchor.name
    if item.anchor.kind == "state" and name is not None:
        state_at = at.get("from")
        if name not in reach.known:
            one.never(state_at, "a state that can be entered", f"'{name}', which can't be")
            return
        if item.during and name not in item.during:
            one.never(
                at.get("during"), f"'{name}', from which the window is counted, among the states"
            )
            return
    _until(one, item)
    _change(one, item)
    longest = _window(item, reach)
    early, ideal = at.get("not_before"), at.get("ideal")
    since = _anchor_words(item)
    if item.not_before_ms is not None and longest < item.not_before_ms:
        (early or at).say(
            f"at most the {_time(longest)} that {since} can last",
            "never-met",
            level="warning",
            hint="before it opens all that is done is early, and then it is over",
        )
    elif longest < item.ideal_ms and ideal is not None:
        ideal.say(
            f"at most the {_time(longest)} that {since} can last",
            "window-outlasts-state",
            level="warning",
            hint="not done in that time it is not reached, and never missed",
        )


def _until(one: _Item, item: Expect) -> None:
    """States of ``until`` that can't be entered after the state that the window is counted from."""
    name, until = item.anchor.name, one.at.get("until")
    if item.anchor.kind != "state" or name is None or not item.until or until is None:
        return
    after, todo = set[str](), [name]
    while todo:
        new = set(one.reach.nexts(todo.pop())) - after
        after |= new
        todo += new
    if not after & set(item.until):
        until.say(
            f"a state that can be entered after '{name}'",
            "until-never",
            found=", ".join(f"'{state}'" for state in item.until) + ", which can't be",
            level="warning",
        )


def _change(one: _Item, item: Expect) -> None:
    """A change asked of a setting whose value at the start is not known, or leaves no room."""
    asked, what = item.asked, one.at.get("expect")
    if not (
        isinstance(asked, AskedSetting)
        and asked.direction is not None
        and item.anchor.kind == "start"
        and what is not None
    ):
        return
    setting = one.reach.scenario.vocabulary.settings[asked.setting]
    found = one.reach.scenario.start.settings.get(asked.setting)
    plausible, step = setting.plausible or Range(), setting.step or 0.0
    if found is None:
        expected, at = "a setting that is known at the start", what.get("set")
    elif isinstance(found, float) and not (
        found + step <= plausible.high
        if asked.direction == "higher"
        else found - step >= plausible.low
    ):
        expected, at = f"a change that {plausible.text} leaves room for", what.get("change")
    else:
        return
    (at or what).say(expected, "never-met", level="warning", hint="nobody can get this item")


def _window(item: Expect, reach: Reach) -> float:
    """How long a window can stay open: till ``until``, the end of ``during``, or the close."""
    stops = set(item.until)
    if item.during:
        stops |= reach.known.keys() - set(item.during)
    match item.anchor.kind:
        case "state":
            assert item.anchor.name is not None
            return reach.longest(item.anchor.name, stops)
        case "clock":
            return _since_clock(reach, stops)
        case "start":
            return reach.longest(reach.scenario.start.state, stops)
        case _:
            return reach.longest(reach.scenario.start.state)


def _since_clock(reach: Reach, stops: Set[str]) -> float:
    """The longest from the start of the clock on, if it surely starts with a known state."""
    scenario = reach.scenario
    starts: set[str] = set()
    before, todo = {scenario.start.state}, [scenario.start.state]
    while todo:
        name = todo.pop()
        state = scenario.states[name]
        found = [one for one in state.next if _starts_clock(one, reach)]
        if not found and not state.ends:
            return inf  # the event may come while this state lasts, and change nothing
        starts |= {one.to for one in found}
        for way in reach.exits[name].ways:
            to = way.transition.to
            if way.can and way.transition not in found and to not in before:
                before.add(to)
                todo.append(to)
    return max((reach.longest(name, stops) for name in starts), default=inf)


def _starts_clock(one: Transition, reach: Reach) -> bool:
    clock = reach.scenario.start.clock
    return one.on is not None and one.on == clock and one.when is None and not one.after_ms


def _anchor_words(item: Expect) -> str:
    match item.anchor.kind:
        case "state":
            return f"the window from '{item.anchor.name}'"
        case "clock":
            return "the session since time zero"
        case _:
            return "the session"


def _respond(one: _Item, item: Respond) -> None:
    whenever = one.at.get("whenever")
    if whenever is not None and any(isinstance(leaf, Doing) for leaf in leaves(item.whenever)):
        whenever.say(
            "a condition on the baby",
            "whenever-doing",
            found="'doing'",
            level="warning",
            hint="'doing' is needed for it to begin, not for it to go on",
        )
    holds = _can_hold(one, whenever, item.whenever)
    if not holds:
        return
    longest = one.reach.longest_within(holds)
    lasting, ideal = one.at.get("lasting"), one.at.get("ideal")
    if longest <= item.lasting_ms:
        one.never(
            lasting or whenever, f"less than the {_time(longest)} that this condition can last"
        )
    elif (
        longest < item.lasting_ms + item.ideal_ms
        and not item.even_if_resolved
        and ideal is not None
    ):
        left = longest - item.lasting_ms
        ideal.say(
            f"at most the {_time(left)} for which the condition can go on",
            "window-outlasts-state",
            level="warning",
            hint="it ends before, so nothing is ever missed: say 'even_if_resolved: true'",
        )


def _repeat(one: _Item, item: Repeat) -> None:
    longest = one.reach.longest_within(one.states)
    if longest <= item.every_ms + item.grace_ms:
        one.never(
            one.at.get("every"),
            f"'every' and 'grace' of less than the {_time(longest)} that the stay can last",
        )


def _keep(one: _Item, item: Keep) -> None:
    keep = one.at.get("keep")
    if one.reach.longest_within(one.states) == 0.0:
        one.never(one.at.get("during") or keep, "a state that lasts", "none: the session closes")
        return
    if not _can_hold(one, keep, item.condition, "never-met", "it can't be kept by anybody"):
        return
    if all(_sure(item.condition, name, one.reach) for name in one.states):
        (keep or one.at).say(
            "a condition that a team can break",
            "always-met",
            found="one that always holds there",
            level="warning",
        )


def _avoid(one: _Item, item: Avoid) -> None:
    avoid = one.at.get("avoid")
    if isinstance(item.what, AskedAction):
        if one.reach.longest_within(one.states) == 0.0:
            one.never(one.at.get("during") or avoid, "a state that lasts", "none")
        return
    holds = _can_hold(one, avoid, item.what)
    if not holds:
        return
    longest = one.reach.longest_within(holds)
    if longest < item.lasting_ms:
        one.never(
            one.at.get("lasting") or avoid,
            f"at most the {_time(longest)} that this condition can last",
        )
    elif all(_sure(item.what, name, one.reach) for name in one.states):
        (avoid or one.at).say(
            "a condition that a team can avoid",
            "always-met",
            found="one that always holds there",
            level="warning",
        )


def _order(place: Place, actions: tuple[str, ...]) -> None:
    named = place.get("order")
    for number, action in enumerate(actions):
        if action in actions[:number] and named is not None:
            named.elements()[number].say("each action once", "duplicate-name")


def _can_hold(
    one: _Item,
    place: Place | None,
    condition: Condition,
    code: str = "never-applies",
    hint: str = _NEVER_SCORED,
) -> set[str]:
    """Return the states in which a condition can hold; say so if there are none."""
    scenario = one.reach.scenario
    holds = {
        name for name in one.states if earliest(condition, one.reach.known[name], scenario) < NEVER
    }
    at = place or one.at
    if not holds and one.states:
        names = [name for name in scenario.states if name in one.states]
        known = [one.reach.known[name] for name in names]
        both = reduce(Known.or_else, known)
        if earliest(condition, both, scenario) < NEVER:
            both = max(known, key=lambda single: len(single.shown))
        where = f"'{names[0]}'" if len(names) == 1 else "any of its states"
        at.say(
            f"a condition that can hold in {where}",
            code,
            found=why_never(condition, both, scenario),
            level="warning",
            hint=hint,
        )
        return holds
    shown = {name for state in scenario.states.values() for name in state.shows}
    for leaf in observed_in(condition):
        if leaf.observation not in shown:
            at.say(
                f"an observation that some state shows ('{leaf.observation}' is shown by none)",
                "never-shown",
                found="",
                level="warning",
            )
    return holds


def _sure(condition: Condition, state: str, reach: Reach) -> bool:
    return surely(condition, reach.known[state], reach.scenario)


def _time(ms: float) -> str:
    return format_duration(round(ms)) if ms < inf else "time"
