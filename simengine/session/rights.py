"""Who may record what: one table of rights, by role and by kind of event.

Rules of this file:

- Every kind of the log's schema has a row, and a kind without one may be recorded by nobody.
- It is checked where an entry is accepted, whoever sent it and by whatever page: in the console's
  live session, and in the store for what is said of an outcome. A page that leaves a button out
  protects nothing.
- Who came with a join code is an observer: observers write down what the team does, correct what
  they wrote themselves, and do so while the session runs. Their code ends for good with it.
- The program's own entries (automatic states, an end that comes by itself) are the engine's, which
  asks nobody.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from simengine.session.events import Kind
from simengine.session.live import RefusedError

Who = Literal["educator", "observer", "coordinator", "trainee"]
WHO: tuple[Who, ...] = get_args(Who)

Extent = Literal["any", "own", "as found"]
"""How far a right goes: any entry; entries of one's own; a fault that was found or put right."""

_EDUCATOR: Mapping[Who, Extent] = {"educator": "any"}
_AT_THE_COT: Mapping[Who, Extent] = {"educator": "any", "observer": "any"}
_TEACHES: Mapping[Who, Extent] = {"educator": "any", "coordinator": "any"}
_EVERYBODY_NAMED: Mapping[Who, Extent] = {**_TEACHES, "trainee": "own"}

RIGHTS: Mapping[Kind, Mapping[Who, Extent]] = {
    "opened": _EDUCATOR,
    "event": _EDUCATOR,
    "action": _AT_THE_COT,
    "set": _AT_THE_COT,
    "state": _EDUCATOR,
    "reveal": _EDUCATOR,
    "cue": _EDUCATOR,
    "fault": {"educator": "any", "observer": "as found"},
    "note": _AT_THE_COT,
    "pause": _EDUCATOR,
    "resume": _EDUCATOR,
    "hold": _EDUCATOR,
    "release": _EDUCATOR,
    "amend": {"educator": "any", "observer": "own"},
    "undone": _EDUCATOR,
    "joined": _EDUCATOR,
    "left": _EDUCATOR,
    "role": _EDUCATOR,
    "information": _EDUCATOR,
    "unobserved": _EDUCATOR,
    "unavailable": _EDUCATOR,
    "skip": _EDUCATOR,
    "returned": _EDUCATOR,
    "confirmed": _EDUCATOR,
    "signed": _TEACHES,
    "appealed": _EVERYBODY_NAMED,
    "superseded": _TEACHES,
    "put_away": _EDUCATOR,
    "closed": _EDUCATOR,
}

_CALLED: Mapping[Who, str] = {
    "educator": "an educator",
    "observer": "somebody with a join code",
    "coordinator": "the coordinator",
    "trainee": "a trainee",
}


@dataclass(frozen=True, slots=True)
class Recorder:
    """Who records: ``key``, which stands in the log as ``by``, and as what.

    ``code``: of a trainee, whose own outcomes they may speak of.
    """

    key: str
    who: Who
    code: str = ""


def kinds_for(who: Who) -> tuple[Kind, ...]:
    """Return the kinds of which somebody may record at least some entries."""
    return tuple(kind for kind, rights in RIGHTS.items() if who in rights)


def check_right(
    recorder: Recorder,
    kind: Kind,
    data: Mapping[str, Any],
    *,
    closed: bool,
    written_by: Mapping[str, str],
) -> None:
    """Raise ``RefusedError`` unless this may be recorded by who sent it.

    ``closed``: the session has ended. ``written_by``: the id of each entry → the key of who
    recorded it.
    """
    extent = RIGHTS.get(kind, {}).get(recorder.who)
    if extent is None:
        who = _CALLED[recorder.who].capitalize()
        raise RefusedError("no-right", f"{who} can't record this: {_by(kind)}.")
    if recorder.who == "observer" and closed:
        raise RefusedError("no-right", "The session has ended, and join codes end with it.")
    if extent == "own" and not _is_own(recorder, kind, data, written_by):
        raise RefusedError("no-right", "This concerns somebody else. An educator can do it.")
    if extent == "as found" and data.get("status") == "planted":
        raise RefusedError("no-right", "Faults are planted by an educator.")


def _is_own(
    recorder: Recorder, kind: Kind, data: Mapping[str, Any], written_by: Mapping[str, str]
) -> bool:
    if kind == "amend":
        return written_by.get(str(data.get("id"))) == recorder.key
    return bool(recorder.code) and data.get("person") == recorder.code


def _by(kind: Kind) -> str:
    may = [_CALLED[who] for who in WHO if who in RIGHTS.get(kind, {})]
    return f"it is for {' or '.join(may)}" if may else "nobody may"
