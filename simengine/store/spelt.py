"""Units and people that a form names, as the roster spells them.

Rules of this file:

- Case and blanks make no other unit and no other code: a session of ``BIRTH  unit`` is the birth
  unit's. What the roster does not know stays as it was typed, for a roster may come later.
- A staff number is the key to the office's own list, so it is nobody's code: who typed one is told.
"""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import func, select

from simengine.people.alike import same_key
from simengine.people.whereabouts import unit_of_roster
from simengine.store.store import Store
from simengine.store.tables import postings, trainees

_MOST = 80  # letters of a unit's name


def unit_spelt(store: Store, typed: str) -> str:
    """Return a unit as the roster spells it, and as it was typed where the roster has it not."""
    unit = " ".join(typed.split())[:_MOST]
    with store.reading() as connection:
        known = connection.execute(select(postings.c.unit).distinct()).scalars().all()
    return (unit and unit_of_roster(unit, known)) or unit


def team_spelt(
    store: Store, team: Mapping[str, tuple[str, ...]]
) -> tuple[dict[str, tuple[str, ...]], list[str]]:
    """Return role → codes as the roster spells them, and what of them are staff numbers."""
    typed = {same_key(code) for codes in team.values() for code in codes}
    c = trainees.c
    with store.reading() as connection:
        of_roster = connection.execute(select(c.code).where(func.lower(c.code).in_(typed)))
        exact = set(of_roster.scalars())
        of_office = connection.execute(
            select(c.staff_number).where(func.lower(c.staff_number).in_(typed))
        )
        numbers = {same_key(number) for number in of_office.scalars()}
    spelt = {same_key(code): code for code in sorted(exact)}

    def of(code: str) -> str:
        return code if code in exact else spelt.get(same_key(code), code)

    named = {role: tuple(dict.fromkeys(map(of, codes))) for role, codes in team.items()}
    kept = {code for codes in named.values() for code in codes}
    return named, sorted(code for code in kept if code not in exact and same_key(code) in numbers)
