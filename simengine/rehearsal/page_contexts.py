"""What the pages of rehearsing alone are told, as plain data: `page` in their templates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from simengine.web.shelf import ShelfScenario

Say = Callable[..., str]


@dataclass(frozen=True, slots=True)
class TryRow:
    """An earlier try: when, of what, how it stands, and where it leads."""

    when: str
    title: str
    standing: str
    address: str


@dataclass(frozen=True, slots=True)
class RehearsePage:
    """`rehearse.html.j2`. Form: POST there with `scenario`, `way` (guided, alone) and `code`.

    ``asks_code``: nobody is signed in here, so that a code can be typed.
    """

    say: Say
    scenarios: tuple[ShelfScenario, ...]
    tries: tuple[TryRow, ...]
    problems: tuple[str, ...]
    asks_code: bool
    chosen: str
    checking: int


@dataclass(frozen=True, slots=True)
class PlayPage:
    """`play.html.j2`. ``view``, ``groups``, ``words``: JSON for the script.

    ``skips``: how much time (ms) one touch lets go by, in words.
    """

    say: Say
    session: str
    title: str
    infant: str
    protocol: str
    caution: str
    bench: str
    briefing: tuple[tuple[str, str], ...]
    view: str
    groups: str
    skips: tuple[tuple[int, str], ...]
    words: str


@dataclass(frozen=True, slots=True)
class TimeRow:
    """A moment that counts, and when it was in each of the tries that are told, in words."""

    what: str
    times: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AgainFrom:
    """A state that was come to: ``event`` by which it was entered, and when on the team's clock."""

    event: str
    words: str


@dataclass(frozen=True, slots=True)
class AfterPage:
    """`after.html.j2`, once a try has ended. ``once_more``: the moment it was a retry of.

    ``headings``: which tries the times of a row are of. ``calls``: what came of each part that was
    called not as it should be.
    """

    say: Say
    session: str
    scenario: str
    title: str
    ended: str
    headings: tuple[str, ...]
    times: tuple[TimeRow, ...]
    calls: tuple[str, ...]
    states: tuple[AgainFrom, ...]
    once_more: str
    once_more_words: str
