"""A session as xAPI statements (version 1.0.3; IEEE 9274.1.1 takes them too), one for each person.

Rules of this file:

- The actor is an account with an opaque name: the trainee's code below the address that the
  hospital gives (xAPI 2.4.2.4). No name and no mailbox goes out.
- The score is the team's total of that session; ``scaled`` is the fraction of 1.
- A program's proposal is no success: ``success`` stands only where a person signed an outcome of
  a confirmed assessment, and that outcome stands.
- Rehearsals give no statements, since they are never evidence.
- Verbs and the type of activity are those of ADL's vocabulary; ids of our own stand below the
  hospital's address, since an id should be in a domain that its maker may use (xAPI 2.4.4.1).
- A statement's id follows from what it says: the same again is no second statement, and what was
  corrected is another one. Statements can't be changed (xAPI 2.3.1), so the earlier one has to be
  voided in the record store by whoever looks after it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import quote, urlsplit
from uuid import UUID, uuid5

import rfc8785

from simengine.cohort.records import SessionResult
from simengine.exchange.session_tables import people
from simengine.people.decisions import Outcomes, is_achieved

COMPLETED = "http://adlnet.gov/expapi/verbs/completed"
ATTEMPTED = "http://adlnet.gov/expapi/verbs/attempted"
SIMULATION = "http://adlnet.gov/expapi/activities/simulation"


def home_of(address: str) -> str:
    """Return an address as the home of codes. Raises ``ValueError`` if it is no web address."""
    try:
        parts = urlsplit(address)
        host, port = parts.hostname, parts.port
    except ValueError as error:
        raise ValueError(str(error)) from None
    if parts.scheme not in ("http", "https") or not host or not address.isascii():
        raise ValueError("it needs http:// or https:// and a host")
    if parts.query or parts.fragment or parts.username or parts.password or port == 0:
        raise ValueError("it may hold a host and a path, and nothing else")
    if set(address) & set(' "<>\\^`{|}') or not address.isprintable():
        raise ValueError("it holds a character that no address may have")
    return address.rstrip("/")


def statements(
    result: SessionResult, home: str, *, outcomes: Outcomes | None = None
) -> Iterator[dict[str, Any]]:
    """Yield a statement for each person of a session's team, in the order of the roles.

    ``home``: the address that codes and ids stand below, see ``home_of``. ``outcomes``: what people
    signed of this session.
    """
    if result.purpose == "rehearsal":
        return
    for person in people(result):
        said = _statement(result, person, home, _success(outcomes, person))
        session = UUID(result.session)
        yield {"id": str(uuid5(session, rfc8785.dumps(said).decode())), **said}


def duration(seconds: float) -> str:
    """Return a duration as ISO 8601, to 0.01 s as xAPI 4.6 asks: ``PT312.4S``."""
    hundredths = round(seconds * 100)
    whole, part = divmod(hundredths, 100)
    return f"PT{whole}.{part:02d}S" if part else f"PT{whole}S"


def _statement(
    result: SessionResult, person: str, home: str, success: bool | None
) -> dict[str, Any]:
    finished = result.closed == "finished"
    verb = COMPLETED if finished else ATTEMPTED
    roles = [role for role, held in result.team.items() if person in held]
    return {
        "actor": {"objectType": "Agent", "account": {"homePage": home, "name": person}},
        "verb": {"id": verb, "display": {"en": verb.rpartition("/")[2]}},
        "object": {
            "objectType": "Activity",
            "id": _iri(home, "scenarios", result.scenario),
            "definition": {"type": SIMULATION, "name": {"en": result.scenario_title}},
        },
        "result": _result(result, finished, success),
        "context": {
            "registration": str(UUID(result.session)),
            "revision": result.scenario_digest,
            "platform": f"simengine {result.program}",
            "contextActivities": {
                "grouping": [
                    {"objectType": "Activity", "id": _iri(home, "protocols", result.protocol)}
                ]
            },
            "extensions": {
                _iri(home, "extensions", "purpose"): result.purpose,
                _iri(home, "extensions", "roles"): roles,
                _iri(home, "extensions", "record-confirmed"): result.confirmed,
            },
        },
        "timestamp": _ended(result),
    }


def _result(result: SessionResult, finished: bool, success: bool | None) -> dict[str, Any]:
    told: dict[str, Any] = {"completion": finished, "duration": duration(result.duration_s)}
    if result.total is not None:
        told["score"] = {
            "scaled": result.total,
            "raw": 100 * result.total,
            "min": 0,
            "max": 100,
        }
    if success is not None:
        told["success"] = success
    return told


def _success(outcomes: Outcomes | None, person: str) -> bool | None:
    decision = outcomes.of(person) if outcomes is not None else None
    if outcomes is None or decision is None or outcomes.why_not_counted(person):
        return None
    return is_achieved(decision.outcome)


def _ended(result: SessionResult) -> str:
    """The instant of the session's end: its opening and the scenario time that it took."""
    end = datetime.fromisoformat(result.wall) + timedelta(seconds=result.duration_s)
    return end.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _iri(home: str, *parts: str) -> str:
    return "/".join([home, *(quote(part, safe="") for part in parts)])
