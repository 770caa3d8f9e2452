"""The same session once more by the same engine, with some entries otherwise.

Rules of this file:

- An entry is given another time or other data, is left out, or is added.

- All else is as it was, at its scenario time: people's entries and the facilitator's, as they were
  noted. Pauses are out, since scenario time has none.
- What answers a state (an act that its ways out or its items name) keeps its distance from the
  entry of that state; what answers a state that does not come about is not done.
- Where the other course comes to a state that the session did not come to, it can't be followed:
  there is none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from typing import Any

from simengine.scenario.conditions import Doing, Done, FaultIs, Given, SettingIs, leaves
from simengine.scenario.key import Anchor, AskedAction, AskedFault, AskedSetting, Windowed
from simengine.scenario.model import Scenario
from simengine.session.account import PROGRAM
from simengine.session.events import Event, Kind
from simengine.session.live import LiveSession, RefusedError
from simengine.session.record import Session, Stay

_OUT = frozenset(("opened", "pause", "resume", "skip"))
_ACTS = frozenset(("action", "set", "fault"))
_LONGER_MS = 600_000
"""How much longer than the session its other course may take."""


@dataclass(frozen=True, slots=True)
class Changed:
    """One entry, by id, with another scenario time (ms) or other data.

    ``left_out``: it never was. ``added``: it is new, of this kind, at ``at_ms`` and with ``data``.
    """

    event_id: str
    at_ms: int | None = None
    data: Mapping[str, Any] | None = None
    left_out: bool = False
    added: Kind | None = None


@dataclass(frozen=True, slots=True)
class _Entry:
    event: Event
    at_ms: int
    noted_ms: int
    data: Mapping[str, Any]


def run_again(session: Session, *changed: Changed) -> Session | None:
    """Return the session with some entries changed; ``None`` where it can't be followed."""
    if not session.events or session.events[0].kind != "opened" or not session.stays:
        return None
    return _Again(session, changed).run()


def is_same_course(one: Session, other: Session) -> bool:
    """Whether two sessions showed the same to the last digit."""
    steps = [
        [(stay.state, stay.entry_ms, stay.rule) for stay in each.stays] for each in (one, other)
    ]
    return (
        steps[0] == steps[1]
        and one.end_ms == other.end_ms
        and one.curves == other.curves
        and one.words == other.words
        and one.supplies == other.supplies
    )


