"""A shipped session as if it had been run at a console, with a team of its own and two notes."""

from __future__ import annotations

import uuid
from dataclasses import replace

from simengine.desk.hub import Hub
from simengine.session.chain import chained
from simengine.session.events import Event
from tests import shipped

FIRST_TRY = "term-not-breathing-first-try"
TEAM = {"airway": ("N-104",), "circulation": ("M-021",), "leader": ("D-009",)}
NOTE = "D. froze here: ask kindly"
NOTES = ((161_300, NOTE), (370_500, ""))
"""The log's ms, and the facilitator's own words; none for a mark without a word."""


def held(hub: Hub, name: str = FIRST_TRY, *, purpose: str = "formative") -> str:
    """Plan a session at this console and give it the log of a shipped one; return its id."""
    scenario = shipped.session(name).scenario
    plan = hub.plan(
        hub.shelf.scenario(scenario.id, protocol="", gestation="", weight=""),
        protocol="",
        gestation="",
        weight="",
        purpose=purpose,  # type: ignore[arg-type]
        real_cot=False,
        team=TEAM,
    )
    events = list(shipped.session(name).events)
    opened = events[0]
    data = {
        **opened.data,
        "session": plan.session,
        "purpose": purpose,
        "team": {role: list(codes) for role, codes in TEAM.items()},
    }
    events[0] = replace(opened, data=data)
    last = events[-1]
    for number, (at_ms, words) in enumerate(NOTES, 1):
        events.append(
            Event(
                last.seq + number,
                str(uuid.uuid4()),
                at_ms,
                last.noted_ms,
                last.wall,
                "note",
                "p-greta",
                {"text": words},
            )
        )
    hub.store.append(plan.session, chained(events))
    return plan.session
