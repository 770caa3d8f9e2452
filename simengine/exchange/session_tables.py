"""The tables that are exported, one row a session, a role's holder, an item or a fault.

Rules of this file:

- They hold trainee codes and never names: who a code is stays with the coordinator.
- Every table begins with ``session``, by which they are joined.
- Credits and totals are fractions of 1, unrounded; times are seconds of scenario time.
"""

from __future__ import annotations

from typing import Any, TypeAlias, get_args

from simengine.cohort.records import FaultResult, ItemResult, Purpose, SessionResult
from simengine.columns import Column, Table
from simengine.scenario.key import Importance
from simengine.scenario.kinds import CLASSES
from simengine.scoring.card import Verdict

_Held: TypeAlias = tuple[SessionResult, str, str]
_Item: TypeAlias = tuple[SessionResult, ItemResult]
_Fault: TypeAlias = tuple[SessionResult, FaultResult]

_SESSION_MEANS = "the session's id, a UUID"
FRACTION = "fraction of 1"
ENDS = ("finished", "stopped early", "safety stop")
OUTCOMES = ("achieved", "not yet achieved", "too close to call")


def _low(result: SessionResult) -> float | None:
    return None if result.interval is None else result.interval[0]


def _high(result: SessionResult) -> float | None:
    return None if result.interval is None else result.interval[1]


SESSIONS: Table[SessionResult] = Table(
    "sessions",
    "one row for each session",
    (
        Column("session", "text", _SESSION_MEANS, lambda result: result.session),
        Column("day", "day", "the day of its opening in UTC", lambda result: result.day),
        Column(
            "opened", "instant", "the instant of its opening in UTC", lambda result: result.wall
        ),
        Column(
            "unit",
            "text",
            "where it was held; empty where nobody said",
            lambda result: result.unit,
            optional=True,
        ),
        Column("scenario", "text", "the scenario's id", lambda result: result.scenario),
        Column(
            "scenario_title", "text", "the scenario's title", lambda result: result.scenario_title
        ),
        Column(
            "scenario_digest",
            "text",
            "SHA-256 of the scenario that scored it",
            lambda result: result.scenario_digest,
        ),
        Column("protocol", "text", "the protocol's id", lambda result: result.protocol),
        Column(
            "protocol_digest",
            "text",
            "SHA-256 of the protocol that scored it",
            lambda result: result.protocol_digest,
        ),
        Column(
            "program",
            "text",
            "the version of simengine that scored it",
            lambda result: result.program,
        ),
        Column(
            "purpose",
            "text",
            "what it was held for; a rehearsal is never evidence",
            lambda result: result.purpose,
            allowed=get_args(Purpose),
        ),
        Column(
            "confirmed",
            "yes or no",
            "whether a person has confirmed the record",
            lambda result: result.confirmed,
        ),
        Column(
            "closed",
            "text",
            "how it ended; empty where its log has no end",
            lambda result: result.closed,
            allowed=ENDS,
            optional=True,
        ),
        Column(
            "duration_s", "number", "how long it took", lambda result: float(result.duration_s), "s"
        ),
        Column(
            "total",
            "number",
            "the total; empty where nothing applied, and of a rehearsal, of which no item is told",
            lambda result: result.total,
            FRACTION,
            ("0 to 1",),
            optional=True,
        ),
        Column(
            "total_low",
            "number",
            "low end of the total's 90 % interval for recording error; empty without one",
            _low,
            FRACTION,
            ("0 to 1",),
            optional=True,
        ),
        Column(
            "total_high",
            "number",
            "high end of the total's 90 % interval for recording error; empty without one",
            _high,
            FRACTION,
            ("0 to 1",),
            optional=True,
        ),
        Column(
            "outcome",
            "text",
            "the outcome that the program proposes, which a person has still to sign; empty where "
            "it proposes none",
            lambda result: result.outcome,
            allowed=OUTCOMES,
            optional=True,
        ),
        Column(
            "standard",
            "number",
            "the pass total of the scenario's recorded standard; empty without one",
            lambda result: result.standard,
            FRACTION,
            ("0 to 1",),
            optional=True,
        ),
        Column(
            "unsafe",
            "text",
            "the names, with a blank between them, of what was unsafe in any baby; empty where "
            "nothing was",
            lambda result: " ".join(result.unsafe) or None,
            optional=True,
        ),
        Column(
            "people",
            "whole number",
            "how many people held a role",
            lambda result: len(people(result)),
        ),
        Column(
            "recorders", "whole number", "how many devices recorded", lambda result: len(result.by)
        ),
    ),
    lambda result: iter((result,)),
)


