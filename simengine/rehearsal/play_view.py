"""What is shown to who plays a scenario alone, as plain data: the JSON of the page's stream.

Rules of this file:

- Only what whoever plays it could know: what was looked for, heard, felt or is read by a sensor.
- Words with places in double braces are filled in by the browser, as on every other screen.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.desk.view import BedsideLine, ClockView, Ended, Figure, Now
from simengine.rehearsal.cot import Needle
from simengine.rehearsal.cot_at_hand import CotDial, CotPlace, CotShown


@dataclass(frozen=True, slots=True)
class Counting:
    """Beats that are heard or felt, to be counted. Instants are scenario time in ms.

    ``id``: the entry that the rate is told with. ``beats``: when each is heard; ``asks``: what is
    called out afterwards. ``counted``: what was counted, in words, for who does not hear them.
    ``bands``: how it is told first, in ``unit``.
    """

    id: str
    observation: str
    asks: str
    counted: str
    from_ms: int
    until_ms: int
    beats: tuple[int, ...]
    bands: tuple[str, ...]
    unit: str


@dataclass(frozen=True, slots=True)
class Happened:
    """Something that was done or said, with when it was on the team's clock (``None``: before)."""

    id: str
    at_ms: int
    words: str
    mine: bool


@dataclass(frozen=True, slots=True)
class TakeOver:
    """What lets somebody else go on with something that is under way: ``by`` as in a touch."""

    by: str
    words: str


@dataclass(frozen=True, slots=True)
class Running:
    """Something that lasts and is under way. ``keeps``: it keeps a hand.

    ``take_over``: who else could go on with it.
    """

    action: str
    stop: str
    since_ms: int
    keeps: bool
    take_over: tuple[TakeOver, ...]


@dataclass(frozen=True, slots=True)
class PlayView:
    """Everything of a session that moves. ``starts_ms``: when the baby is born, or the like, if it
    still is to come; ``ready``: the words of the touch that calls it sooner.

    ``version``: never falls, so that a page never goes back. It counts what has been told and no
    other entry, since those of a fault would tell of it by their number.

    ``baby``: whether the scenario has one. ``hands``: a line for each person at the cot and for
    whoever is on the way. ``manometer``: of the T-piece that breaths are given with. ``hint``: the
    last thing that was prompted, in the guided way, while nothing has been done since.
    """

    session: str
    version: int
    now: Now
    clock: ClockView
    starts_ms: int | None
    ready: str
    baby: bool
    lines: tuple[BedsideLine, ...]
    hands: tuple[HandsLine, ...]
    running: tuple[Running, ...]
    counting: Counting | None
    happened: tuple[Happened, ...]
    settings: dict[str, Figure]
    cot: CotShown | None
    manometer: Needle | None
    hint: str
    ending: str
    closed: Ended | None


@dataclass(frozen=True, slots=True)
class HandsLine:
    """Who is at the cot and what their hands do; ``left_to_ms``: on the way until then.

    ``by``: as a touch says who does it; empty for oneself.
    """

    by: str
    who: str
    words: str
    left_to_ms: int | None = None


@dataclass(frozen=True, slots=True)
class DoseAsked:
    """What is chosen of a drug: figures by name, label and unit, and the ways in by name and label.

    No figure is offered: what is right is the protocol's, and whoever plays has to know it.
    """

    figures: tuple[tuple[str, str, str], ...]
    routes: tuple[tuple[str, str], ...]
    caution: str


@dataclass(frozen=True, slots=True)
class Act:
    """What can be done. ``do``: what is touched; ``asks``: the observation to be told with it,
    with its ``choices``; ``dose``: the dose to be chosen; ``lasts``: it runs until it is stopped.
    """

    name: str
    do: str
    lasts: bool
    stop: str
    asks: str
    choices: tuple[str, ...]
    dose: DoseAsked | None


@dataclass(frozen=True, slots=True)
class Dial:
    """What can be set: one of ``words``, or a number of ``unit`` in steps, some for one touch."""

    name: str
    label: str
    unit: str
    step: float
    least: float | None
    most: float | None
    words: tuple[str, ...]
    usual: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """The things of one phase: what can be done and set there, and the places of the cot.

    ``cot_dials``: dials of the cot that have to do with it; ``manometer``: its needle stands there.
    """

    name: str
    label: str
    acts: tuple[Act, ...]
    dials: tuple[Dial, ...]
    places: tuple[CotPlace, ...] = ()
    cot_dials: tuple[CotDial, ...] = ()
    manometer: bool = False
