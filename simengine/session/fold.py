"""The fold of a log into states, curves and the account of what people did.

Rules of this file:

- One fold serves a live session, a replay and full speed: events go in one by one, in order of
  ``seq``. What a state event says is a fact and is never judged here; ``next_due`` tells which
  comes next by itself, and whoever runs the session writes that down as the next event.
- Any log folds without an exception. What makes no sense is a finding.
- Between events nothing is computed. A guard is judged again when a name that it reads is
  touched, from the entry of the state on, over the account as it is known now.
- What people recorded acts on states, curves and supplies from ``noted``; the account (and so
  guards, from then on) has it at ``at``. What was due before it was known is due now.
- Of what is due at one instant the first listed is taken. A hold keeps all back; at the release
  what has come due is due then.
- A guard that holds at the very entry of its state leaves 1 ms after it, with a finding, since a
  state can't be left at the instant at which it is entered. Where that would lead in a circle it
  is not taken at all.
- An entry dated after it was noted happened when it was noted.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, NamedTuple, cast

from simengine.scenario.model import Course, Scenario, Transition
from simengine.scenario.vocabulary import Drain
from simengine.session.account import Account
from simengine.session.corrections import corrected
from simengine.session.dynamics import bent, entered, level_at, target_of, value_at
from simengine.session.events import Event
from simengine.session.machine import Place
from simengine.session.plan import Name, StatePlan, plan_of
from simengine.session.record import NEVER, Finding, Interval, Level, Segment, Session, Stay
from simengine.session.times import Times
from simengine.session.truth import Timeline, truth

CLOSING = -1
"""In the place of a transition's index: the session closes as finished."""

# What may come after the end: what people say of the record and the outcome.
_AFTERWARDS = frozenset(
    (
        "amend",
        "note",
        "unobserved",
        "unavailable",
        "returned",
        "confirmed",
        "signed",
        "appealed",
        "superseded",
    )
)
_STEERING = frozenset(("amend", "pause", "resume", "skip", "hold", "release", "returned", "closed"))
_ACCOUNTED = frozenset(
    (
        "opened",
        "action",
        "set",
        "event",
        "fault",
        "cue",
        "reveal",
        "unobserved",
        "unavailable",
        "joined",
        "left",
        "role",
        "confirmed",
    )
)
# What may be added to a session that was never closed without making it longer; a state's own
# instant is its entry.
_SAID_LATER = frozenset(("state", "unobserved", "confirmed", "signed", "appealed", "superseded"))
_PER_MINUTE = 60_000