TEAM: Table[_Held] = Table(
    "team",
    "one row for each role and each person who held it at any time",
    (
        Column("session", "text", _SESSION_MEANS, lambda row: row[0].session),
        Column("role", "text", "the role's name in the scenario", lambda row: row[1]),
        Column("person", "text", "the trainee's code", lambda row: row[2]),
    ),
    lambda result: (
        (result, role, person) for role, held in result.team.items() for person in held
    ),
)


def _item(name: str, type_: Any, meaning: str, unit: str = "", **more: Any) -> Column[_Item]:
    """Return a column that takes the item's field of its own name."""
    return Column(name, type_, meaning, lambda row: getattr(row[1], name), unit, **more)


ITEMS: Table[_Item] = Table(
    "items",
    "one row for each item of the marking guide in each session",
    (
        Column("session", "text", _SESSION_MEANS, lambda row: row[0].session),
        Column("item", "text", "the item's id in the scenario", lambda row: row[1].id),
        _item("title", "text", "the item in words"),
        _item("kind", "text", "the kind of item", allowed=tuple(CLASSES)),
        _item("importance", "text", "how much it matters", allowed=get_args(Importance)),
        Column("weight", "number", "its weight in the total", lambda row: float(row[1].weight)),
        _item("applied", "yes or no", "whether it counts in this session's total"),
        _item(
            "credit",
            "number",
            "its credit; empty where it was not reached",
            FRACTION,
            allowed=("0 to 1",),
            optional=True,
        ),
        _item("verdict", "text", "what was found", allowed=get_args(Verdict)),
        _item("objective", "text", "the objective that it serves; empty without", optional=True),
        _item("phase", "text", "the phase that it belongs to; empty without", optional=True),
        _item("role", "text", "the role that it is asked of; empty for the team", optional=True),
        _item(
            "person",
            "text",
            "the trainee's code where one person alone held the role and the record is confirmed; "
            "empty where it is the team's",
            optional=True,
        ),
        _item("with_cue", "yes or no", "whether it was done after a cue"),
        _item(
            "time_s",
            "number",
            "from being asked to being done, negative where it was done before; empty where it was "
            "not done or has no time",
            "s",
            optional=True,
        ),
        _item(
            "watched_s",
            "number",
            "from being asked to the end of the time in which it could be seen: where time_s is "
            "empty, the time is censored there; empty where it has no time",
            "s",
            optional=True,
        ),
        _item(
            "limit_s", "number", "asked within; empty where there is no limit", "s", optional=True
        ),
    ),
    lambda result: ((result, item) for item in result.items),
)


def _fault(name: str, type_: Any, meaning: str, unit: str = "", **more: Any) -> Column[_Fault]:
    """Return a column that takes the fault's field of its own name."""
    return Column(name, type_, meaning, lambda row: getattr(row[1], name), unit, **more)


FAULTS: Table[_Fault] = Table(
    "faults",
    "one row for each fault of the equipment in each session",
    (
        Column("session", "text", _SESSION_MEANS, lambda row: row[0].session),
        Column("fault", "text", "the fault's id in the scenario", lambda row: row[1].id),
        _fault("title", "text", "the fault in words"),
        _fault("planted", "yes or no", "whether it was planted; no: it was met by chance"),
        _fault("found_s", "number", "until it was found; empty if it was not", "s", optional=True),
        _fault(
            "put_right_s",
            "number",
            "until it was put right; empty if it was not",
            "s",
            optional=True,
        ),
        _fault("watched_s", "number", "how long it could have been found", "s"),
    ),
    lambda result: ((result, fault) for fault in result.faults),
)

TABLES: tuple[Table[Any], ...] = (SESSIONS, TEAM, ITEMS, FAULTS)


def people(result: SessionResult) -> tuple[str, ...]:
    """Return the codes of everybody who held a role, each once."""
    return tuple(dict.fromkeys(person for held in result.team.values() for person in held))
