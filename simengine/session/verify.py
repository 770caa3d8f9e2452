"""Verify a log: its chain, its order, and that the program took what was due and nothing else.

Rules of this file:

- What was due is judged by the log as it was known then: the fold of the lines before.
- An automatic step must be the one that was due next, at its instant. Before anybody's entry
  noted at t, everything that came due before t must have been written down; what is due at t
  itself may stand before or after that entry.
- A state that a facilitator chose needs no reason. The first state is the scenario's own.
- The first line that is wrong is named; what follows from it is not.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.problems import Problem
from simengine.scenario.model import Scenario
from simengine.session.account import PROGRAM
from simengine.session.events import Event
from simengine.session.fold import Fold
from simengine.session.guards import CLOSING, Due
from simengine.session.log_file import chain_problems


def verify_log(scenario: Scenario, events: Sequence[Event], *, file: str = "") -> Problem | None:
    """Return what is wrong with the first line that is wrong; ``None`` if the log is right."""
    broken = next(chain_problems(events, file=file), None)
    fold = Fold(scenario)
    for line, event in enumerate(events, start=1):
        if broken is not None and broken.line <= line:
            return broken
        wrong = _wrong(fold, event, line)
        if wrong is not None:
            expected, written, code = wrong
            return Problem(file, line, 1, event.kind, expected, written, code)
        fold.feed(event)
    return broken


def _wrong(fold: Fold, event: Event, line: int) -> tuple[str, str, str] | None:
    """(expected, found, code) of what is wrong with an event, after the lines before it."""
    if line == 1:
        if event.kind != "opened":
            return "the event 'opened' first", f"{event.kind!r}", "not-opened"
        return None
    if event.id in fold.ids:
        return "an id of its own", "one that is in the log already", "repeated-id"
    if event.noted_ms < fold.noted_ms:
        expected = f"noted_ms {fold.noted_ms} at least, as on the line before"
        return expected, str(event.noted_ms), "noted-falls"
    if event.at_ms > event.noted_ms:
        return f"at_ms {event.noted_ms} at most, its noted_ms", str(event.at_ms), "dated-ahead"
    if event.kind == "state" and event.data["cause"] == "start":
        return _wrong_start(fold, event)
    if fold.stay is None:
        return "the start state on line 2", f"{event.kind!r}", "no-start"
    due = fold.next_due()
    if event.kind == "state" and event.data["cause"] == "rule":
        return _wrong_step(fold, event, due)
    if event.kind == "closed" and event.by == PROGRAM:
        closing = (
            due is not None
            and due.rule == CLOSING
            and min(fold.times.log(due.at_ms), event.noted_ms) == event.at_ms
        )
        return None if closing else (_what(fold, due), "'closed' by the program", "not-due")
    if due is not None and due.at_ms < fold.times.scenario(event.noted_ms, event.seq):
        return f"{_what(fold, due)} before this entry", "no such entry", "left-out"
    if event.kind == "undone":
        target = next((earlier for earlier in fold.events if earlier.id == event.data["id"]), None)
        if not fold.undoable(target, event.noted_ms):
            expected = "the id of what was done by hand in the minute before, and not undone yet"
            return expected, f"{event.data['id']!r}", "undone-of-nothing"
    if event.kind == "closed" and event.data["why"] != "safety stop" and fold.must_return:
        return "the cot returned to service before the end", "'closed'", "not-returned"
    return None


def _wrong_start(fold: Fold, event: Event) -> tuple[str, str, str] | None:
    start = fold.scenario.start.state
    if fold.stay is not None:
        return "the start state once", f"{event.data['state']!r} again", "started-twice"
    if event.data["state"] != start:
        return f"the start state {start!r}", f"{event.data['state']!r}", "wrong-start"
    return None


def _wrong_step(fold: Fold, event: Event, due: Due | None) -> tuple[str, str, str] | None:
    at_ms = fold.instant_of(event)
    written = f"{event.data['state']!r} at {at_ms} ms of scenario time"
    if due is None or due.rule == CLOSING or due.rule != event.data.get("rule"):
        return _what(fold, due), written, "not-due"
    to = fold.scenario.states[fold.state].next[due.rule].to
    if to != event.data["state"] or due.at_ms != at_ms:
        return _what(fold, due), written, "not-due"
    return None


def _what(fold: Fold, due: Due | None) -> str:
    if due is None:
        return "no automatic step, since none was due"
    if due.rule == CLOSING:
        return f"the session closed as finished at {due.at_ms} ms of scenario time"
    to = fold.scenario.states[fold.state].next[due.rule].to
    return f"{to!r} at {due.at_ms} ms of scenario time"
