"""The table of signed outcomes: one row for each decision, with how it stands.

Rules of this file:

- Who signed is not in it, only that and when: names of assessors are in the audit page.
- What the program proposes is in the sessions' table; here is what people decided.
- Of whoever is not told apart there is no row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeAlias, get_args

from simengine.cohort.records import SessionResult
from simengine.columns import Column, Table
from simengine.people.decisions import Decision, Standing
from simengine.store import Store
from simengine.store.outcomes import outcomes_of_session

_Decided: TypeAlias = tuple[SessionResult, Decision]


def _everybody(_: str) -> bool:
    return True


def outcomes_table(store: Store, counts: Callable[[str], bool] = _everybody) -> Table[_Decided]:
    """Return the table, read from the logs in ``store``.

    ``counts``: whether a person may be told apart by their code.
    """

    def rows(result: SessionResult) -> Iterator[_Decided]:
        for decision in outcomes_of_session(store, result.session).decisions:
            if decision.person is None or counts(decision.person):
                yield result, decision

    return Table("outcomes", "one row for each outcome that a person signed", _COLUMNS, rows)


_COLUMNS: tuple[Column[_Decided], ...] = (
    Column("session", "text", "the session's id, a UUID", lambda pair: pair[0].session),
    Column(
        "person",
        "text",
        "the trainee's code where it is one person's own; empty where it is the team's",
        lambda pair: pair[1].person,
        optional=True,
    ),
    Column("outcome", "text", "the outcome that was signed", lambda pair: pair[1].outcome),
    Column(
        "standing",
        "text",
        "how it stands now; only what stands says anything",
        lambda pair: pair[1].standing(pair[1].person),
        allowed=get_args(Standing),
    ),
    Column(
        "signed",
        "instant",
        "the instant of the first signature in UTC",
        lambda pair: pair[1].signature.wall,
    ),
    Column(
        "signatures",
        "whole number",
        "how many people signed: the first, and who countersigned or disagreed",
        lambda pair: len(pair[1].signers),
    ),
    Column(
        "appeals",
        "whole number",
        "how many appeals were made against it",
        lambda pair: len(pair[1].appeals),
    ),
)
