"""The right name that is nearest to a wrong one, and the question whether it was meant.

Rules of this file:

- It is for people's slips: not for a name longer than any, and not among more names than anybody
  types.
- A name that is near but for capitals, blanks and hyphens is near.
"""

from __future__ import annotations

from collections.abc import Collection

_LONGEST_NAME = 100
_MOST_NAMES = 1000
_MOST_LISTED = 8


def nearest_name(name: str, allowed: Collection[str]) -> str | None:
    """Return which of the allowed names is most like ``name``, if any is."""
    if len(name) > _LONGEST_NAME or len(allowed) > _MOST_NAMES:
        return None
    from difflib import get_close_matches

    near = get_close_matches(name, allowed, n=1)
    if not near:
        lower = {other.lower(): other for other in allowed}
        tidy = name.strip().lower().replace(" ", "_").replace("-", "_")
        near = [lower[key] for key in get_close_matches(tidy, lower, n=1)]
    return near[0] if near else None


def did_you_mean(name: str, allowed: Collection[str]) -> str:
    """Ask whether the nearest name was meant; empty where none is near."""
    near = nearest_name(name, allowed)
    return f"did you mean '{near}'?" if near is not None else ""


def name_hint(name: str, allowed: Collection[str]) -> str:
    """Ask whether the nearest name was meant, or list the names if they are few, as a hint."""
    if hint := did_you_mean(name, allowed):
        return hint
    if not allowed:
        return "there are none"
    return f"there are: {', '.join(allowed)}" if len(allowed) <= _MOST_LISTED else ""
