"""Named teams, kept to be taken again. People are codes."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert, select

from simengine.people.bookings import NamedTeam
from simengine.store.bookings import leave_rows, team_as_json, team_from_json
from simengine.store.store import Store
from simengine.store.tables import teams as teams_table


def teams(store: Store, *, limit: int | None) -> tuple[NamedTeam, ...]:
    """Return the teams that were kept last, newest first; all of them without a ``limit``."""
    c = teams_table.c
    query = select(c.name, c.team, c.unit).order_by(c.number.desc()).limit(limit)
    with store.reading() as connection:
        rows = connection.execute(query)
        return tuple(NamedTeam(row.name, team_from_json(row.team), row.unit) for row in rows)


def keep_team(store: Store, one: NamedTeam) -> None:
    """Keep a team under its name, in place of what was kept under it."""
    c = teams_table.c
    with store.begin() as connection:
        connection.execute(delete(teams_table).where(c.name == one.name))
        row = {"name": one.name, "unit": one.unit, "team": team_as_json(one.team)}
        connection.execute(insert(teams_table).values(**row))


def drop_team(store: Store, name: str) -> None:
    """Keep a team no longer."""
    with store.begin() as connection:
        connection.execute(delete(teams_table).where(teams_table.c.name == name))


def leave_teams(connection: Connection, code: str) -> int:
    """Take a person out of every kept team; return in how many they were."""
    return leave_rows(connection, teams_table, code)
