"""Everything that is kept of one person, as one JSON value for that person.

Rules of this file:

- What is the person's own stands whole; of others nothing: no code, no name, no item that is
  somebody else's. What the team did together is told as the team's.
- Who looked at the person's record is part of it.
- How a rehearsal went is told to the person alone: to anybody else, when it was and what.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from simengine import __version__
from simengine.cohort.records import ItemResult, SessionResult
from simengine.exchange.bundle import CAUTION
from simengine.people.decisions import Decision, Outcomes
from simengine.problems import InputError, Problem
from simengine.store import Store, consents, own_words
from simengine.store.accounts import account_of_trainee
from simengine.store.attendances import attendances
from simengine.store.bookings import bookings_of
from simengine.store.erasing_rows import took_part
from simengine.store.outcomes import outcomes_of
from simengine.store.people import roster_of
from simengine.store.read_log import accesses
from simengine.store.shared_debriefs import shared_by
from simengine.store.teams import teams


def person_as_json(store: Store, code: str, own: bool = True) -> dict[str, Any]:
    """Return what is kept of a person; ``own``: the person is who asks for it.

    Raises ``InputError`` if nothing is known under the code.
    """
    theirs = roster_of(store, code=code)
    known = theirs.trainees[0] if theirs.trainees else None
    results = list(store.results(trainee=code))
    closed = frozenset[str]() if own else _rehearsals(results)
    sessions = [_session(result, code, result.session in closed) for result in results]
    if known is None and not sessions:
        expected = "the code of somebody in the roster or in a session"
        raise InputError([Problem(code, 0, 0, "", expected, repr(code), "unknown-person")])
    return {
        "about": "Everything that this copy of simengine keeps of one person. Of other people "
        "there is nothing in it; what a team did together is told as the team's.",
        "caution": CAUTION,
        "program": __version__,
        "code": code,
        "person": None if known is None else _plain(asdict(known)),
        "leaves": [_plain(asdict(leave)) for leave in theirs.leaves],
        "certificates": [_plain(asdict(certificate)) for certificate in theirs.certificates],
        "attendances": [_plain(asdict(attendance)) for attendance in attendances(store, code=code)],
        "sessions": sessions,
        "outcomes": [_outcome(outcomes, code) for outcomes in outcomes_of(store, code)],
        "entries": [
            entry
            for session in _took_part(store, code)
            if session not in closed
            for entry in _entries(store, session, code)
        ],
        "sessions to come": [
            {
                "day": booking.day.isoformat(),
                "starts": booking.starts,
                "place": booking.place,
                "scenario": booking.scenario,
                "roles": [role for role, codes in booking.team.items() if code in codes],
            }
            for booking in bookings_of(store, code, date.min)
        ],
        "kept teams": [team.name for team in teams(store, limit=None) if code in team.people],
        "account": _account(store, code),
        "agreed to": [
            {"use": consent.use, "given": consent.given, "wall": consent.wall}
            for consent in consents.of_person(store, code)
        ],
        "own words": [
            {name: value for name, value in asdict(text).items() if name != "code"}
            for text in own_words.of_person(store, code)
        ],
        "shares the debriefs of": shared_by(store, code),
        "read by": [
            {"wall": access.wall, "who": access.who, "role": access.role, "page": access.page}
            for access in accesses(store, code)
        ],
    }


def _took_part(store: Store, code: str) -> list[str]:
    """Return every session in which the person took part, those too that were put away."""
    with store.reading() as connection:
        return sorted(took_part(connection, code))


def _account(store: Store, code: str) -> dict[str, Any] | None:
    account = account_of_trainee(store, code)
    return None if account is None else {"name": account.name, "made": account.wall}


def _rehearsals(results: Sequence[SessionResult]) -> frozenset[str]:
    return frozenset(result.session for result in results if result.purpose == "rehearsal")


def _session(result: SessionResult, code: str, closed: bool) -> dict[str, Any]:
    """Return a session as it is told; ``closed``: when it was and what, and no more."""
    if closed:
        return {
            "opened": result.wall,
            "scenario": result.scenario,
            "title": result.scenario_title,
            "purpose": result.purpose,
        }
    return {
        "session": result.session,
        "opened": result.wall,
        "unit": result.unit,
        "scenario": result.scenario,
        "title": result.scenario_title,
        "protocol": result.protocol,
        "purpose": result.purpose,
        "roles": [role for role, held in result.team.items() if code in held],
        "closed": result.closed,
        "record confirmed": result.confirmed,
        "team's total, fraction of 1": result.total,
        "team's outcome, proposed": result.outcome,
        "items": list(_items(result, code)),
    }


def _entries(store: Store, session: str, code: str) -> Iterator[dict[str, Any]]:
    """Yield the entries of a log that the person wrote or that are about the person alone."""
    for event in store.as_kept(session).events:
        data = dict(event.data)
        if event.by == code or data.pop("person", None) == code:
            whose = "written by the person" if event.by == code else "about the person"
            entry = {"session": session, "wall": event.wall, "kind": event.kind, "whose": whose}
            yield entry if event.kind == "opened" else {**entry, "data": data}


def _items(result: SessionResult, code: str) -> Iterator[dict[str, Any]]:
    for item in result.items:
        if item.person in (None, code):
            yield {"whose": "the team's" if item.person is None else "own", **_item(item)}


def _item(item: ItemResult) -> dict[str, Any]:
    return {
        "id": item.id,
        "title": item.title,
        "verdict": item.verdict,
        "credit, fraction of 1": item.credit,
        "time, s": item.time_s,
        "with a cue": item.with_cue,
    }


def _outcome(outcomes: Outcomes, code: str) -> dict[str, Any]:
    mine = [decision for decision in outcomes.decisions if decision.person in (None, code)]
    return {
        "session": outcomes.session,
        "decisions": [_decision(decision, code) for decision in mine],
        "why it says nothing of the person": outcomes.why_not_counted(code),
    }


def _decision(decision: Decision, code: str) -> dict[str, Any]:
    return {
        "whose": "the team's" if decision.person is None else "own",
        "outcome": decision.outcome,
        "standing": decision.standing(code),
        "signed by": [
            {"name": signer.name, "credentials": signer.credentials, "wall": signer.wall}
            for signer in decision.signers
        ],
        "appeals": [
            {"wall": appeal.wall, "text": appeal.text, "answered": appeal.answered is not None}
            for appeal in decision.appeals
            if appeal.person in (None, code)
        ],
    }


def _plain(value: Any) -> Any:
    """Return days as text, tuples as lists."""
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    return value.isoformat() if isinstance(value, date) else value
