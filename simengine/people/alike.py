"""Names of units, professions and people as offices write them: the same, or nearly.

Rules of this file:

- Case, blanks at the ends and how many blanks stand between words make no other name: ``Birth
  Centre`` is ``birth  centre``.
- Nearly the same are two names that differ in dashes and dots alone, or in one slip of the pen in
  one longer word (``Birth centre``, ``Brith centre``; but ward 3 and ward 4, north and south are
  two): somebody is to be asked whether they mean one thing.
- Only names with the same letters, or with the same words but one that begins or ends alike, are
  laid side by side (a slip leaves one of the two as it is), so that a region is read in a moment.
- The spelling that was there first is kept.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from itertools import combinations

_LONG = 4


def same_key(text: str) -> str:
    """Return what names that are the same have in common."""
    return " ".join(unicodedata.normalize("NFKC", text).split()).casefold()


def nearly_the_same(names: Iterable[str]) -> list[tuple[str, str]]:
    """Return pairs of names that are not the same and may be meant to be."""
    keys = {same_key(name): name for name in names}
    beside: dict[tuple[str, ...], list[str]] = {}
    for key in sorted(keys):
        words = key.split()
        beside.setdefault((_bare(key),), []).append(key)
        for place, word in enumerate(words):
            for part in (f"{word[0]}…", f"…{word[-1]}"):
                beside.setdefault((*words[:place], part, *words[place + 1 :]), []).append(key)
    pairs = {pair for some in beside.values() for pair in combinations(some, 2) if _nearly(*pair)}
    return [(keys[key], keys[other]) for key, other in sorted(pairs)]


def _bare(key: str) -> str:
    return re.sub(r"[\W_]+", "", key)


def _nearly(name: str, other: str) -> bool:
    if _bare(name) == _bare(other):
        return True
    words = list(zip(name.split(), other.split(), strict=False))
    if len(name.split()) != len(other.split()):
        return False
    ((left, right), *more) = [pair for pair in words if pair[0] != pair[1]]
    return not more and min(len(left), len(right)) >= _LONG and _one_slip(left, right)


def _one_slip(word: str, other: str) -> bool:
    """Whether one letter more, one less, another or two changed about make one word the other."""
    if any(letter.isdigit() for letter in word + other):
        return False
    short, long = sorted((word, other), key=len)
    if len(long) - len(short) > 1:
        return False
    place = next((n for n, sign in enumerate(short) if sign != long[n]), len(short))
    if len(short) < len(long):
        return short[place:] == long[place + 1 :]
    swapped = short[place : place + 2] == long[place : place + 2][::-1]
    return short[place + 1 :] == long[place + 1 :] or (
        swapped and short[place + 2 :] == long[place + 2 :]
    )


class Spellings:
    """The one spelling of each name; ``merged``: others that were read as one that was there."""

    def __init__(self, known: Iterable[str] = ()) -> None:
        """``known``: names that are there already, the first of each as it is spelt."""
        self._spelt: dict[str, str] = {}
        self.merged: dict[str, str] = {}
        for name in known:
            self._spelt.setdefault(same_key(name), name)

    def of(self, name: str) -> str:
        """Return how a name is spelt; its own way where it is new."""
        spelt = self._spelt.setdefault(same_key(name), name)
        if spelt != name:
            self.merged[name] = spelt
        return spelt

    def __contains__(self, name: str) -> bool:
        """Whether the name is there, however spelt."""
        return same_key(name) in self._spelt

    def names(self) -> list[str]:
        """Return every name as it is spelt."""
        return sorted(self._spelt.values())
