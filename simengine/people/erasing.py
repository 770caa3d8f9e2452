"""Taking a person out of a record: the code and the name go, everything else stays.

Rules of this file:

- The code is replaced by one that stands for nobody (``simengine.people.codes``), so that who did
  what within one session still reads; the name is replaced by ``[erased]``.
- A code counts wherever it stands as a word. One of fewer than four letters is looked for only
  where a record names people, since it may mean anything in a sentence.
- A name counts whatever its case and blanks, forwards (Anna Berg) and as a list has it (Berg,
  Anna). A name of one word may be anybody's: it counts only in sessions in which the person took
  part.
- First names, nicknames and initials are not known to be this person's: what may be one is listed
  for somebody to look at, and left.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from simengine.session.chain import FIRST, linked
from simengine.session.events import Event

NOBODY = "[erased]"

_SHORT = 4
_LEAST_PART = 3
_NAMES_PEOPLE = frozenset(("person", "by", "team", "code", "whom", "who"))


@dataclass(frozen=True)
class Person:
    """Who is taken out. ``name`` is empty where nobody knows it or another person has it too, and
    ``code`` where words are taken out and no person.

    ``also``: other names of the person, such as a nickname or a name of before.
    """

    code: str
    name: str = ""
    also: tuple[str, ...] = ()

    @cached_property
    def code_pattern(self) -> re.Pattern[str] | None:
        """Finds the code in a sentence; ``None`` where it is too short for that."""
        if len(self.code) < _SHORT:
            return None
        return re.compile(rf"(?<![\w-]){re.escape(self.code)}(?![\w-])")

    @property
    def names(self) -> tuple[tuple[str, ...], ...]:
        """The words of each name."""
        return tuple(tuple(name.split()) for name in (self.name, *self.also) if name.strip())

    @cached_property
    def own_pattern(self) -> re.Pattern[str] | None:
        """Finds any of the names, in what is about the person."""
        return _pattern(self.names)

    @cached_property
    def name_pattern(self) -> re.Pattern[str] | None:
        """Finds the names that are nobody else's anywhere."""
        return _pattern([words for words in self.names if len(words) > 1])

    @cached_property
    def part_pattern(self) -> re.Pattern[str] | None:
        """Finds what may be a part of the name."""
        return _pattern([(word,) for word in self.name.split() if len(word) >= _LEAST_PART])


def _pattern(names: Sequence[Sequence[str]]) -> re.Pattern[str] | None:
    ways = []
    for name in names:
        words = [re.escape(word) for word in name]
        ways.append(r"\s+".join(words))
        if len(words) > 1:
            ways.append(rf"{words[-1]}\s*,\s*" + r"\s+".join(words[:-1]))
    if not ways:
        return None
    return re.compile(rf"(?<![\w-])(?:{'|'.join(ways)})(?![\w-])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Erasing:
    """Takes one person out of one record, in which ``instead`` stands for them from now on.

    ``took_part``: the record is of a session in which the person took part.
    """

    person: Person
    instead: str
    took_part: bool = True

    def text(self, text: str) -> str:
        """Return a text without the person; the same object where it does not name them."""
        out = unicodedata.normalize("NFC", text)
        replaced = 0
        if self.person.code_pattern is not None:
            out, replaced = self.person.code_pattern.subn(self.instead, out)
        names = self.person.own_pattern if self.took_part else self.person.name_pattern
        if names is not None:
            out, more = names.subn(NOBODY, out)
            replaced += more
        return out if replaced else text

    def json(self, value: Any, key: str = "") -> Any:
        """Return JSON values without the person; ``key``: under which name they stand."""
        if isinstance(value, str):
            if self.person.code and value == self.person.code and key in _NAMES_PEOPLE:
                return self.instead
            return self.text(value)
        if isinstance(value, Mapping):
            named = key if key == "team" else ""
            return {self.text(name): self.json(part, named or name) for name, part in value.items()}
        if isinstance(value, Sequence):
            return [self.json(part, key) for part in value]
        return value

    def event(self, event: Event) -> Event:
        """Return an event without the person; its place in the chain is not made anew."""
        data = self.json(event.data)
        named = bool(self.person.code) and event.by == self.person.code
        by = self.instead if named else self.text(event.by)
        return event if (data, by) == (event.data, event.by) else replace(event, data=data, by=by)


def resealed(events: Sequence[Event], erasing: Erasing) -> tuple[tuple[Event, ...], int]:
    """Return a log without a person as a whole chain, and how many events were changed.

    From the first event that named the person on, every hash is another.
    """
    out: list[Event] = []
    changed = 0
    prev = FIRST
    for event in events:
        without = erasing.event(event)
        changed += without is not event
        out.append(linked(without, prev) if changed else event)
        prev = out[-1].hash
    return tuple(out), changed


def parts_left(events: Sequence[Event], person: Person) -> tuple[tuple[int, str], ...]:
    """Return the texts of a log that hold what may be a part of the name: ``seq`` and words."""
    pattern = person.part_pattern
    if pattern is None:
        return ()
    return tuple(
        (event.seq, text)
        for event in events
        for text in _texts(event.data)
        if pattern.search(unicodedata.normalize("NFC", text))
    )


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, Mapping):
        return [text for part in value.values() for text in _texts(part)]
    if isinstance(value, Sequence):
        return [text for part in value for text in _texts(part)]
    return []
