"""What a cohort report is made of, from the store."""

from __future__ import annotations

from datetime import date

from sqlalchemy import func, select, union

from simengine.cohort.consented import told_apart
from simengine.cohort_report.material import Material
from simengine.store import consents, people
from simengine.store.outcomes import outcomes_within
from simengine.store.store import Store
from simengine.store.tables import events, postings, results
from simengine.store.threats import threats


def material_of(
    store: Store,
    *,
    title: str,
    unit: str | None,
    since: date,
    until: date,
    today: date,
    published: bool = False,
) -> Material:
    """Return everything of a unit (all units with ``None``) and a period, both days counted.

    What people did who are not to be counted under their code is the team's.
    """
    counts = consents.counts(store)
    c = results.c
    signed = (
        select(events.c.session)
        .join(results, c.session == events.c.session)
        .where(events.c.kind == "signed", c.current, c.day >= since, c.day <= until)
        .distinct()
    )
    with store.reading() as connection:
        ids = connection.execute(signed).scalars().all()
        # a signature where there was no outcome to sign counts for nothing
        decided = [id_ for id_ in ids if outcomes_within(connection, id_).decisions]
    return Material(
        title=title,
        today=today,
        since=since,
        until=until,
        unit=unit,
        results=[
            told_apart(result, counts)
            for result in store.results(unit=unit, since=since, until=until)
        ],
        roster=people.roster(store),
        standing=people.currency_on(store, today),
        signed=frozenset(decided),
        threats=threats(store, unit=unit),
        published=published,
    )


def units_of(store: Store) -> tuple[str, ...]:
    """Return the units that have sessions or people, by name."""
    named = union(
        select(results.c.unit).where(results.c.current, results.c.unit.is_not(None)),
        select(postings.c.unit),
    )
    with store.reading() as connection:
        return tuple(sorted(connection.execute(named).scalars()))


def first_day(store: Store) -> date | None:
    """Return the day of the first session with a result; ``None`` without any."""
    with store.reading() as connection:
        first: date | None = connection.execute(
            select(func.min(results.c.day)).where(results.c.current)
        ).scalar()
    return first
