"""Units and codes that come from outside, held against the roster.

Rules of this file:

- A unit is the roster's whatever its case and blanks, and is then spelt as there.
- One that is nobody's is asked about: a slip would found a unit of its own. Where there is no
  roster there is nothing to ask.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from simengine.nearest_name import name_hint
from simengine.people.alike import same_key
from simengine.problems import Problem


def unit_of_roster(unit: str, units: Collection[str]) -> str | None:
    """Return how the roster spells a unit; ``None`` where it has units, and not this one."""
    if not units or unit in units:
        return unit
    return {same_key(known): known for known in units}.get(same_key(unit))


def unknown_unit(place: str, unit: str, units: Collection[str], hint: str) -> Problem:
    """Return the question about a unit that the roster does not have. ``hint``: what to do."""
    near = name_hint(unit, sorted(units))
    hints = "; ".join(part for part in (near, hint) if part)
    return Problem(
        place, 0, 0, "unit", "a unit of the roster", f"'{unit[:80]}'", "unit-unknown", hint=hints
    )


def unknown_codes(place: str, codes: Iterable[str], known: Collection[str]) -> list[Problem]:
    """Return a question about each code that nobody on the roster has."""
    if not known:
        return []
    out = []
    for code in sorted(set(codes) - set(known)):
        near = name_hint(code, sorted(known))
        out.append(
            Problem(
                place, 0, 0, "team", "codes of people on the roster", f"'{code}'", "code-unknown",
                "warning", hint=near if near.startswith("did you mean") else "",
            )
        )  # fmt: skip
    return out
