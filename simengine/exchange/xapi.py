"""A session as xAPI statements (version 1.0.3; IEEE 9274.1.1 takes them too): its team's and each
person's.

Rules of this file:

- The actor is an account with an opaque name: the trainee's code below the address that the
  hospital gives (xAPI 2.4.2.4). No name and no mailbox goes out. A team is an identified group
  (2.4.2.2) whose account is the session.
- The team's total is the team's: it stands in the team's statement alone. A person's score is the
  weighted mean credit of that person's own items, as a confirmed record tells them; who has none
  has no score.
- A signed outcome that stands of a confirmed assessment is ``passed`` or ``failed``; a program's
  proposal is neither. All else is ``completed`` where the session was finished, else ``attempted``.
- A formative session has no score: it is practice, and nobody's result.
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
PASSED = "http://adlnet.gov/expapi/verbs/passed"
FAILED = "http://adlnet.gov/expapi/verbs/failed"
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
    """Yield the statement of a session's team, then each person's in the order of the roles.

    ``home``: the address that codes and ids stand below, see ``home_of``. ``outcomes``: what people
    signed of this session.
    """
    if result.purpose == "rehearsal":
        return
    session = UUID(result.session)
    team = _team(result, home)
    all_statements = []
    if people(result):
        all_statements.append(_statement(result, home, team, None, result.total, {}))
    for person in people(result):
        success = _success(outcomes, person)
        share, items = own_share(result, person)
        context = {
            "team": team,
            "extensions": {
                _iri(home, "extensions", "roles"): [
                    role for role, held in result.team.items() if person in held
                ],
                _iri(home, "extensions", "own-items"): items,
            },
        }
        all_statements.append(
            _statement(result, home, _agent(home, person), success, share, context)
        )
    for statement in all_statements:
        yield {"id": str(uuid5(session, rfc8785.dumps(statement).decode())), **statement}


def own_share(result: SessionResult, person: str) -> tuple[float | None, int]:
    """Return the weighted mean credit of a person's own items (of 1), and how many they are.

    Of a record that nobody has confirmed it is ``None``.
    """
    own = [(item.weight, item.credit) for item in result.items if item.person == person]
    known = [(weight, credit) for weight, credit in own if credit is not None]
    weight = sum(each for each, _ in known)
    if not result.confirmed or not weight:
        return None, len(known)
    return sum(each * credit for each, credit in known) / weight, len(known)


def duration(seconds: float) -> str:
    """Return a duration as ISO 8601, to 0.01 s as xAPI 4.6 asks: ``PT312.4S``."""
    hundredths = round(seconds * 100)
    whole, part = divmod(hundredths, 100)
    return f"PT{whole}.{part:02d}S" if part else f"PT{whole}S"


def _agent(home: str, name: str) -> dict[str, Any]:
    return {"objectType": "Agent", "account": {"homePage": home, "name": name}}


def _team(result: SessionResult, home: str) -> dict[str, Any]:
    return {
        "objectType": "Group",
        "account": {"homePage": home, "name": f"team-of-{result.session}"},
        "member": [_agent(home, person) for person in people(result)],
    }


def _statement(
    result: SessionResult,
    home: str,
    actor: dict[str, Any],
    success: bool | None,
    share: float | None,
    context: dict[str, Any],
) -> dict[str, Any]:
    finished = result.closed == "finished"
    verb = COMPLETED if finished else ATTEMPTED
    if success is not None:
        verb = PASSED if success else FAILED
    return {
        "actor": actor,
        "verb": {"id": verb, "display": {"en": verb.rpartition("/")[2]}},
        "object": {
            "objectType": "Activity",
            "id": _iri(home, "scenarios", result.scenario),
            "definition": {"type": SIMULATION, "name": {"en": result.scenario_title}},
        },
        "result": _result(result, finished, success, share),
        "context": {
            **context,
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
                _iri(home, "extensions", "record-confirmed"): result.confirmed,
                **context.get("extensions", {}),
            },
        },
        "timestamp": _ended(result),
    }


def _result(
    result: SessionResult, finished: bool, success: bool | None, share: float | None
) -> dict[str, Any]:
    outcome: dict[str, Any] = {"completion": finished, "duration": duration(result.duration_s)}
    if share is not None and result.purpose == "summative":
        outcome["score"] = {"scaled": share, "raw": 100 * share, "min": 0, "max": 100}
    if success is not None:
        outcome["success"] = success
    return outcome


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