class _Again:
    def __init__(self, session: Session, changed: Sequence[Changed]) -> None:
        self.session = session
        self.live = LiveSession(session.scenario, chained=False)
        self.changed = {change.event_id: change for change in changed}
        self.agenda: list[tuple[int, int, _Entry]] = []
        self.waiting: dict[int, list[tuple[int, _Entry]]] = {}
        self._plan()
        heapify(self.agenda)
        self.place = 0

    def _plan(self) -> None:
        """Lay each entry out at its time, or at its distance from the state that it answers."""
        session, times = self.session, self.session.times
        names = {name: _answers(session.scenario, name) for name in session.scenario.states}
        corrected = {event.id: event for event in session.effective}
        closed = next((event.seq for event in session.events if event.kind == "closed"), None)
        for event in session.events:
            by_program = event.by == PROGRAM and event.kind in ("state", "closed")
            later = closed is not None and event.seq > closed and event.kind != "amend"
            about = event.kind == "amend" and event.data.get("id") in self.changed
            change = self.changed.get(event.id)
            left_out = change is not None and change.left_out
            if event.kind in _OUT or by_program or later or about or left_out:
                continue
            at_ms = times.scenario(event.at_ms, event.seq)
            noted_ms, data = times.scenario(event.noted_ms, event.seq), event.data
            if change is not None:
                known = corrected.get(event.id, event)
                at_ms = times.scenario(known.at_ms, known.seq)
                at_ms = change.at_ms if change.at_ms is not None else at_ms
                noted_ms, data = at_ms, change.data or known.data
            entry = _Entry(event, at_ms, noted_ms, data)
            stay = self._answered(event, at_ms, names) if change is None else None
            if stay is None:
                self.agenda.append((noted_ms, event.seq, entry))
            else:
                self.waiting.setdefault(stay, []).append((event.seq, entry))
        self._add()

    def _add(self) -> None:
        """Lay out what is added, after what people noted at that instant."""
        by, seq = self.session.events[0].by, len(self.session.events)
        for number, change in enumerate(self.changed.values(), seq):
            if change.added is None or change.at_ms is None:
                continue
            at_ms, data = change.at_ms, change.data or {}
            event = Event(number, change.event_id, at_ms, at_ms, "", change.added, by, data)
            self.agenda.append((at_ms, number, _Entry(event, at_ms, at_ms, data)))

    def _answered(
        self, event: Event, at_ms: int, names: Mapping[str, frozenset[str]]
    ) -> int | None:
        """Return the number of the stay that an act answers; ``None`` where it answers none."""
        if event.kind not in _ACTS:
            return None
        about = event.data.get("action") or event.data.get("setting") or event.data.get("fault")
        for number, stay in enumerate(self.session.stays):
            if number and stay.entry_ms <= at_ms < stay.exit_ms:
                return number if about in names[stay.state] else None
        return None

    def run(self) -> Session | None:
        opened = self.session.events[0]
        live = self.live
        # Under a name of its own: ids of what comes by itself follow from it, and are not to meet
        # those of entries that were numbered by the first.
        data = {**opened.data, "session": f"{self.session.session_id}, once more"}
        live.record("opened", data, noted_ms=0, by=opened.by, id=opened.id, wall=opened.wall)
        limit = self.session.end_ms + _LONGER_MS
        while not live.closed:
            due = live.fold.next_due()
            first = self.agenda[0][0] if self.agenda else None
            if due is not None and (first is None or due.at_ms < first):
                if due.at_ms > limit:
                    return None
                if self.session.closed is None and due.at_ms > self.session.end_ms:
                    break
                live.run(due.at_ms)
            elif first is not None:
                try:
                    self._record(heappop(self.agenda)[2])
                except RefusedError:
                    return None
            else:
                break
            if not self._follow():
                return None
        for _, _, entry in sorted(self.agenda, key=lambda planned: planned[:2]):
            if entry.event.kind == "amend":
                try:
                    self._record(entry)
                except RefusedError:
                    return None
        return live.session()

    def _record(self, entry: _Entry) -> None:
        event = entry.event
        self.live.record(
            event.kind,
            entry.data,
            at_ms=entry.at_ms,
            noted_ms=entry.noted_ms,
            by=event.by,
            id=event.id,
        )

    def _follow(self) -> bool:
        """Go on with the stay that has begun; whether the session came to it too."""
        stay = self.live.fold.stay
        if stay is None or stay.event_id == self._last:
            return True
        self._last = stay.event_id
        place = self._next_place(stay)
        if place is None:
            return False
        self.place = place
        begun = self.session.stays[place].entry_ms
        for seq, entry in self.waiting.pop(place, ()):
            shift = stay.entry_ms - begun
            noted = entry.noted_ms + shift
            heappush(
                self.agenda,
                (noted, seq, _Entry(entry.event, entry.at_ms + shift, noted, entry.data)),
            )
        return True

    _last: str | None = None

    def _next_place(self, stay: Stay) -> int | None:
        stays = self.session.stays
        for place in range(self.place, len(stays)):
            if stays[place].state == stay.state and (place > self.place or place == 0):
                return place
        return None


def _answers(scenario: Scenario, state: str) -> frozenset[str]:
    """Return the actions, settings and faults that a state's ways out and its items name."""
    names: set[str] = set()
    for way in scenario.states[state].next:
        for leaf in leaves(way.when) if way.when is not None else ():
            match leaf:
                case Doing(name) | Done(name) | Given(name) | SettingIs(name) | FaultIs(name):
                    names.add(name)
    for item in scenario.key:
        if isinstance(item, Windowed) and (
            item.anchor == Anchor("state", state) or state in item.during
        ):
            match item.asked:
                case AskedAction():
                    names.update(item.asked.actions)
                case AskedSetting():
                    names.add(item.asked.setting)
                case AskedFault():
                    names.add(item.asked.fault)
    return frozenset(names)
