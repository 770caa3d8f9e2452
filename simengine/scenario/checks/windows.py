"""Windows of time that never open, never close as meant, or leave nothing to be missed.

Rules of this file:

- A window stays open from its anchor to ``until``, to the end of ``during`` or to the close.
- Where time zero may come while a state lasts and change nothing, a window from it has no end.
"""

from __future__ import annotations

from collections.abc import Set
from math import inf

from simengine.quantities import Range
from simengine.scenario.checks.item_at import ItemAt, time_words
from simengine.scenario.checks.reach import Reach
from simengine.scenario.key import Anchor, AskedSetting, Windowed
from simengine.scenario.model import Transition


def check_window(item_at: ItemAt, item: Windowed, anchor: Anchor) -> None:
    """Note what is wrong with a window that is counted from an anchor."""
    reach, at = item_at.reach, item_at.at
    name = anchor.name
    if anchor.kind == "state" and name is not None:
        state_at = at.get("from")
        if name not in reach.known:
            item_at.never(state_at, "a state that can be entered", f"'{name}', which can't be")
            return
        if item.during and name not in item.during:
            item_at.never(
                at.get("during"), f"'{name}', from which the window is counted, among the states"
            )
            return
    _until(item_at, item, anchor)
    _change(item_at, item, anchor)
    longest = _window(item, anchor, reach)
    early, ideal = at.get("not_before"), at.get("ideal")
    since = _anchor_words(anchor)
    if item.not_before_ms is not None and longest < item.not_before_ms:
        (early or at).say(
            f"at most the {time_words(longest)} that {since} can last",
            "never-met",
            level="warning",
            hint="before it opens all that is done is early, and then it is over",
        )
    elif longest < item.ideal_ms and ideal is not None:
        ideal.say(
            f"at most the {time_words(longest)} that {since} can last",
            "window-outlasts-state",
            level="warning",
            hint="not done in that time it is not reached, and never missed",
        )


def _until(item_at: ItemAt, item: Windowed, anchor: Anchor) -> None:
    """States of ``until`` that can't be entered after the state that the window is counted from."""
    name, until = anchor.name, item_at.at.get("until")
    if anchor.kind != "state" or name is None or not item.until or until is None:
        return
    after, todo = set[str](), [name]
    while todo:
        new = set(item_at.reach.nexts(todo.pop())) - after
        after |= new
        todo += new
    if not after & set(item.until):
        until.say(
            f"a state that can be entered after '{name}'",
            "until-never",
            found=", ".join(f"'{state}'" for state in item.until) + ", which can't be",
            level="warning",
        )


def _change(item_at: ItemAt, item: Windowed, anchor: Anchor) -> None:
    """A change asked of a setting whose value at the start is not known, or leaves no room."""
    subject, what = item.asked, item_at.at.get(item.kind)
    if not (
        isinstance(subject, AskedSetting)
        and subject.direction is not None
        and anchor.kind == "start"
        and what is not None
    ):
        return
    setting = item_at.reach.scenario.vocabulary.settings[subject.setting]
    at_start = item_at.reach.scenario.start.settings.get(subject.setting)
    plausible = setting.plausible or Range()
    change = setting.tolerance if setting.meaningful is None else setting.meaningful
    if at_start is None:
        expected, at = "a setting that is known at the start", what.get("set")
    elif isinstance(at_start, float) and not (
        at_start + change <= plausible.high
        if subject.direction == "higher"
        else at_start - change >= plausible.low
    ):
        expected, at = f"a change that {plausible.text} leaves room for", what.get("change")
    else:
        return
    (at or what).say(expected, "never-met", level="warning", hint="nobody can get this item")


def _window(item: Windowed, anchor: Anchor, reach: Reach) -> float:
    """How long a window can stay open: till ``until``, the end of ``during``, or the close."""
    stops = set(item.until)
    if item.during:
        stops |= reach.known.keys() - set(item.during)
    match anchor.kind:
        case "state":
            assert anchor.name is not None
            return reach.longest(anchor.name, stops)
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
        starting = [way for way in state.next if _starts_clock(way, reach)]
        if not starting and not state.ends:
            return inf  # the event may come while this state lasts, and change nothing
        starts |= {way.to for way in starting}
        for way in reach.exits[name].ways:
            to = way.transition.to
            if way.can and way.transition not in starting and to not in before:
                before.add(to)
                todo.append(to)
    return max((reach.longest(name, stops) for name in starts), default=inf)


def _starts_clock(way: Transition, reach: Reach) -> bool:
    clock = reach.scenario.start.clock
    return way.on is not None and way.on == clock and way.when is None and not way.after_ms


def _anchor_words(anchor: Anchor) -> str:
    match anchor.kind:
        case "state":
            return f"the window from '{anchor.name}'"
        case "clock":
            return "the session since time zero"
        case _:
            return "the session"
