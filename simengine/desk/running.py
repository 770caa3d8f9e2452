"""One session at the console: the live engine, its screens, and the next thing to happen.

Rules of this file:

- An entry is decided by the engine, durable in the store, and then acknowledged and shown. If
  the store fails, the engine's memory is thrown away and made again from what was kept.
- A timer sleeps until the next instant at which anything happens or any words change; nothing
  ticks.
- A log is verified as it is read from the store. One that is not as it was written is shown as it
  stands: nothing goes on in it and nothing is added to it; devices keep what they have for it.
- A session opened again after the server was away takes at once what was due meanwhile; the
  engine marks it late.
- Views are made at most once for each burst of entries, displays before consoles, and only for
  who is ready to take them.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import orjson

from simengine.desk.alone import Director
from simengine.desk.bedside_view import bedside_of, waiting_bedside
from simengine.desk.console_view import console_of
from simengine.desk.inputs import Input, RefusedInput
from simengine.desk.scene import Scene
from simengine.desk.screens import Screen, ScreenKind, Screens
from simengine.desk.session_plan import SessionPlan
from simengine.scenario.model import Scenario
from simengine.scoring.needed import needed_to_confirm
from simengine.session.account import PROGRAM
from simengine.session.events import Event, Kind
from simengine.session.live import OF_THE_OUTCOME, LiveSession, RefusedError
from simengine.session.record import Session
from simengine.session.rights import Recorder, check_right
from simengine.store import LogStore, StoreError
from simengine.web.clock import Clock, from_wall, wall

_LOG = logging.getLogger("simengine.console")
_DISPLAYS_FIRST: tuple[ScreenKind, ...] = ("bedside", "play", "console")
_AGAIN_S = 1.0
_SHORTEST_S = 0.005
READ_ONLY = "The record of this session was changed after it was written, and can't be added to."
_LONGEST_S = 3600.0


class Running:
    """A session that has been planned, and then opened. All times given out are log time."""

    def __init__(
        self,
        plan: SessionPlan,
        scenario: Scenario,
        store: LogStore,
        clock: Clock,
        ended: Callable[[Running], None],
        renewed: Callable[[Running], None],
        director: Director | None = None,
    ) -> None:
        """``ended``: called once the session has been closed, by whomever. ``renewed``: called
        then and with whatever is kept afterwards. ``director``: who does what a facilitator would,
        in a session that has none.
        """
        self.plan = plan
        self.director = director
        self._ended = ended
        self._renewed = renewed
        self.scenario = scenario
        self.screens = Screens(set())
        self._store = store
        self._clock = clock
        self._live: LiveSession | None = None
        self._opened_at_ms = 0
        self._timer: asyncio.TimerHandle | None = None
        self._will_show = False
        self._words_change: dict[ScreenKind, int | None] = {}
        self.changed = ""
        """Where the log is not as it was written, in words: then it is only shown."""
        self._again()

    @property
    def live(self) -> LiveSession | None:
        """The engine; ``None`` until the session is opened."""
        return self._live

    @property
    def opened_at_ms(self) -> int:
        """The server's clock as the log was opened."""
        return self._opened_at_ms

    @property
    def closed(self) -> bool:
        """Whether the session has ended."""
        return self._live is not None and self._live.closed

    def log_ms(self) -> int:
        """Return the log's time now."""
        now = self._clock.now_ms() - self._opened_at_ms
        return max(now, self._live.fold.noted_ms if self._live is not None else 0, 0)

    def open(self, data: Mapping[str, Any], by: Recorder) -> None:
        """Open the log. Raises ``StoreError``, and ``RefusedError`` if it is open already."""
        self._refuse_if_changed()
        if self._live is not None:
            raise RefusedError("opened-already", "The session has been opened already.")
        self._check(by, "opened", data)
        now_ms = self._clock.now_ms()
        opened = wall(self._clock.wall_of(now_ms))
        live = LiveSession(self.scenario)
        events = live.record("opened", data, noted_ms=0, at_ms=0, by=by.key, wall=opened)
        self._store.append(self.plan.session, events)
        self._live = live
        self._opened_at_ms = now_ms
        self.show_soon()

    def record(self, inputs: Sequence[Input], by: Recorder) -> list[RefusedInput]:
        """Record entries, durable on return; return those that the engine refused.

        Raises ``StoreError`` if they could not be kept: then none of them was taken.
        """
        self._refuse_if_changed()
        live = self._live
        if live is None:
            return [
                RefusedInput(given.id, "The session has not been opened yet.") for given in inputs
            ]
        noted_ms = self.log_ms()
        refused: list[RefusedInput] = []
        with self._kept() as written:
            for given in inputs:
                try:
                    if (
                        given.id.lower() not in live.fold.ids
                    ):  # sent again, it is answered as before
                        self._check(by, given.kind, given.data)
                    written += live.record(
                        given.kind,
                        given.data,
                        noted_ms=noted_ms,
                        at_ms=given.at_ms,
                        by=by.key,
                        id=given.id.lower(),
                    )
                except RefusedError as refusal:
                    refused.append(RefusedInput(given.id, refusal.words))
            written += self._advanced(live, noted_ms)
        return refused

    def record_one(self, kind: Kind, data: Mapping[str, Any], by: Recorder) -> None:
        """Record one entry that the server itself was asked for. Raises ``RefusedError``."""
        self._refuse_if_changed()
        live = self._live
        if live is None:
            raise RefusedError("not-opened", "The session has not been opened yet.")
        noted_ms = self.log_ms()
        with self._kept() as written:
            self._check(by, kind, data)
            written += live.record(kind, data, noted_ms=noted_ms, by=by.key)
            written += self._advanced(live, noted_ms)

    def join(self, kind: ScreenKind, *, until_end: bool = False) -> Screen:
        """Return a new screen that shows the session from now on.

        ``until_end``: its stream ends with the session, and says so.
        """
        screen = Screen(kind, until_end=until_end)
        self.screens.open.add(screen)
        screen.show(self._view(kind))
        if kind == "bedside":
            self.show_soon()
        return screen

    def leave(self, screen: Screen) -> None:
        """Let a screen go."""
        self.screens.open.discard(screen)
        if screen.kind == "bedside":
            self.show_soon()

    def view(self, kind: ScreenKind) -> bytes:
        """Return the view of this instant, as JSON."""
        return self._view(kind)()

    def scene(self) -> Scene | None:
        """Return the session as of this instant; ``None`` before it is opened."""
        return self._scene(self._live) if self._live is not None else None

    def _scene(self, live: LiveSession) -> Scene:
        return Scene(live.fold, self.log_ms(), self._opened_at_ms)

    def stop(self) -> None:
        """End the timer and all streams; the log stays as it is."""
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        self.screens.close()

    def _check(self, by: Recorder, kind: Kind, data: Mapping[str, Any]) -> None:
        """Raise ``RefusedError`` unless this may be recorded here by who sent it."""
        if kind in OF_THE_OUTCOME:
            words = "What you have to say of an outcome goes on its own page, under Outcomes."
            raise RefusedError("not-here", words)
        if kind == "confirmed" and self.closed and self._live is not None:
            self._check_record(self._live.session())
        events = () if self._live is None or kind != "amend" else self._live.fold.events
        written_by = {event.id: event.by for event in events}
        check_right(by, kind, data, closed=self.closed, written_by=written_by)

    def _check_record(self, session: Session) -> None:
        """Raise ``RefusedError`` while an essential item lacks what nobody wrote down."""
        lacking = [need.words for need in needed_to_confirm(session) if need.blocks]
        if lacking:
            words = f"{' '.join(lacking)} Fill it in first, or say that nobody saw it."
            raise RefusedError("not-recorded", words)

    # --- keeping --------------------------------------------------------------------------------

    @contextmanager
    def _kept(self) -> Iterator[list[Event]]:
        """Keep the events that are put into the list; if that fails nothing has happened."""
        written: list[Event] = []
        try:
            yield written
            if written:
                self._store.append(self.plan.session, written)
        except BaseException:
            self._again()
            raise
        if written:
            self.show_soon()
        if any(event.kind == "closed" for event in written):
            self._ended(self)
        if written and self.closed:
            self._renewed(self)

    def _advanced(self, live: LiveSession, now_ms: int) -> list[Event]:
        """Return what comes by itself until now, and what the director does about it."""
        written = live.advance(now_ms)
        while self.director is not None and (entry := self.director.next_entry(live, now_ms)):
            written += live.record(entry[0], entry[1], noted_ms=now_ms, by=PROGRAM)
            written += live.advance(now_ms)
        return written

    def _again(self) -> None:
        """Make the engine from what the store kept."""
        kept = self._store.as_kept(self.plan.session)
        self.changed, events = kept.wrong, kept.events
        if not events:
            self._live = None
            return
        live = self._live = LiveSession(self.scenario, events)
        if not self._opened_at_ms:
            # A server before this one opened it. A wall clock that was set back meanwhile is behind
            # the log: then the session goes on from its last entry, rather than stand still until
            # the clock has come as far again.
            opened_at_ms = from_wall(events[0].wall) - events[0].noted_ms
            self._opened_at_ms = min(opened_at_ms, self._clock.now_ms() - live.fold.noted_ms)

    def _refuse_if_changed(self) -> None:
        if self.changed:
            raise StoreError(f"{READ_ONLY} {self.changed}.")

    def read_again(self) -> None:
        """Make the engine anew from a log that was added to. Raises ``StoreError``."""
        self._again()
        self.show_soon()

    def catch_up(self) -> None:
        """Take what is due. Raises ``StoreError`` if it could not be kept."""
        if self._live is not None and not self.changed:
            with self._kept() as written:
                written += self._advanced(self._live, self.log_ms())
            self.show_soon()

    # --- showing --------------------------------------------------------------------------------

    def show_soon(self) -> None:
        """Show everybody the session once what is being answered has been answered."""
        if not self._will_show:
            self._will_show = True
            asyncio.get_running_loop().call_soon(self._show)

    def _show(self) -> None:
        self._will_show = False
        for kind in _DISPLAYS_FIRST:
            # Told again by the view once it is made; until then no words are waited for.
            self._words_change[kind] = None
            self.screens.show(kind, self._view(kind))
        if self.closed:
            self.screens.end()
        self._set_timer()

    def _view(self, kind: ScreenKind) -> Callable[[], bytes]:
        def made() -> bytes:
            if self._live is None:
                return orjson.dumps(waiting_bedside(self.scenario, self.plan.session))
            scene = self._scene(self._live)
            if kind == "play" and self.director is not None:
                view: Any = self.director.view(scene)
            elif kind == "bedside":
                view = bedside_of(scene, equipment=not self.plan.real_cot)
            else:
                displays = sum(1 for screen in self.screens.open if screen.kind == "bedside")
                view = console_of(scene, screens=displays)
            self._words_change[kind] = scene.next_change_log_ms()
            self._set_timer()
            return orjson.dumps(view)

        return made

    # --- the next thing -------------------------------------------------------------------------

    def _set_timer(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        if self._live is None or self.changed:
            return
        watched = {screen.kind for screen in self.screens.open}
        directed = self.director.due_ms(self._live) if self.director is not None else None
        due = [self._live.next_due(), directed, *(self._words_change.get(kind) for kind in watched)]
        instants = [instant for instant in due if instant is not None]
        if not instants:
            return
        wait_s = (self._opened_at_ms + min(instants) - self._clock.now_ms()) / 1000
        loop = asyncio.get_running_loop()
        self._timer = loop.call_later(min(max(wait_s, _SHORTEST_S), _LONGEST_S), self._wake)

    def _wake(self) -> None:
        self._timer = None
        try:
            self.catch_up()
        except StoreError as error:
            _LOG.error("session %s: %s", self.plan.session, error)
            self._timer = asyncio.get_running_loop().call_later(_AGAIN_S, self._wake)
