"""The fold of a log into states, curves and the account of what people did.

Rules of this file:

- One fold serves a live session, a replay and full speed: events go in one by one, in order of
  ``seq``. What a state event says is a fact and is never judged here; ``next_due`` tells which
  comes next by itself, and whoever runs the session writes that down as the next event.
- Any log folds without an exception. What makes no sense is a finding.
- Between events nothing is computed.
- What people recorded acts on curves and supplies from ``noted``; the account (and so guards,
  from then on) has it at ``at``. An entry dated after it was noted happened when it was noted.
- A hold keeps all automatic steps back; at the release what has come due is due then.
- The session ends at ``closed``. What comes later is kept, and does nothing, except what people
  say of the record and entries of what happened before.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any, cast, get_args

from simengine.scenario.conditions import Name
from simengine.scenario.model import Scenario
from simengine.session.account import Account, Instant
from simengine.session.corrections import corrected
from simengine.session.curves import Curves, Shown, until
from simengine.session.events import Event, Kind
from simengine.session.guards import CLOSING, Due, Guards
from simengine.session.machine import Place
from simengine.session.plan import plan_of
from simengine.session.record import (
    NEVER,
    Finding,
    Interval,
    Purpose,
    Segment,
    Session,
    Stay,
    Why,
)
from simengine.session.retry import Retry, retry_of
from simengine.session.signatures import why_not_signed
from simengine.session.supplies import Supplies
from simengine.session.times import Times
from simengine.session.truth import Timeline
from simengine.session.undo import can_be_undone, target_of_undone

_Kinds = frozenset[Kind]
AFTERWARDS: _Kinds = frozenset(
    (
        *("amend", "note", "unobserved", "unavailable", "returned"),
        *("confirmed", "signed", "appealed", "superseded", "put_away"),
    )
)
"""Kinds that may come after the end: what people say of the record and the outcome."""

_STEERING: _Kinds = frozenset(
    ("amend", "undone", "pause", "resume", "skip", "hold", "release", "returned", "closed")
)
_ACCOUNTED: _Kinds = frozenset(
    (
        *("opened", "action", "set", "event", "fault", "cue", "reveal"),
        *("unobserved", "unavailable", "joined", "left", "role", "confirmed"),
    )
)
# What may be added to a session that was never closed without making it longer; a state's own
# instant is its entry.
_SAID_LATER: _Kinds = frozenset(
    ("state", "unobserved", "confirmed", "signed", "appealed", "superseded", "put_away")
)


# A stay under way, to be written on: the fields of ``Stay``, the event last.
_Row = list[Any]


class Fold:
    """A log, folded so far. Feed events in order; read ``session`` at any time.

    ``now`` is the scenario time that the fold has come to; ``noted_ms`` the log's.
    """

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.plan = plan_of(scenario)
        self.times = Times()
        self.events: list[Event] = []
        self.ids: set[str] = set()
        self.now = 0
        self.noted_ms = 0
        self.held = False
        self.returned = False
        self.closed: Event | None = None
        self.closed_ms: int | None = None
        self.opened: Event | None = None
        self.retry: Retry | None = None
        """What the session is a retry of; ``None`` where it is none."""
        self._place = Place(scenario.start.state)
        self._stays: list[_Row] = []
        self._before: list[Shown] = []
        self._taken_back: list[_Row] = []
        self._undone: set[str] = set()
        self._intervals: list[Interval] = []
        self._curves = Curves(self.plan.watches)
        self._supplies = Supplies(self.plan)
        self._timeline = Timeline(
            doing={},
            done={},
            settings={},
            faults={},
            stays=self._intervals,
            curves=self._curves.segments,
            words=self._curves.words,
            supplies=self._supplies.levels,
            seen={},
        )
        self._account = Account(self.plan, self._timeline)
        self._supplies.begin(self._account)
        self._guards = Guards(self._timeline, self.plan.states[scenario.start.state])
        self._findings: list[Finding] = []
        self._due: Due | None = None
        self._due_known = False

    # --- reading --------------------------------------------------------------------------------

    @property
    def state(self) -> str:
        """The state that the infant is in."""
        return self._place.state

    @property
    def stay(self) -> Stay | None:
        """The present stay; ``None`` before the first state is entered."""
        return _stay(self._stays[-1]) if self._stays else None

    @property
    def timeline(self) -> Timeline:
        """What conditions look at, as known now. It changes with the next event."""
        return self._timeline

    @property
    def account(self) -> Account:
        """What is known now of what people did."""
        return self._account

    @property
    def must_return(self) -> bool:
        """Whether the cot must be put back in service before the session can be closed.

        In a rehearsal there is no real cot.
        """
        return self.scenario.returns_cot and not self.returned and self.purpose != "rehearsal"

    @property
    def other_cot(self) -> str:
        """Where the cot for a real baby stands; empty where nobody wrote it down."""
        other_cot = self.opened.data.get("other_cot") if self.opened is not None else None
        return other_cot if isinstance(other_cot, str) else ""

    @property
    def signed(self) -> bool:
        """Whether the log has a signature, whatever it counts for."""
        return any(event.kind == "signed" for event in self.events)

    @property
    def purpose(self) -> Purpose:
        """What the session is for; formative unless the log says otherwise."""
        purpose = self.opened.data.get("purpose") if self.opened is not None else None
        return cast(Purpose, purpose) if purpose in get_args(Purpose) else "formative"

    def next_due(self) -> Due | None:
        """Return what comes next by itself; ``None`` while nothing does."""
        if not self._due_known:
            self._due = self._next_due()
            self._due_known = True
        return self._due

    def _next_due(self) -> Due | None:
        if self.closed is not None or not self._stays:
            return None
        first = None if self.held else self._step_due()
        retry = self.retry
        if retry is not None:
            at = max(retry.ends_ms, self.now)
            if first is None or at < first.at_ms:
                return Due(at, CLOSING, retry.ends_ms)
        return first

    def _step_due(self) -> Due | None:
        first = self._guards.first(self.now)
        state = self.scenario.states[self._place.state]
        if state.ends and not self.must_return:
            ripe = self._guards.entry + state.linger_ms
            at = max(ripe, self.now)
            if first is None or at < first.at_ms:
                return Due(at, CLOSING, ripe)
        return first

    # --- feeding --------------------------------------------------------------------------------

    def feed(self, event: Event) -> None:
        """Take the next event of the log."""
        self._due_known = False
        self.events.append(event)
        if event.id in self.ids:
            self._find("repeated-id", "An entry with this id is in the log already.", event)
            return
        self.ids.add(event.id)
        noted = event.noted_ms
        if noted < self.noted_ms:
            self._find("noted-falls", f"Noted at {noted} ms, before the entry above it.", event)
            noted = self.noted_ms
        self.noted_ms = noted
        now = self.times.scenario(noted, event.seq)
        at_ms = now if event.at_ms == noted else self._at(event)
        if self.closed is not None and self._is_after_end(event, at_ms):
            return
        kind = event.kind
        if kind == "state":
            self._enter(event, at_ms, now)
            return
        if now > self.now:
            self.now = now
            self._guards.move_on(now)
        if kind in _ACCOUNTED:
            if kind == "opened" and not self._opens(event):
                return
            self._account_for(event, at_ms, now)
        elif kind in _STEERING:
            self._steer(event, at_ms)

    def _opens(self, event: Event) -> bool:
        if self.opened is not None or event.seq != 0:
            self._find("opened-again", "A session is opened once, at its start.", event)
            return False
        self.opened = event
        self.retry = retry_of(event)
        return True

    def _steer(self, event: Event, at_ms: int) -> None:
        """Take an event that changes how the log goes on, and nothing about the infant."""
        match event.kind:
            case "amend":
                self._account_anew()
            case "undone":
                self._undo(event)
            case "pause":
                if not self.times.pause(self.noted_ms, event.seq):
                    self._find("paused-twice", "It was paused already.", event)
            case "resume":
                if not self.times.resume(self.noted_ms, event.seq):
                    self._find("resumed-unpaused", "It was not paused.", event)
            case "skip":
                self._skip(event)
            case "hold":
                self.held = True
            case "release":
                self.held = False
            case "returned":
                self._return(event)
            case _:
                self.closed = event
                self.closed_ms = at_ms
                if self._account.last[0] > at_ms:
                    self._account_anew()

    def _is_after_end(self, event: Event, at_ms: int) -> bool:
        """Whether an event comes after the end: it is kept, with a finding, and does nothing."""
        if self.closed is None or self.closed_ms is None or event.kind in AFTERWARDS:
            return False
        if event.kind in _ACCOUNTED:
            return at_ms > self.closed_ms
        return event.seq > self.closed.seq

    def _at(self, event: Event) -> int:
        """When an event happened, in scenario time."""
        return self.times.scenario(min(event.at_ms, event.noted_ms), event.seq)

    # --- what people did ------------------------------------------------------------------------

    def _account_for(self, event: Event, at_ms: int, noted_ms: int) -> None:
        account = self._account
        if event.at_ms > event.noted_ms:
            self._find(
                "dated-ahead",
                "Its time is later than when it was written down; the latter is taken.",
                event,
            )
        if (at_ms, event.seq) < account.last:
            self._account_anew((at_ms, event.seq))
        else:
            account.apply(event, at_ms, noted_ms)
            if account.touched:
                self._follow(account.touched)
        if event.kind == "event":
            self._await(event)

    def _account_anew(self, late: Instant | None = None) -> None:
        """Make the account again from all that is known now, in order of when it happened.

        ``late``: where an entry has come in late that is all that is new; what was touched before
        it is as it was.
        """
        before = self._account
        account = self._account = Account(self.plan, self._timeline)
        known = corrected(self.events, self.scenario.start.clock, self._undone)
        entries = sorted(
            (self.times.scenario(event.at_ms, event.seq), event.seq, event)
            for event in known.events
            if event.kind in _ACCOUNTED
        )
        for at_ms, seq, event in entries:
            if not self._is_after_end(event, at_ms):
                account.apply(event, at_ms, self.times.scenario(event.noted_ms, seq))
        if late is not None:
            self._follow(dict.fromkeys([*before.touched_since(late), *account.touched_since(late)]))
            return
        self._supplies.follow_all(self.now, account)
        self._curves.follow_all(self.now, account.values, self._timeline)
        if self._stays:
            self._guards.judge_all(self.now)

    def _follow(self, touched: Collection[Name]) -> None:
        """Let curves, supplies and guards follow what was touched."""
        account, now = self._account, self.now
        names = list(touched)
        for name in touched:
            names += [("supply", supply) for supply in self._supplies.follow(name, now, account)]
        turned = self._curves.follow(names, now, account.values, self._timeline)
        names += [("curve", observation) for observation in turned]
        if self._stays:
            self._guards.judge(names, now)

    def _await(self, event: Event) -> None:
        """A named event has come: transitions that wait for it may be due now."""
        name = str(event.data.get("name", ""))
        if not self._stays or not self._guards.awaits(name):
            return
        if self.held:
            words = (
                f"The event {name!r} came while automatic steps were held, so it changed nothing."
            )
            self._find("lost-event", words, event)
        else:
            self._guards.event(name, self.now)

    # --- states ---------------------------------------------------------------------------------

    def _enter(self, event: Event, at_ms: int, noted_ms: int) -> None:
        data = event.data
        state = data.get("state")
        plan = self.plan.states.get(state) if isinstance(state, str) else None
        if plan is None:
            self._find("unknown-state", f"The scenario has no state {state!r}.", event)
            return
        if "scenario_ms" in data:
            at_ms = self._stated(data, at_ms, noted_ms)
        rule, cause = data.get("rule"), data.get("cause")
        if type(rule) is not int:
            rule = None
        self._move(event, plan.state.name, rule, cause)
        if self._stays:
            before = self._stays[-1]
            entry = before[1]
            if at_ms < entry:
                at_ms = entry
            before[2] = at_ms
            self._intervals[-1] = (entry, at_ms)
            if self._guards.leave(rule if cause == "rule" else None, at_ms):
                self._find_hurried(event, before[0])
        self._stays.append([plan.state.name, at_ms, NEVER, cause, rule, event])
        self._intervals.append((at_ms, NEVER))
        if at_ms > self.now:
            self.now = at_ms
        self._before.append(self._curves.shown(self.now))
        self._curves.enter(plan, self.now, self._account.values, self._timeline)
        self._guards.enter(plan, at_ms)

    def instant_of(self, event: Event) -> int:
        """Return the scenario time of an automatic step, noted after all that was fed."""
        now = self.times.scenario(event.noted_ms, event.seq)
        return self._stated(event.data, self._at(event), now)

    def _stated(self, data: Mapping[str, Any], at_ms: int, noted_ms: int) -> int:
        """The instant that a step itself states: within a skip the log's time can't tell."""
        stated = data.get("scenario_ms")
        return min(stated, max(self.now, noted_ms)) if type(stated) is int else at_ms

    def _move(self, event: Event, state: str, rule: int | None, cause: object) -> None:
        machine, place = self.plan.machine, self._place
        if not self._stays:
            if cause != "start":
                self._find("no-start", "The session did not begin with its start state.", event)
            machine.go_to(place, state)
        elif rule is not None and machine.leads_to(place.state, rule) == state:
            machine.fire(place, rule)
        else:
            if cause != "facilitator":
                words = f"No automatic step leads from {place.state!r} to {state!r} like this."
                self._find("no-such-step", words, event)
            machine.go_to(place, state)

    def _find_hurried(self, event: Event, left: str) -> None:
        title = self.scenario.states[left].title
        words = (
            f"The state {title!r} was left the moment it was entered, since a way out of it held "
            f"already. That is an error in the scenario."
        )
        self._find("left-at-once", words, event)

    # --- taking back ----------------------------------------------------------------------------

    def undoable(self, target: Event | None, noted_ms: int) -> bool:
        """Whether ``target`` can be undone now."""
        if target is None or target.id in self._undone or not can_be_undone(target, noted_ms):
            return False
        match target.kind:
            case "hold":
                return self.held
            case "pause":
                return self.times.turns[-1][1] == target.seq
            case "state":
                return any(row[5] is target for row in self._stays[1:])
            case _:
                return True

    def _undo(self, event: Event) -> None:
        target = target_of_undone(self.events, event)
        if target is None or not self.undoable(target, self.noted_ms):
            words = "Only what was done by hand in the last minute can be undone, and this was not."
            self._find("undone-of-nothing", words, event)
            return
        self._undone.update((target.id, event.id))
        match target.kind:
            case "hold":
                self.held = False
            case "pause":
                self.times.forget_pause()
                self.now = max(self.now, self.times.scenario(self.noted_ms, event.seq))
            case "state":
                self._take_back(next(n for n, row in enumerate(self._stays) if row[5] is target))
            case _:
                led_to = self._led_to(target)
                if led_to is not None:
                    self._take_back(led_to)
        self._account_anew()
        if self._stays:
            plan = self.plan.states[self._stays[-1][0]]
            self._guards.enter(plan, self._stays[-1][1])

    def _led_to(self, target: Event) -> int | None:
        """The number of the stay that a named event led to, if it led to one."""
        for number, row in enumerate(self._stays):
            if row[5].seq <= target.seq or not number:
                continue
            rule, left = row[4], self.scenario.states.get(self._stays[number - 1][0])
            if left is None or rule is None or row[3] != "rule" or not 0 <= rule < len(left.next):
                return None
            return number if left.next[rule].on == target.data.get("name") else None
        return None

    def _take_back(self, first: int) -> None:
        """Take back a stay and what followed from it by itself; the stay before it goes on."""
        rows = self._stays
        last = first + 1
        while last < len(rows) and rows[last][3] == "rule":
            last += 1
        gone, then = rows[first:last], rows[last:]
        self._undone.update(row[5].id for row in gone)
        if not then:
            gone[-1][2] = self.now
            values = self._account.values
            self._curves.go_back(self._before[first], self.now, values, self._timeline)
            self.plan.machine.go_to(self._place, rows[first - 1][0])
        self._taken_back += gone
        del rows[first:last], self._before[first:last], self._intervals[first:last]
        exit_ms = then[0][1] if then else NEVER
        rows[first - 1][2] = exit_ms
        self._intervals[first - 1] = (rows[first - 1][1], exit_ms)

    # --- the rest -------------------------------------------------------------------------------

    def _skip(self, event: Event) -> None:
        ms = event.data.get("ms")
        if type(ms) is int and ms >= 0:
            self.times.skip(self.noted_ms, event.seq, ms)
        else:
            self._find(
                "unreadable-skip", f"A skip takes whole milliseconds from 0 on, not {ms!r}.", event
            )

    def _return(self, event: Event) -> None:
        missing = what_is_missing(self.scenario, event.data)
        if missing:
            words = f"The cot is not back in service yet: {'; '.join(missing)}."
            self._find("not-returned", words, event)
        else:
            self.returned = True

    def _find(self, code: str, words: str, event: Event) -> None:
        self._findings.append(Finding(code, words, (event.id,), self.now))

    # --- the result -----------------------------------------------------------------------------

    def session(self) -> Session:
        """Return what is known now as plain data."""
        known = corrected(self.events, self.scenario.start.clock, self._undone)
        end = self._end(known.events)
        stays = [_stay(row) for row in self._stays]
        if stays:
            stays[-1] = _stay(self._stays[-1], exit_ms=max(end, stays[-1].entry_ms))
        opened = self.opened
        missing: list[Finding] = []
        if opened is None:
            missing.append(Finding("not-opened", "The log does not begin with 'opened'.", ()))
        if not stays:
            missing.append(Finding("no-state", "No state was ever entered.", ()))
        return Session(
            scenario=self.scenario,
            session_id=str(opened.data.get("session", "")) if opened is not None else "",
            purpose=self.purpose,
            events=tuple(self.events),
            effective=known.events,
            record=self._account.record(),
            stays=tuple(stays),
            curves={name: self._whole(curve) for name, curve in self._curves.segments.items()},
            words={name: self._told(words) for name, words in self._curves.words.items()},
            supplies={name: tuple(levels) for name, levels in self._supplies.levels.items()},
            end_ms=end,
            closed=self._why(),
            findings=(
                *missing,
                *self._findings,
                *self._account.findings,
                *known.findings,
                *self._after_end(known.events),
                *self._signed_in_vain(),
            ),
            paused_ms=self.times.paused_ms,
            last_hash=self.events[-1].hash if self.events else "",
            times=Times(list(self.times.turns), self.times.paused_ms),
            undone=tuple(_stay(row) for row in self._taken_back),
        )

    def _whole(self, curve: Sequence[Segment]) -> tuple[Segment, ...]:
        """Return a curve with what is solved ahead while the session goes on."""
        return tuple(curve) if self.closed_ms is None else until(curve, self.closed_ms)

    def _told(self, words: Sequence[tuple[int, str]]) -> tuple[tuple[int, str], ...]:
        """Return words with those that are to come while the session goes on."""
        end = self.closed_ms
        if end is None:
            return tuple(words)
        return tuple(word for n, word in enumerate(words) if not n or word[0] <= end)

    def _why(self) -> Why | None:
        why = self.closed.data.get("why") if self.closed is not None else None
        return cast(Why, why) if why in get_args(Why) else None

    def _end(self, events: Sequence[Event]) -> int:
        if self.closed_ms is not None:
            return self.closed_ms
        last = self._guards.entry
        for event in events:
            if event.kind not in _SAID_LATER:
                last = max(last, self.times.scenario(event.at_ms, event.seq))
        return last

    def _after_end(self, events: Sequence[Event]) -> list[Finding]:
        closed = self.closed
        if closed is None:
            return []
        later = [event for event in events if event.seq > closed.seq or event.at_ms > closed.at_ms]
        return [
            Finding(
                "after-the-end",
                f"A {event.kind!r} entry after the end of the session counts for nothing.",
                (event.id,),
                at_ms,
            )
            for event in later
            for at_ms in (self.times.scenario(event.at_ms, event.seq),)
            if self._is_after_end(event, at_ms)
        ]

    def _signed_in_vain(self) -> list[Finding]:
        """Tell of signatures where there is no outcome to sign, as a log from elsewhere has."""
        standard = self.scenario.scoring.is_set
        why = why_not_signed(self.purpose, self._why(), standard=standard)
        if not why:
            return []
        return [
            Finding("signed-in-vain", f"A signature counts for nothing: {why}", (event.id,))
            for event in self.events
            if event.kind == "signed"
        ]


def what_is_missing(scenario: Scenario, data: Mapping[str, Any]) -> list[str]:
    """Return, in words, what a ``returned`` entry lacks for the cot to be in service again."""
    missing = []
    faults = data.get("faults")
    for name, fault in scenario.start.faults.items():
        if not isinstance(faults, Mapping) or faults.get(name) is not True:
            missing.append(f"put right: {fault.shows}")
    missing += [f"{what} counted" for what in ("cylinders", "drugs") if not data.get(what)]
    initials = data.get("initials")
    if (
        not isinstance(initials, list | tuple)
        or len([initial for initial in initials if initial]) < 2
    ):
        missing.append("the initials of two people")
    return missing


def _stay(row: _Row, exit_ms: int | None = None) -> Stay:
    state, entry, leaving, cause, rule, event = row
    exit_ = leaving if exit_ms is None else exit_ms
    return Stay(state, entry, exit_, str(cause), rule, event.seq, event.id)


def fold(scenario: Scenario, events: Sequence[Event]) -> Session:
    """Fold a whole log. Never raises on a log that passes the schema, however odd its order."""
    folded = Fold(scenario)
    for event in events:
        folded.feed(event)
    return folded.session()
