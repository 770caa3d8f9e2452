"""Small groups are not broken down in what is published.

Rules of this file:

- A group of fewer than ``least`` people is hidden wherever figures leave the unit's own
  coordinator: in reports and exports. The coordinator sees their own people.
- Where one group alone is hidden, or those hidden have fewer than ``least`` people together, the
  next smallest is hidden too: else the total less the others would tell it (in statistical
  disclosure control this is called secondary suppression; common practice).
- Nobody is no group: there is nothing to hide.
- Codes of erased people are another in each session, so how many people they were nobody knows:
  they count as one.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Mapping
from typing import TypeVar

from simengine.people.codes import is_erased

LEAST_PEOPLE = 5

_Group = TypeVar("_Group", bound=Hashable)


def hidden(
    people: Mapping[_Group, Collection[str]], least: int = LEAST_PEOPLE, *, total_shown: bool = True
) -> frozenset[_Group]:
    """Return the groups that are not to be broken down.

    ``people``: group → the codes in it, each person once. ``total_shown``: the figure of all groups
    together is published too, from which a single hidden one could be told.
    """
    sizes = {group: how_many(codes) for group, codes in people.items()}
    out = {group for group, size in sizes.items() if 0 < size < least}
    if out and total_shown:
        rest = sorted(
            (group for group, size in sizes.items() if size >= least),
            key=lambda group: (sizes[group], str(group)),
        )
        while rest and (len(out) == 1 or sum(sizes[group] for group in out) < least):
            out.add(rest.pop(0))
    return frozenset(out)


def how_many(codes: Iterable[str]) -> int:
    """Return how many people these codes are at least."""
    known = set(codes)
    erased = sum(is_erased(code) for code in known)
    return len(known) - erased + min(erased, 1)