class Due(NamedTuple):
    """What comes next by itself: at ``at_ms`` (scenario time), and when it had come due.

    ``rule`` is the transition's index, or ``CLOSING``. ``ripe_ms`` is earlier than ``at_ms``
    where it came due before it was known, or during a hold.
    """

    at_ms: int
    rule: int
    ripe_ms: int


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
        self._filled: dict[str, int] = {}
        self._opened: Event | None = None
        self._place = Place(scenario.start.state)
        self._state: StatePlan = self.plan.states[scenario.start.state]
        self._stays: list[Stay] = []
        self._intervals: list[Interval] = []
        self._curves: dict[str, list[Segment]] = {}
        self._courses: dict[str, Course] = {}
        self._adjusted: dict[Name, list[str]] = {}
        self._words: dict[str, list[tuple[int, str]]] = {}
        self._levels: dict[str, list[Level]] = {}
        self._timeline = Timeline(
            doing={},
            done={},
            settings={},
            faults={},
            stays=self._intervals,
            curves=self._curves,
            words=self._words,
            supplies=self._levels,
            seen={},
        )
        self._account = Account(self.plan, self._timeline)
        self._findings: list[Finding] = []
        self._awaiting: list[str] = []
        self._ripe: list[int | None] = []
        self._at_once: set[str] = set()
        self._due: Due | None = None
        self._due_known = False
        for name, contents in scenario.start.supplies.items():
            if name in scenario.vocabulary.supplies:
                rate = self._rate(name)
                self._levels[name] = [Level(0, contents, rate)]

    # --- reading --------------------------------------------------------------------------------

    @property
    def state(self) -> str:
        """The state that the infant is in."""
        return self._place.state

    @property
    def opened(self) -> Event | None:
        """The event that opened the session, once it has come."""
        return self._opened

    @property
    def stay(self) -> Stay | None:
        """The present stay; ``None`` before the first state is entered."""
        return self._stays[-1] if self._stays else None

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
    def purpose(self) -> Literal["formative", "summative", "rehearsal"]:
        """What the session is for; formative unless the log says otherwise."""
        said = self._opened.data.get("purpose") if self._opened is not None else None
        if said == "summative":
            return "summative"
        return "rehearsal" if said == "rehearsal" else "formative"

    def next_due(self) -> Due | None:
        """Return what comes next by itself; ``None`` while nothing does."""
        if not self._due_known:
            self._due = self._next_due()
            self._due_known = True
        return self._due

    def _next_due(self) -> Due | None:
        if self.closed is not None or self.held or not self._stays:
            return None
        entry = self._stays[-1].entry_ms
        now = self.now
        earliest = now if now > entry else entry + 1
        first: Due | None = None
        for rule, ripe in enumerate(self._ripe):
            if ripe is None:
                continue
            at = ripe if ripe > earliest else earliest
            if first is not None and at >= first.at_ms:
                continue
            if ripe > entry or not self._circular(rule):
                first = Due(at, rule, ripe)
        state = self._state.state
        if state.ends and not self.must_return:
            ripe = entry + state.linger_ms
            at = max(ripe, now)
            if first is None or at < first.at_ms:
                return Due(at, CLOSING, ripe)
        return first

    def _circular(self, rule: int) -> bool:
        return (
            self.plan.machine.leads_to(self.state, rule) in self._at_once | {self.state}
            and self._state.state.next[rule].on is None
        )

    # --- feeding --------------------------------------------------------------------------------

    def feed(self, event: Event) -> None:
        """Take the next event of the log."""
        self._due_known = False
        self.events.append(event)
        if event.id in self.ids:
            self._find("repeated-id", "An entry with this id stands in the log already.", event)
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
            self._entered(event)
            return
        if now > self.now:
            self.now = now
            if self._awaiting:
                self._awaiting.clear()
                self._judge_events()
        if kind in _ACCOUNTED:
            if kind == "opened" and not self._opens(event):
                return
            self._account_for(event, at_ms, now)
        elif kind in _STEERING:
            self._steer(event, at_ms)

    def _opens(self, event: Event) -> bool:
        if self._opened is not None or event.seq != 0:
            self._find("opened-again", "A session is opened once, at its start.", event)
            return False
        self._opened = event
        return True

    def _steer(self, event: Event, at_ms: int) -> None:
        """Take an event that changes how the log goes on, and nothing about the infant."""
        match event.kind:
            case "amend":
                self._account_anew()
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
                self._returned(event)
            case _:
                self.closed = event
                self.closed_ms = at_ms
                if self._account.last[0] > at_ms:
                    self._account_anew()

    def _is_after_end(self, event: Event, at_ms: int) -> bool:
        """Whether an event comes after the end: it is kept, with a finding, and does nothing."""
        if self.closed is None or self.closed_ms is None or event.kind in _AFTERWARDS:
            return False
        if event.kind in _ACCOUNTED:
            return at_ms > self.closed_ms
        return event.seq > self.closed.seq

    def _at(self, event: Event) -> int:
        """When an event happened, in scenario time."""
        return self.times.scenario(max(0, min(event.at_ms, event.noted_ms)), event.seq)

    def _account_for(self, event: Event, at_ms: int, noted_ms: int) -> None:
        account = self._account
        if event.at_ms > event.noted_ms:
            self._find("dated-ahead", "Dated after it was noted: taken as of then.", event)
        if (at_ms, event.seq) < account.last:
            self._account_anew()
        else:
            account.apply(event, at_ms, noted_ms)
            self._follow(account.touched)
        if event.kind == "event":
            self._await(event)

    def _account_anew(self) -> None:
        """Make the account again from all that is known now, in order of when it happened."""
        account = self._account = Account(self.plan, self._timeline)
        now_known = corrected(self.events, self.scenario.start.clock)
        entries = sorted(
            (self.times.scenario(event.at_ms, event.seq), event.seq, event)
            for event in now_known.events
            if event.kind in _ACCOUNTED
        )
        for at_ms, seq, event in entries:
            if not self._is_after_end(event, at_ms):
                account.apply(event, at_ms, self.times.scenario(event.noted_ms, seq))
        self._follow(None)

    def _follow(self, touched: Sequence[Name] | None) -> None:
        """Let curves, supplies and guards follow what was touched (``None``: anything may be)."""
        if touched is None:
            for observation, course in self._courses.items():
                self._bend(observation, course)
            for supply in self._levels:
                self._draw(supply)
            self._judge(range(len(self._ripe)))
        else:
            self._follow_names(touched)
        if self._awaiting:
            self._judge_events()

    def _follow_names(self, touched: Sequence[Name]) -> None:
        watchers = self._state.watchers
        judge: set[int] = set()
        for name in touched:
            judge.update(watchers.get(name, ()))
            for supply in self.plan.drawn_by.get(name, ()):
                if self._draw(supply):
                    judge.update(watchers.get(("supply", supply), ()))
            for observation in self._adjusted.get(name, ()):
                if self._bend(observation, self._courses[observation]):
                    judge.update(watchers.get(("curve", observation), ()))
        if judge:
            self._judge(sorted(judge))

    def _bend(self, observation: str, course: Course) -> bool:
        """Turn a curve to the target that the settings now give; false if that is the old one."""
        curve = self._curves[observation]
        target = target_of(course, self._account.values)
        if not course.adjust or target == curve[-1].target:
            return False
        self._put(curve, bent(curve[-1], self.now, target))
        return True

    @staticmethod
    def _put(curve: list[Segment], segment: Segment) -> None:
        if curve and curve[-1].start_ms >= segment.start_ms:
            curve[-1] = segment
        else:
            curve.append(segment)

    # --- supplies -------------------------------------------------------------------------------

    def _draw(self, supply: str) -> bool:
        """Follow a supply's rate, and fill it up when that was done; false if nothing changed."""
        levels = self._levels[supply]
        rate = self._rate(supply)
        last = levels[-1]
        refills = self._account.refilled.get(supply, 0)
        filled = refills > self._filled.get(supply, 0)
        self._filled[supply] = refills
        if rate == last.rate_per_ms and not filled:
            return False
        stock = self.scenario.vocabulary.supplies[supply]
        contents = stock.capacity if filled else level_at(last, self.now)
        level = Level(self.now, contents, rate)
        if last.start_ms >= self.now:
            levels[-1] = level
        else:
            levels.append(level)
        return True

    def _rate(self, supply: str) -> float:
        rate = 0.0
        for drain in self.scenario.vocabulary.supplies[supply].drains:
            rate += self._drained(drain)
        return rate / _PER_MINUTE

    def _drained(self, drain: Drain) -> float:
        if drain.doing is not None and drain.doing not in self._account.running:
            return 0.0
        if drain.flow is None:
            return drain.rate or 0.0
        flow = self._account.values.get(drain.flow)
        if flow is None or isinstance(flow, str) or flow <= 0.0:
            return 0.0
        if drain.part == "all":
            return flow
        mixed = self._account.values.get(drain.blend) if drain.blend is not None else None
        if drain.blend is None or mixed is None or isinstance(mixed, str):
            return 0.0
        oxygen = (mixed * self.plan.fraction_of[drain.blend] - drain.air) / (1.0 - drain.air)
        share = min(1.0, max(0.0, oxygen))
        return flow * (share if drain.part == "oxygen" else 1.0 - share)

    # --- states ---------------------------------------------------------------------------------

    def _entered(self, event: Event) -> None:
        data = event.data
        state = data.get("state")
        if not isinstance(state, str) or state not in self.plan.states:
            self._find("unknown-state", f"The scenario has no state {state!r}.", event)
            return
        rule = data.get("rule")
        rule = rule if isinstance(rule, int) and not isinstance(rule, bool) else None
        cause = data.get("cause")
        before = self.stay
        at_ms = self.instant_of(event)
        if before is not None:
            at_ms = max(at_ms, before.entry_ms)
        left = self.state
        ripe = self._ripe[rule] if rule is not None and 0 <= rule < len(self._ripe) else None
        self._move(event, state, rule, cause, before)
        if before is not None:
            self._stays[-1] = _left(before, at_ms)
            self._intervals[-1] = (before.entry_ms, at_ms)
            if cause == "rule" and ripe is not None and ripe <= before.entry_ms:
                self._note_at_once(event, left, before, at_ms)
            elif at_ms > before.entry_ms + 1:
                self._at_once.clear()
        self._stays.append(Stay(state, at_ms, NEVER, str(cause), rule, event.seq, event.id))
        self._intervals.append((at_ms, NEVER))
        self.now = max(self.now, at_ms)
        self._state = self.plan.states[state]
        self._awaiting.clear()
        self._show()
        self._ripe = [None] * len(self._state.state.next)
        self._judge(range(len(self._ripe)))

    def instant_of(self, event: Event) -> int:
        """Return the scenario time of an automatic step; within a skip the log's can't tell."""
        stated = event.data.get("scenario_ms")
        if isinstance(stated, int) and not isinstance(stated, bool) and stated >= 0:
            return min(stated, max(self.now, self.times.scenario(self.noted_ms, event.seq)))
        return self._at(event)

    def _move(
        self, event: Event, state: str, rule: int | None, cause: object, before: Stay | None
    ) -> None:
        machine = self.plan.machine
        if before is None:
            if cause != "start":
                self._find("no-start", "The session did not begin with its start state.", event)
            machine.go_to(self._place, state)
        elif rule is not None and machine.leads_to(self.state, rule) == state:
            machine.fire(self._place, rule)
        else:
            if cause != "facilitator":
                words = f"No automatic step leads from {self.state!r} to {state!r} like this."
                self._find("no-such-step", words, event)
            machine.go_to(self._place, state)

    def _note_at_once(self, event: Event, left: str, before: Stay, at_ms: int) -> None:
        if at_ms > before.entry_ms + 1 or self._state.state.next[event.data["rule"]].on is not None:
            self._at_once.clear()
            return
        self._at_once.add(left)
        title = self.scenario.states[left].title
        words = (
            f"The state {title!r} was left as soon as it was entered: what leads out of it held "
            f"already. That is an error of the scenario."
        )
        self._find("left-at-once", words, event)

    def _show(self) -> None:
        """Begin what the state shows; what it does not mention goes on as it was."""
        for observation, shown in self._state.state.shows.items():
            if isinstance(shown, str):
                words = self._words.setdefault(observation, [])
                if words and words[-1][0] >= self.now:
                    words[-1] = (self.now, shown)
                elif not words or words[-1][1] != shown:
                    words.append((self.now, shown))
                continue
            curve = self._curves.setdefault(observation, [])
            before = value_at(curve[-1], self.now) if curve else None
            self._courses[observation] = shown
            self._put(curve, entered(shown, self.now, before, self._account.values))
        self._adjusted = {}
        for observation, course in self._courses.items():
            for adjust in course.adjust:
                self._adjusted.setdefault(("setting", adjust.setting), []).append(observation)

    # --- guards ---------------------------------------------------------------------------------

    def _judge(self, rules: Sequence[int]) -> None:
        """Solve again when these transitions come due."""
        if not self._stays:
            return
        transitions = self._state.state.next
        entry = self._stays[-1].entry_ms
        for rule in rules:
            transition = transitions[rule]
            if transition.on is None:
                self._ripe[rule] = self._solved(transition, entry)

    def _solved(self, transition: Transition, entry: int) -> int | None:
        earliest = entry + (transition.after_ms or 0)
        if transition.when is None:
            return earliest
        for start, end in truth(transition.when, self._timeline, entry, NEVER):
            due = max(start + transition.lasting_ms, earliest)
            if due < end:
                return due
        return None

    def _await(self, event: Event) -> None:
        """A named event has come: transitions that wait for it may be due now."""
        name = str(event.data.get("name", ""))
        if not self._stays or name not in self._state.awaited:
            return
        if self.held:
            words = f"The event {name!r} came while automatic steps were held: it led nowhere."
            self._find("lost-event", words, event)
            return
        self._awaiting.append(name)
        self._judge_events()

    def _judge_events(self) -> None:
        if not self._state.awaited:
            return
        entry = self._stays[-1].entry_ms
        for name, transitions in self._state.awaited.items():
            for transition in transitions:
                holds = name in self._awaiting and self._holds_now(transition, entry)
                self._ripe[transition.index] = self.now if holds else None

    def _holds_now(self, transition: Transition, entry: int) -> bool:
        if self.now < entry + (transition.after_ms or 0):
            return False
        if transition.when is None:
            return True
        return any(
            start + transition.lasting_ms <= self.now < end
            for start, end in truth(transition.when, self._timeline, entry, NEVER)
        )

    # --- the rest -------------------------------------------------------------------------------

    def _skip(self, event: Event) -> None:
        ms = event.data.get("ms")
        if isinstance(ms, int) and not isinstance(ms, bool) and ms >= 0:
            self.times.skip(self.noted_ms, event.seq, ms)
        else:
            self._find("unreadable-skip", f"A skip of {ms!r} ms.", event)

    def _returned(self, event: Event) -> None:
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
        clock = self.scenario.start.clock
        known = corrected(self.events, clock)
        end = self._end(known.events)
        stays = list(self._stays)
        if stays:
            stays[-1] = _left(stays[-1], max(end, stays[-1].entry_ms))
        opened = self._opened
        closed = self.closed.data.get("why") if self.closed is not None else None
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
            curves={name: tuple(curve) for name, curve in self._curves.items()},
            words={name: tuple(words) for name, words in self._words.items()},
            supplies={name: tuple(levels) for name, levels in self._levels.items()},
            end_ms=end,
            closed=cast(Any, closed)
            if closed in ("finished", "stopped early", "safety stop")
            else None,
            findings=(
                *missing,
                *self._findings,
                *self._account.findings,
                *known.findings,
                *self._after_end(known.events),
            ),
            paused_ms=self.times.paused_ms,
            last_hash=self.events[-1].hash if self.events else "",
            times=Times(list(self.times.turns), self.times.paused_ms),
        )

    def _end(self, events: Sequence[Event]) -> int:
        if self.closed_ms is not None:
            return self.closed_ms
        last = self._stays[-1].entry_ms if self._stays else 0
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


def what_is_missing(scenario: Scenario, data: Any) -> list[str]:
    """Return, in words, what a ``returned`` entry lacks for the cot to be in service again."""
    missing = []
    faults = data.get("faults")
    for name, fault in scenario.start.faults.items():
        if not isinstance(faults, dict) or faults.get(name) is not True:
            missing.append(f"put right: {fault.shows}")
    missing += [f"{what} counted" for what in ("cylinders", "drugs") if not data.get(what)]
    initials = data.get("initials")
    if not isinstance(initials, list | tuple) or len([one for one in initials if one]) < 2:
        missing.append("the initials of two people")
    return missing


def _left(stay: Stay, at_ms: int) -> Stay:
    return Stay(stay.state, stay.entry_ms, at_ms, stay.cause, stay.rule, stay.seq, stay.event_id)


def fold(scenario: Scenario, events: Sequence[Event]) -> Session:
    """Fold a whole log. Never raises on a log that passes the schema, however odd its order."""
    folded = Fold(scenario)
    for event in events:
        folded.feed(event)
    return folded.session()
