"""Undo: what can be taken back and for how long, and what each device did last and can take back.

Rules of this file:

- A state taken by hand, a hold, a pause or a named event can be undone, once, within
  ``UNDONE_WITHIN_MS`` of being written down. The log keeps it; for all else it never was.
- The infant goes back to the state that was left, which then has gone on without a break; what the
  undone state led to by itself goes with it. A state taken by hand since then stands.
- A named event takes with it the state that it led to, and, if it started the team's clock, time
  zero: the next event of the name sets it.
- Time goes on as if an undone pause, while it lasts, had not begun.
- A device takes back its own steps alone, the last first: an entry or a correction by withdrawing
  it; what can be undone by ``undone``; the end of a pause or of a hold by beginning it again.
- What was taken back is brought back the same way: the withdrawal is withdrawn; what was undone is
  recorded once more, a named event at its own instant.
- Anything else that the device records in between ends what could be brought back. What another
  device takes back is no longer the first one's to take back.
- What moved the session on for good (a skip, the end) can't be taken back, and nothing before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from simengine.session.account import PROGRAM
from simengine.session.events import Event, Kind

UNDONE_WITHIN_MS = 60_000
"""How long after it was written down a step can be undone; each view tells it to the screens."""

CAN_BE_UNDONE: frozenset[Kind] = frozenset(("state", "hold", "pause", "event"))


def can_be_undone(target: Event | None, noted_ms: int) -> bool:
    """Whether an ``undone`` noted at ``noted_ms`` can take ``target`` back."""
    if target is None or target.kind not in CAN_BE_UNDONE:
        return False
    if target.kind == "state" and target.data.get("cause") != "facilitator":
        return False
    return noted_ms - target.noted_ms <= UNDONE_WITHIN_MS


def target_of_undone(events: Sequence[Event], undone: Event) -> Event | None:
    """Return the event before ``undone`` that it names."""
    named = undone.data.get("id")
    return next((event for event in events if event.id == named and event.seq < undone.seq), None)


Way = Literal["withdraw", "undo", "begin again", "never"]

_BEGUN_AGAIN: Mapping[str, str] = {"resume": "pause", "release": "hold"}
_FOR_GOOD = frozenset(("skip", "closed", "returned"))
_NO_STEP = frozenset(("opened", "confirmed", "signed", "appealed", "superseded", "put_away"))


@dataclass(frozen=True, slots=True)
class StepBack:
    """A step of a device, and how it is taken back.

    ``of``: the entry that it is about, which for a correction is another one. ``again``: the kind
    that is recorded where the way is to begin again. ``until_ms``: the log's time until which it
    can be done (``None``: any time). ``data``, ``at_ms``: what was recorded, and when it was.
    ``taken_by``: the entry that took it back, empty while it stands.
    """

    way: Way
    id: str
    of: str
    kind: str
    again: str
    at_ms: int
    data: Mapping[str, Any]
    until_ms: int | None = None
    taken_by: str = ""


@dataclass(slots=True)
class StepsBack:
    """What a device can take back, and what it can bring back; the next one is each list's last."""

    undo: list[StepBack] = field(default_factory=list)
    redo: list[StepBack] = field(default_factory=list)


def steps_back(events: Iterable[Event]) -> dict[str, StepsBack]:
    """Return for each device (its key) what it can take back and bring back."""
    steps: dict[str, StepsBack] = {}
    for event in events:
        if event.by == PROGRAM or event.kind in _NO_STEP:
            continue
        own = steps.setdefault(event.by, StepsBack())
        named = str(event.data.get("id", ""))
        withdraws = event.kind == "amend" and event.data.get("withdrawn") is True
        if not withdraws and event.kind != "undone":
            _go_on(own, event)
        elif own.redo and own.redo[-1].taken_by == named:
            own.undo.append(replace(own.redo.pop(), taken_by=""))
        else:
            taken = [step for own_steps in steps.values() for step in _removed(own_steps, named)]
            own.redo += [replace(step, taken_by=event.id) for step in taken]
    return steps


def _go_on(own: StepsBack, event: Event) -> None:
    """Take a new step; it brings back what was undone if it is the same once more."""
    last = own.redo[-1] if own.redo else None
    if last is not None and last.way == "undo" and _same(last, event):
        own.redo.pop()
    else:
        own.redo.clear()
    own.undo.append(_step(event))


def _same(step: StepBack, event: Event) -> bool:
    return step.kind == event.kind and step.data == event.data


def _removed(steps: StepsBack, named: str) -> list[StepBack]:
    """Take out the step with an id, and return it."""
    removed = [step for step in steps.undo if step.id == named]
    steps.undo = [step for step in steps.undo if step.id != named]
    return removed


def _step(event: Event) -> StepBack:
    kind = event.kind
    way: Way = "withdraw"
    until = None
    if kind in CAN_BE_UNDONE:
        way, until = "undo", event.noted_ms + UNDONE_WITHIN_MS
    elif kind in _BEGUN_AGAIN:
        way = "begin again"
    elif kind in _FOR_GOOD:
        way = "never"
    of = str(event.data.get("id", "")) if kind == "amend" else event.id
    again = _BEGUN_AGAIN.get(kind, "")
    return StepBack(way, event.id, of, kind, again, event.at_ms, event.data, until)
