"""A session under way: people's entries go in, events come out.

Rules of this file:

- Decide, then fold: what is to be written down is decided here, and the fold alone changes state.
- Time is given, never asked for. Whoever runs the session calls ``advance`` when ``next_due`` has
  come, and after each entry; at full speed ``play`` does it.
- At one ms people's entries come first. So an entry noted at t takes in before it only what came
  due before t; what is due at t itself waits for ``advance(t)``.
- What can't be recorded is refused with words, and nothing is changed. An entry whose id stands in
  the log already is taken as recorded, so that sending it again is harmless.
- Nothing here is random: ids of the program's own events follow from the session's id.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from hashlib import sha256
from typing import Any

from simengine.scenario.model import Scenario
from simengine.session.account import PROGRAM
from simengine.session.chain import FIRST, linked
from simengine.session.corrections import can_be_corrected
from simengine.session.events import Event, Kind
from simengine.session.fold import AFTERWARDS, Fold, what_is_missing
from simengine.session.guards import CLOSING, Due
from simengine.session.record import Session
from simengine.session.signatures import why_not_signed

LATE_MS = 1_000
"""An automatic step written down this much after its instant is marked late."""

_EPOCH = date(1970, 1, 1)
_LAST_DAY = (date.max - _EPOCH).days
_MIDNIGHT = datetime(1970, 1, 1, tzinfo=UTC)
OF_THE_OUTCOME = frozenset(("signed", "appealed", "superseded"))
"""What people say of an outcome."""

_OF_THE_END = frozenset(("confirmed", *OF_THE_OUTCOME, "put_away"))
_CHECKED = frozenset(("opened", "closed", "amend", "undone", "state", "returned", *_OF_THE_END))
_LATE_ENTRIES = frozenset(("action", "set", "event", "fault", "cue", "reveal"))


class RefusedError(Exception):
    """An entry that can't be recorded. ``code`` is stable, ``words`` are for a person."""

    def __init__(self, code: str, words: str) -> None:
        self.code = code
        self.words = words
        super().__init__(words)


