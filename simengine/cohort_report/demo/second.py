"""A second observer's own log of a session.

Rules of this file:

- The second observer saw the same and wrote it down alone: each entry at another error in time,
  some not at all. What the baby answers to was asked for again, as everywhere in the pilot.
- The log is opened a few seconds after the first and under an id of its own.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random
from uuid import UUID

from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.simulate_session import Recorder
from simengine.session import Event, LiveSession, RefusedError, Session, opening
from simengine.session.account import PROGRAM

_KINDS = frozenset(("action", "set", "event", "fault", "returned"))
_OPENED_AFTER_S = 7


def second_log(first: Session, by: str, recorder: Recorder, chance: Random) -> Session:
    """Return the session as another observer wrote it down. Equal arguments give an equal log."""
    live = LiveSession(first.scenario, chained=False)
    opened = first.events[0]
    wall = datetime.fromisoformat(opened.wall) + timedelta(seconds=_OPENED_AFTER_S)
    data = opening(
        first.scenario,
        session_id=str(UUID(int=chance.getrandbits(128), version=4)),
        purpose=first.purpose,
        team=opened.data["team"],
    )
    wall_text = wall.strftime("%Y-%m-%dT%H:%M:%S.000Z")
    live.record("opened", data, noted_ms=0, by=by, wall=wall_text)
    for at_ms, noted_ms, event in _written(first, recorder, chance):
        live.run(noted_ms - 1)
        try:
            live.record(event.kind, event.data, at_ms=at_ms, noted_ms=noted_ms, by=by)
        except RefusedError:
            continue  # noted after this log had closed itself
    live.run(first.events[-1].noted_ms)
    if not live.closed:
        end_ms = first.events[-1].noted_ms
        live.record("closed", {"why": first.closed or "finished"}, noted_ms=end_ms, by=by)
    return live.session()


def _written(first: Session, recorder: Recorder, chance: Random) -> list[tuple[int, int, Event]]:
    """Return (at, noted, entry) of what the second observer writes down, in order."""
    answered = asked_of_teams(first.scenario).answered
    last_at: dict[str, int] = {}
    out = []
    for event in first.events:
        if event.kind not in _KINDS or event.by == PROGRAM:
            continue
        error = round(chance.gauss(0.0, recorder.spread_ms))
        missed = chance.random() < recorder.missed
        what = str(event.data.get("action") or event.data.get("setting") or event.kind)
        if missed and event.kind in ("action", "set") and what not in answered:
            continue
        at_ms = max(0, event.at_ms + error, last_at.get(what, -1) + 1)
        last_at[what] = at_ms
        out.append((at_ms, max(event.noted_ms, at_ms), event))
    return sorted(out, key=lambda timed: (timed[1], timed[2].seq))
