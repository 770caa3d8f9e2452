"""Which marks a team's clock has, read from YAML.

Rules of this file:

- ``otherwise`` stands for a clock that another event starts than those named.
- Marks come in order of time; what comes after the last of them comes again and again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

from simengine.scenario.forms import NAME, TEXT, TIME, Key, ListOf, MapOf, Record, given, keys_of
from simengine.scenario.opened import finish, opened_or_error
from simengine.scenario.place import Place
from simengine.scenario.read_fields import PLAIN, Scope, read_fields

OTHERWISE = "otherwise"


@dataclass(frozen=True, slots=True)
class PlannedMark:
    """A mark on the team's clock; ``prompt``: an action due at it, or empty.

    It is due no more once what was last told with it is one of ``until_told``; ``if_not_told``
    are its words while nothing has been told.
    """

    at_ms: int = field(
        metadata=given(TIME, "When it comes, on the team's clock.", key="at", by_hand=True)
    )
    prompt: str = field(
        metadata=given(NAME, "An action that falls due.", optional=True, otherwise="")
    )
    words: str = field(metadata=given(TEXT, "What is said of it.", optional=True, otherwise=""))
    if_not_told: str = field(
        default="", metadata=given(TEXT, "What is said while nothing was told with it.")
    )
    until_told: tuple[str, ...] = field(
        default=(),
        metadata=given(
            ListOf(TEXT, "a list of values", reads="list"),
            "Once one of these was told with it, it falls due no more.",
        ),
    )


@dataclass(frozen=True, slots=True)
class PlannedMarks:
    """The first marks, and what comes every ``every_ms`` after the last of them."""

    first: tuple[PlannedMark, ...]
    every_ms: int
    then: PlannedMark

    def until(self, at_ms: int) -> Iterator[PlannedMark]:
        """All marks up to an instant of the team's clock."""
        for mark in self.first:
            if mark.at_ms <= at_ms:
                yield mark
        instant = self.first[-1].at_ms + self.every_ms
        while instant <= at_ms:
            yield replace(self.then, at_ms=instant)
            instant += self.every_ms


MARK = Record("a mark", keys_of(PlannedMark), name="mark")
THEN = Record(
    "what comes after",
    {
        "every": Key(TIME, "How often it comes.", needed=True),
        **{key: how for key, how in MARK.keys.items() if key != "at"},
    },
    name="then",
)
MARKS = Record(
    "marks",
    {
        "marks": Key(
            ListOf(MARK, "a list of marks", 1), "The first marks, in order of time.", needed=True
        ),
        "then": Key(THEN, "What comes after the last of them.", needed=True),
    },
    name="marks",
)
FILE = MapOf(
    MARKS,
    "marks of the team's clock",
    keys={OTHERWISE: Key(MARKS, "For a clock that another event starts.", needed=True)},
    value_about="By the event that starts the clock.",
    about=(
        "When the clock's marks come and what falls due at them, by the event that starts the "
        "clock."
    ),
)
"""What a file of clock marks holds."""


def marks_of(clock: str | None) -> PlannedMarks:
    """Return the marks of a clock that this event starts."""
    read = _shipped()
    return read.get(clock or OTHERWISE, read[OTHERWISE])


def load_clock_marks(path: Path) -> dict[str, PlannedMarks]:
    """Read the marks by the event that starts the clock. Raises ``InputError``."""
    root = opened_or_error("clock_marks", path)
    root.need(OTHERWISE)
    marks = {event: _marks(place) for event, place in root.entries()}
    finish(root)
    return marks


@cache
def _shipped() -> Mapping[str, PlannedMarks]:
    return load_clock_marks(Path(__file__).with_name("clock_marks.yaml"))


def _marks(place: Place) -> PlannedMarks:
    marks, then = place.need("marks"), place.need("then")
    first: list[PlannedMark] = []
    for item in marks.elements("a list of marks") if marks is not None else ():
        at = item.need("at")
        at_ms = (at.duration() if at is not None else None) or 0
        if at is not None and first and at_ms <= first[-1].at_ms:
            at.say("marks in rising order of 'at'", "row-order")
        first.append(_mark(item, at_ms))
    every = then.need("every") if then is not None else None
    every_ms = every.duration() if every is not None else None
    if every is not None and every_ms == 0:
        every.say("a time above 0 s", "zero-time")
    after = _mark(then, 0) if then is not None else PlannedMark(0, "", "")
    return PlannedMarks(tuple(first), every_ms or 0, after)


def _mark(place: Place, at_ms: int) -> PlannedMark:
    return PlannedMark(at_ms, **read_fields(PlannedMark, place, Scope({}, PLAIN)))
