"""Logs that the store's tests keep: events that follow one another in a true chain."""

from __future__ import annotations

from simengine.session.chain import chained
from simengine.session.events import Event
from simengine.store import Planned

WALL = "2026-01-31T10:00:00Z"
PLANNED = Planned("s1", WALL, {"scenario": "small", "who": "née Ω"})


def log(length: int, session: str = "s1") -> list[Event]:
    """A log of notes; ids are its own, as they are in a real one."""
    return list(
        chained(
            Event(
                seq,
                f"{session}-{seq}",
                seq,
                seq,
                WALL,
                "note",
                "k1",
                {"text": f"née {seq}\u2028\0", "deep": {"value": 0.1, "none": None}},
            )
            for seq in range(length)
        )
    )


def opened(length: int, session: str = "s1") -> list[Event]:
    """The same, opened as a session's log is."""
    first = Event(0, f"{session}-0", 0, 0, WALL, "opened", "k1", {"session": session})
    return list(chained([first, *log(length, session)[1:]]))
