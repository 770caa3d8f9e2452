"""The rooms that are open: what each shows, and the screens that follow it.

Rules of this file:

- A room opens with the facilitator's tablet and lasts until it is ended there; where it is lives in
  memory. What people wrote is in the store, so that it outlives the server.
- The wall is told no person's code unless the facilitator chose so, never a name, never a note.
- Content is made once for each state of the log, in a thread, for which no running session waits.
"""

from __future__ import annotations

import asyncio
import hmac
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from functools import partial
from typing import Any

import orjson

from simengine.debrief.what_if import what_ifs
from simengine.desk.hub import Hub, NoSessionError
from simengine.desk.running import Running
from simengine.desk.screens import Screen, ScreenKind, Screens
from simengine.room.content import Content, content_of, for_the_wall
from simengine.room.position import Position, moved
from simengine.scoring import score
from simengine.scoring.card import ScoreCard
from simengine.scoring.people import everybody
from simengine.session.record import Session
from simengine.store import own_words
from simengine.web.make_debriefs import Debriefs
from simengine.web.security import Keys


@dataclass
class Room:
    """One session's room. ``open``: a facilitator has opened it and not ended it."""

    position: Position = field(default_factory=Position)
    open: bool = False
    screens: Screens = field(default_factory=lambda: Screens(set()))
    content: Content | None = None
    last_hash: str = ""


class Rooms:
    """The rooms of all sessions, by their ids."""

    def __init__(self, hub: Hub, debriefs: Debriefs, keys: Keys) -> None:
        self._hub = hub
        self._keys = keys
        self._store = hub.store
        self._clock = hub.clock
        self._debriefs = debriefs
        self._rooms: dict[str, Room] = {}

    def room(self, session: str) -> Room:
        """Return a session's room, which may not be open yet."""
        return self._rooms.setdefault(session, Room())

    async def content(self, running: Running) -> Content:
        """Return what the room has to show of a session as its log stands."""
        room = self.room(running.plan.session)
        live = running.live
        assert live is not None
        session = live.session()
        if room.content is None or room.last_hash != session.last_hash:
            card = self._debriefs.card(session)
            made = await asyncio.to_thread(_made, session, card)
            room.content, room.last_hash = made, session.last_hash
        return room.content

    async def begin(self, running: Running) -> Room:
        """Open a session's room, at its beginning unless it is open."""
        content = await self.content(running)
        room = self.room(running.plan.session)
        if not room.open:
            first = content.moments[0].id if content.moments else ""
            room.position = Position(at_ms=max(content.start_ms, 0), moment=first)
            room.open = True
            self.show(running)
        return room

    def end(self, running: Running) -> None:
        """Close a room: the wall shows nothing of the session any longer."""
        self.room(running.plan.session).open = False
        self.show(running)

    async def move(self, running: Running, told: Mapping[str, Any]) -> None:
        """Show what a tablet told. Raises ``NoPositionError``."""
        content = await self.content(running)
        room = self.room(running.plan.session)
        ids = [moment.id for moment in content.moments]
        room.position = moved(room.position, told, now_ms=self._clock.now_ms(), moments=ids)
        self.show(running)

    def join(self, running: Running, kind: ScreenKind) -> Screen:
        """Return a new screen that follows a room."""
        screen = Screen(kind)
        self.room(running.plan.session).screens.open.add(screen)
        screen.show(partial(self._view, running, kind))
        return screen

    def leave(self, running: Running, screen: Screen) -> None:
        """Let a screen go."""
        self.room(running.plan.session).screens.open.discard(screen)

    def show(self, running: Running) -> None:
        """Show every screen of a room how it stands."""
        screens = self.room(running.plan.session).screens
        for kind in ("room", "wall"):
            screens.show(kind, partial(self._view, running, kind))

    def by_wall(self, code: str) -> Running | None:
        """Return the session whose wall a code opens."""
        for session in self._hub.planned():
            if hmac.compare_digest(self._keys.wall_code(session).encode(), code.encode()):
                try:
                    running = self._hub.running(session)
                except NoSessionError:
                    return None
                return running if running.closed else None
        return None

    def stop(self) -> None:
        """End all streams."""
        for room in self._rooms.values():
            room.screens.close()

    def forget(self) -> None:
        """Close every room: somebody is being erased from the records."""
        self.stop()
        self._rooms.clear()

    def for_wall(self, running: Running, content: Content) -> Content:
        """Return what may stand on the wall now: the score only where the facilitator chose it."""
        shown = for_the_wall(content)
        with_score = self.room(running.plan.session).position.with_score
        return shown if with_score else replace(shown, score=())

    def view(self, running: Running, kind: ScreenKind) -> dict[str, Any]:
        """Return what a screen shows now, beside the content."""
        session = running.plan.session
        room = self.room(session)
        position = room.position
        if kind == "wall" and not room.open:
            return {"open": False, **asdict(Position()), "people": [], "version": room.last_hash}
        named = kind == "room" or position.codes
        shown = [
            person if named else replace(person, code="")
            for person in self.people(running)
            if kind == "room" or person.goal or person.along
        ]
        return {
            "open": room.open,
            **asdict(position),
            "people": [asdict(person) for person in shown],
            "version": room.last_hash,
        }

    def people(self, running: Running) -> tuple[Person, ...]:
        """Return who took part, with what they wrote of the session."""
        live = running.live
        codes = everybody(live.session()) if live is not None else ()
        wrote = own_words.of_session(self._store, running.plan.session)
        words = {(text.code, text.kind): text.words for text in wrote}
        return tuple(
            Person(
                code,
                words.get((code, "goal"), ""),
                words.get((code, "take along"), ""),
            )
            for code in codes
        )

    def _view(self, running: Running, kind: ScreenKind) -> bytes:
        return orjson.dumps(self.view(running, kind))


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who took part, by code: their goal, and what they take along."""

    code: str
    goal: str
    along: str


def _made(session: Session, card: ScoreCard | None) -> Content:
    scored = card or score(session, redraws=0)
    return content_of(session, scored, what_ifs(session, scored))
