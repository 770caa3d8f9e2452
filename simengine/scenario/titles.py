"""Titles of scenarios as people tell them apart: copies often keep the title of the first.

Rules of this file:

- A title that scenarios of different ids share is told with the id; any other stands as it is.
- Titles are the same whatever their case and blanks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

Named = tuple[str, str]
"""(id, title)."""


def titles_apart(scenarios: Iterable[Named]) -> Mapping[Named, str]:
    """Return what to tell for each scenario, with its id where another has the same title."""
    named = set(scenarios)
    sharing: dict[str, set[str]] = {}
    for id_, title in named:
        sharing.setdefault(_key(title), set()).add(id_)
    return {
        (id_, title): f"{title} ({id_})" if len(sharing[_key(title)]) > 1 else title
        for id_, title in named
    }


def _key(title: str) -> str:
    return " ".join(title.split()).casefold()
