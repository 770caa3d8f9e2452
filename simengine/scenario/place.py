"""A place in a file: its node, the way to it in words, and where problems about it go.

Rules of this file:

- Asking a place for something that it is not (the text of a list …) notes one problem and gives
  an empty answer, so that reading goes on and every problem comes out in one pass.
- Where the schema has already complained about a node, nothing more is said about its form.
- What was read after a problem is never used: whoever collects the problems raises them, and what
  is worked out from what was read (a title, a default) is worked out only where ``is_sound``.
- The nearest right name is not looked for any more where a file is wrong throughout.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Literal

from simengine.nearest_name import did_you_mean, name_hint
from simengine.problems import Problem
from simengine.quantities import (
    QuantityError,
    Range,
    parse_difference,
    parse_duration,
    parse_quantity,
    parse_range,
)
from simengine.quantities.formatting import listed
from simengine.scenario.positions import Mapping, Node, Scalar, Sequence, is_nothing

_SINGULAR = {
    "states": "state",
    "actions": "action",
    "settings": "setting",
    "observations": "observation",
    "supplies": "supply",
    "equations": "equation",
    "values": "value",
    "phases": "phase",
    "roles": "role",
    "objectives": "objective",
    "references": "reference",
}

_MOST_HINTS = 200


def path_words(path: Iterable[str | int]) -> str:
    """Tell the way to a place: ``state 'limp' › next[0] › lasting``."""
    steps = list(path)
    words: list[str] = []
    if len(steps) > 1 and steps[0] in _SINGULAR and isinstance(steps[1], str):
        words.append(f"{_SINGULAR[str(steps[0])]} '{steps[1]}'")
        steps = steps[2:]
    for step in steps:
        if isinstance(step, int) and words:
            words[-1] += f"[{step}]"
        else:
            words.append(str(step))
    return " › ".join(words)


def found_words(node: Node) -> str:
    """Say what stands at a place: ``'fast'``, ``a list``, ``nothing``."""
    if isinstance(node, Mapping):
        return "a map"
    if isinstance(node, Sequence):
        return "a list"
    if is_nothing(node):
        return "nothing"
    text = " ".join(node.text.split())
    return f"'{text[:60]}…'" if len(text) > 60 else f"'{text}'"


def has_errors(problems: Iterable[Problem]) -> bool:
    """Whether anything but warnings is among problems."""
    return any(problem.level == "error" for problem in problems)


@dataclass(slots=True)
class Book:
    """The problems of one file.

    ``told``: ids of the nodes that the schema has complained about. ``waiting``: what the schema
    says of single values, unless the reader says something about them.
    """

    file: str
    problems: list[Problem] = field(default_factory=list)
    told: set[int] = field(default_factory=set)
    waiting: tuple[Problem, ...] = ()
    _unsound: set[tuple[str | int, ...]] = field(default_factory=set)

    def has_errors(self) -> bool:
        """Whether anything but warnings was noted."""
        return has_errors(self.problems)

    def unsound(self, path: tuple[str | int, ...]) -> None:
        """Note that something is wrong at the end of a path, and so in all that it passes."""
        for length in range(len(path), -1, -1):
            if path[:length] in self._unsound:
                return
            self._unsound.add(path[:length])

    def is_sound(self, path: tuple[str | int, ...]) -> bool:
        """Whether nothing wrong was noted at a path or below it."""
        return path not in self._unsound

    def name_hint(self, name: str, allowed: Collection[str]) -> str:
        """Give the hint of ``name_hint``, unless so many were given that nobody reads another."""
        return name_hint(name, allowed) if len(self.problems) < _MOST_HINTS else ""


@dataclass(slots=True, eq=False)
class Place:
    """A node of a file and the way to it.

    It is never changed, and not frozen: a file has thousands, and a frozen one takes three times as
    long to make.
    """

    book: Book
    node: Node
    path: tuple[str | int, ...] = ()

    def say(
        self,
        expected: str,
        code: str,
        *,
        found: str | None = None,
        hint: str = "",
        level: Literal["error", "warning"] = "error",
    ) -> None:
        """Note a problem at this place. ``found``: default, what stands here."""
        if level == "error":
            self.book.unsound(self.path)
        self.book.problems.append(
            Problem(
                self.book.file,
                self.node.line,
                self.node.column,
                path_words(self.path),
                expected,
                found_words(self.node) if found is None else found,
                code,
                level,
                hint,
            )
        )

    def wrong_form(self, expected: str) -> None:
        """Note that the node is of another form than asked, unless the schema has said so."""
        self.book.unsound(self.path)
        if id(self.node) not in self.book.told:
            self.book.told.add(id(self.node))
            self.say(expected, "form")

    def get(self, key: str) -> Place | None:
        """Return the value of ``key``; ``None`` if it is not given."""
        if not isinstance(self.node, Mapping) or key not in self.node.items:
            return None
        return Place(self.book, self.node.items[key], (*self.path, key))

    def need(self, key: str) -> Place | None:
        """Like ``get``, for a key that has to be there."""
        place = self.get(key)
        if place is None:
            self.book.unsound(self.path)
        if place is None and isinstance(self.node, Mapping) and id(self.node) not in self.book.told:
            self.say(f"the key '{key}'", "missing-key", found="none")
        return place

    def key(self, key: str) -> Place:
        """Return the place of a key itself, for problems with a name."""
        assert isinstance(self.node, Mapping)
        return Place(self.book, self.node.keys[key], (*self.path, key))

    def is_sound(self) -> bool:
        """Whether nothing wrong was noted here or below: what was read here may be used."""
        return self.book.is_sound(self.path)

    def is_map(self) -> bool:
        return isinstance(self.node, Mapping)

    def is_list(self) -> bool:
        return isinstance(self.node, Sequence)

    def is_scalar(self) -> bool:
        return isinstance(self.node, Scalar) and not is_nothing(self.node)

    def entries(self, what: str = "a map") -> Iterator[tuple[str, Place]]:
        """Go through a map."""
        if not isinstance(self.node, Mapping):
            self.wrong_form(what)
            return
        for key, value in self.node.items.items():
            yield key, Place(self.book, value, (*self.path, key))

    def elements(self, what: str = "a list") -> list[Place]:
        """Return the places of a list."""
        if not isinstance(self.node, Sequence):
            self.wrong_form(what)
            return []
        return [
            Place(self.book, item, (*self.path, number))
            for number, item in enumerate(self.node.items)
        ]

    def one_or_more(self, what: str) -> list[Place]:
        """Return the places of a list; a single value is a list of one."""
        return self.elements(what) if not self.is_scalar() else [self]

    def text(self, what: str = "text") -> str:
        """Return the text as written; empty if this is no scalar."""
        if isinstance(self.node, Scalar) and not is_nothing(self.node):
            return self.node.text
        self.wrong_form(what)
        return ""

    def only(self, keys: Collection[str]) -> None:
        """Complain of each key of a map that is none of ``keys``."""
        for key, _ in self.entries():
            if key not in keys:
                self.key(key).name_of_key(keys, f"one of {', '.join(keys)}")

    def name(self, allowed: Collection[str], what: str) -> str | None:
        """Return a name that has to be one of ``allowed``; ``what`` says of what kind it is."""
        text = self.text(what)
        if not text:
            return None
        if text not in allowed:
            self.say(what, "unknown-name", hint=self.book.name_hint(text, allowed))
            return None
        return text

    def name_of_key(self, allowed: Collection[str], what: str) -> str | None:
        """Like ``name``, for the place of a key: the name is the key as it stands."""
        name = str(self.path[-1])
        if name not in allowed:
            hint = self.book.name_hint(name, allowed)
            self.say(what, "unknown-name", found=f"'{name}'", hint=hint)
            return None
        return name

    def word(self, allowed: Collection[str]) -> str:
        """Return one of a few fixed words (the first one after a problem)."""
        text = self.text(_one_of(allowed))
        if text in allowed:
            return text
        self.book.unsound(self.path)
        if text and id(self.node) not in self.book.told:
            self.say(_one_of(allowed), "unknown-word", hint=did_you_mean(text, allowed))
        return next(iter(allowed))

    def truth(self) -> bool:
        """Return ``true`` or ``false``."""
        text = self.text("true or false")
        if text.lower() in ("true", "false") and isinstance(self.node, Scalar) and self.node.plain:
            return text.lower() == "true"
        self.book.unsound(self.path)
        if text and id(self.node) not in self.book.told:
            meant = {"yes": "true", "on": "true", "1": "true", "no": "false", "off": "false"}
            word = meant.get(text.lower())
            self.say("true or false", "form", hint=f"write {word}" if word else "")
        return False

    def whole(self) -> int:
        """Return a whole number of 0 or more."""
        text = self.text("a whole number")
        if text.isdecimal() and len(text) < 10:
            return int(text)
        if text:
            self.wrong_form("a whole number")
        return 0

    def number(self) -> float:
        """Return a number without a unit."""
        text = self.text("a number")
        try:
            value = float(text)
        except ValueError:
            value = nan
        if isfinite(value):
            return value
        if text:
            self.wrong_form("a number")
        return 0.0

    def quantity(self, unit: str, usual: str | None = None) -> float | None:
        """Return a quantity as a number of ``unit``; ``None`` after a problem.

        ``usual``: the unit that people would write, if it is another one.
        """
        text = self.text(f"a number with its unit, such as 30 {usual or unit}")
        try:
            return parse_quantity(text, usual or unit).to(unit).value if text else None
        except QuantityError as error:
            self.say(error.expected, error.code, hint=error.hint)
            return None

    def difference(self, unit: str) -> float | None:
        """Return a difference, such as a tolerance, as a number of ``unit``."""
        text = self.text(f"a number with its unit, such as 30 {unit}")
        try:
            return parse_difference(text, unit) if text else None
        except QuantityError as error:
            self.say(error.expected, error.code, hint=error.hint)
            return None

    def duration(self, *, negative: bool = False) -> int | None:
        """Return a time in whole milliseconds; ``None`` after a problem."""
        try:
            text = self.text("a time such as 20 s")
            return parse_duration(text, negative=negative) if text else None
        except QuantityError as error:
            self.say(error.expected, error.code, hint=error.hint)
            return None

    def range(self, unit: str, tolerance: float = 0.0) -> Range | None:
        """Return a range in ``unit``; ``None`` after a problem."""
        try:
            text = self.text(f"a range such as 'at least 30 {unit}'")
            return parse_range(text, unit, tolerance) if text else None
        except QuantityError as error:
            self.say(error.expected, error.code, hint=error.hint)
            return None


def text_of(place: Place | None) -> str:
    """Return the text as written; empty where nothing is written."""
    return place.text() if place is not None else ""


def _one_of(allowed: Collection[str]) -> str:
    return listed(list(allowed), "or")
