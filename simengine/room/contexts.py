"""What the room's templates are told, as plain data: `page`."""

from __future__ import annotations

from dataclasses import dataclass

from simengine.room.content import Retryable


@dataclass(frozen=True, slots=True)
class Step:
    """One of the steps: its ``name`` in the program, its title, and the lines under it."""

    name: str
    title: str
    lead: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Words:
    """The small words of the stage."""

    goals: str
    stopped: str
    known: str
    acts: str
    no_moment: str
    seen: str
    done: str
    asked: str
    what_if: str


@dataclass(frozen=True, slots=True)
class RoomPage:
    """`room.html.j2` at `/s/ID/room`, the tablet that leads.

    ``content`` and ``view`` are JSON. ``wall``: the address of the wall, with ``code``. ``alone``:
    the console is open to its own machine alone. Forms: POST /s/ID/retry with `state` (an event's
    id) and `minutes`; POST /s/ID/room/end.
    """

    session: str
    title: str
    band: str
    caution: str
    steps: tuple[Step, ...]
    words: Words
    story: tuple[str, ...]
    content: str
    view: str
    stream: str
    wall: str
    qr: str
    code: str
    retries: tuple[Retryable, ...]
    minutes: int
    alone: bool


@dataclass(frozen=True, slots=True)
class WallPage:
    """`wall.html.j2` at `/wall/CODE`. ``content`` is JSON, ``null`` until the room is open."""

    band: str
    caution: str
    steps: tuple[Step, ...]
    words: Words
    content: str
    view: str
    stream: str
    waiting: str
    over: str