class LiveSession:
    """One session under way, or resumed from the events of its log.

    ``chained``: give each event its place in the hash chain as it is recorded; at full speed it
    is left until the log is written.
    """

    def __init__(
        self, scenario: Scenario, events: Iterable[Event] = (), *, chained: bool = True
    ) -> None:
        self.scenario = scenario
        self.fold = Fold(scenario)
        self._chained = chained
        self._last = FIRST
        self._wall_ms = 0
        self._minute = -1
        self._minute_text = ""
        self._walled = (-1, "")
        self._session = ""
        for event in events:
            self._take(event)

    @property
    def events(self) -> tuple[Event, ...]:
        """The log so far."""
        return tuple(self.fold.events)

    @property
    def closed(self) -> bool:
        """Whether the session has been closed."""
        return self.fold.closed is not None

    def session(self) -> Session:
        """Return what is known now."""
        return self.fold.session()

    def next_due(self) -> int | None:
        """Return the log time at which something comes next by itself; ``None`` if nothing does."""
        due = self.fold.next_due()
        times = self.fold.times
        if due is None or (times.paused and due.at_ms > times.scenario(self.fold.noted_ms)):
            return None
        return times.log(due.at_ms)

    def advance(self, now_ms: int) -> list[Event]:
        """Write down everything that has come due by itself until ``now_ms`` (log time)."""
        now_ms = max(now_ms, self.fold.noted_ms)
        return self._until(self.fold.times.scenario(now_ms), now_ms)

    def run(self, until_ms: int) -> None:
        """Let nobody do anything until ``until_ms`` (log time): each step at its own instant."""
        fold = self.fold
        if fold.times.paused:
            self.advance(until_ms)
            return
        log = fold.times.log
        while (due := fold.next_due()) is not None and (at_ms := log(due.at_ms)) <= until_ms:
            self._step(due, max(at_ms, fold.noted_ms))

    def record(
        self,
        kind: Kind,
        data: Mapping[str, Any],
        *,
        noted_ms: int,
        at_ms: int | None = None,
        by: str,
        id: str | None = None,  # noqa: A002 - the event's own word
        wall: str | None = None,
    ) -> list[Event]:
        """Record one entry; return what was written: automatic steps before it, and the entry.

        ``at_ms``: when it happened, if that was earlier. ``id``: given on the device that took
        it. ``wall``: UTC, ISO 8601; the first event must bring it. Raises ``RefusedError``.
        """
        fold = self.fold
        if id is not None and id in fold.ids:
            return []
        if noted_ms < fold.noted_ms:
            noted_ms = fold.noted_ms
        if at_ms is None or at_ms > noted_ms:
            at_ms = noted_ms
        elif at_ms < 0:
            at_ms = 0
        checked = kind in _CHECKED or not fold.events or fold.closed is not None
        if checked:
            self._refuse(kind, data, at_ms, noted_ms, wall)
        out: list[Event] = []
        due = fold.next_due()
        if due is not None and due.at_ms < (now := fold.times.scenario(noted_ms)):
            out = self._until(now - 1, noted_ms)
            # It may have closed the session.
            if checked or fold.closed is not None:
                self._refuse(kind, data, at_ms, noted_ms, wall)
        out.append(self._write(kind, data, at_ms, noted_ms, by, id, wall))
        if kind == "opened":
            start = {"state": self.scenario.start.state, "cause": "start"}
            out.append(self._write("state", start, noted_ms, noted_ms, PROGRAM))
        return out

    # --- deciding -------------------------------------------------------------------------------

    def _until(self, scenario_ms: int, noted_ms: int) -> list[Event]:
        out = []
        while (due := self.fold.next_due()) is not None and due.at_ms <= scenario_ms:
            out.append(self._step(due, noted_ms))
        return out

    def _step(self, due: Due, noted_ms: int) -> Event:
        times = self.fold.times
        at_ms = min(times.log(due.at_ms), noted_ms)
        if due.rule == CLOSING:
            return self._write("closed", {"why": "finished"}, at_ms, noted_ms, PROGRAM)
        to = self.scenario.states[self.fold.state].next[due.rule].to
        data: dict[str, Any] = {"state": to, "cause": "rule", "rule": due.rule}
        if due.at_ms - due.ripe_ms > 1 or noted_ms - at_ms > LATE_MS:
            data["late"] = True
        if times.scenario(at_ms, len(self.fold.events)) != due.at_ms:
            # Within a skip the log's time stands still, and can't tell.
            data["scenario_ms"] = due.at_ms
        return self._write("state", data, at_ms, noted_ms, PROGRAM)

    def _refuse(
        self, kind: Kind, data: Mapping[str, Any], at_ms: int, noted_ms: int, wall: str | None
    ) -> None:
        fold = self.fold
        if kind == "opened":
            if fold.events:
                raise RefusedError("opened-already", "The session has been opened already.")
            if wall is None:
                raise RefusedError("no-wall-clock", "Opening a session needs the date and time.")
            return
        if not fold.events:
            raise RefusedError("not-opened", "The session has not been opened yet.")
        if fold.closed is not None and kind not in AFTERWARDS:
            end = fold.closed_ms or 0
            if kind not in _LATE_ENTRIES or fold.times.scenario(at_ms) > end:
                raise RefusedError("closed", "The session is closed.")
        if kind not in _CHECKED:
            return
        if kind == "closed":
            self._refuse_closing(data)
        elif kind in _OF_THE_END:
            self._refuse_saying(kind, data)
        elif kind == "amend":
            self._refuse_amend(data)
        elif kind == "undone":
            self._refuse_undone(data, noted_ms)
        elif kind == "state":
            if data.get("cause") != "facilitator":
                raise RefusedError(
                    "not-by-hand", "A state taken by hand has the facilitator as its cause."
                )
            if data.get("state") not in self.scenario.states:
                raise RefusedError("unknown-state", f"There is no state {data.get('state')!r}.")
        elif missing := what_is_missing(self.scenario, data):
            words = f"The cot is not back in service yet: {'; '.join(missing)}."
            raise RefusedError("not-returned", words)
        elif len({_plain(letter) for letter in data["initials"]}) < len(data["initials"]):
            words = "Two people return a cot: two different initials, each typed by one person."
            raise RefusedError("one-person", words)

    def _refuse_closing(self, data: Mapping[str, Any]) -> None:
        if data.get("why") not in ("finished", "stopped early", "safety stop"):
            raise RefusedError(
                "no-reason", "A session ends as finished, stopped early or safety stop."
            )
        if data["why"] != "safety stop" and self.fold.must_return:
            raise RefusedError(
                "not-returned",
                "Faults were planted in the cot: it must be returned to service, with each fault "
                "put right, before the session is closed.",
            )

    def _refuse_saying(self, kind: Kind, data: Mapping[str, Any]) -> None:
        """Refuse what is said of a record or an outcome that there can't be."""
        fold = self.fold
        if fold.closed is None:
            raise RefusedError("not-closed", "The session has not ended yet.")
        if kind == "signed":
            standard = self.scenario.scoring.is_set
            why = why_not_signed(fold.purpose, str(fold.closed.data["why"]), standard=standard)
            if why:
                raise RefusedError("no-outcome", why)
            if not fold.account.record().confirmed:
                raise RefusedError("not-confirmed", "The record has not been confirmed yet.")
        elif kind == "put_away":
            if fold.signed:
                words = "An outcome of this session is signed and may be relied on, so it stays."
                raise RefusedError("signed-already", words)
        elif kind != "confirmed" and "item" not in data and not fold.signed:
            raise RefusedError("nothing-signed", "No outcome has been signed.")

    def _refuse_amend(self, data: Mapping[str, Any]) -> None:
        clock = self.scenario.start.clock
        target = next((event for event in self.fold.events if event.id == data.get("id")), None)
        if target is None:
            raise RefusedError("correction-of-nothing", "There is no such entry to correct.")
        if not can_be_corrected(target, clock):
            words = f"A {target.kind!r} entry is a fact and can't be corrected."
            raise RefusedError("correction-of-a-fact", words)

    def _refuse_undone(self, data: Mapping[str, Any], noted_ms: int) -> None:
        target = next((event for event in self.fold.events if event.id == data.get("id")), None)
        if not self.fold.undoable(target, noted_ms):
            raise RefusedError(
                "undone-of-nothing",
                "Only a state taken by hand, a hold, a pause or an event can be undone, and only "
                "within a minute.",
            )

    # --- writing --------------------------------------------------------------------------------

    def _write(
        self,
        kind: Kind,
        data: Mapping[str, Any],
        at_ms: int,
        noted_ms: int,
        by: str,
        id_: str | None = None,
        wall: str | None = None,
    ) -> Event:
        seq = len(self.fold.events)
        if id_ is None:
            if kind == "opened":
                self._session = str(data.get("session", ""))
            id_ = f"{_stem(self._session)}-{seq:012x}"
        if wall is None:
            wall = self._wall_at(noted_ms)
        event = Event(seq, id_, at_ms, noted_ms, wall, kind, by, data)
        if self._chained:
            event = linked(event, self._last)
        self._take(event)
        return event

    def _take(self, event: Event) -> None:
        if not self.fold.events:
            wall = datetime.fromisoformat(event.wall).astimezone(UTC)
            self._session = str(event.data.get("session", ""))
            self._wall_ms = (wall - _MIDNIGHT) // timedelta(milliseconds=1) - event.noted_ms
        self.fold.feed(event)
        self._last = event.hash

    def _wall_at(self, noted_ms: int) -> str:
        """``noted_ms`` as UTC. What is the same for a minute is kept: formatting dates is slow."""
        if noted_ms == self._walled[0]:
            return self._walled[1]
        minute, ms = divmod(self._wall_ms + noted_ms, 60_000)
        if minute != self._minute:
            day, minutes = divmod(minute, 1_440)
            text = (_EPOCH + timedelta(days=min(day, _LAST_DAY))).isoformat()
            self._minute = minute
            self._minute_text = f"{text}T{minutes // 60:02d}:{minutes % 60:02d}:"
        wall = f"{self._minute_text}{ms / 1000:06.3f}Z"
        self._walled = (noted_ms, wall)
        return wall


def _plain(initials: str) -> str:
    """Initials as they are compared: the letters alone, whatever the case."""
    return "".join(letter for letter in initials.casefold() if letter.isalnum())


def event_id(session: str, seq: int) -> str:
    """Return the UUID (version 8, RFC 9562) of event ``seq`` of a session, if nobody gave one."""
    return f"{_stem(session)}-{seq:012x}"


@lru_cache(maxsize=64)
def _stem(session: str) -> str:
    digits = sha256(session.encode()).hexdigest()
    return f"{digits[:8]}-{digits[8:12]}-8{digits[13:16]}-8{digits[17:20]}"
