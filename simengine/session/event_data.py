"""What the ``data`` of each kind of event holds, as the schema of a session log says it.

Rules of this file:

- Every kind of event stands here, in the order of ``Kind``.
- Values carry their own unit; people are random keys, whose names stand outside the log.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from simengine.scenario.forms import (
    Choice,
    Form,
    Key,
    ListOf,
    MapOf,
    Record,
    Value,
    keys_of,
)
from simengine.scenario.key import USUAL_WAY, Way
from simengine.session.events import DIGEST, MOST_WHOLE, MS, TEXT, UUID, Event, Kind

_ANY_TEXT = Value("text", {"type": "string"})
_FLAG = Value("true or false", {"type": "boolean"})
_TRUE = Value("true", {"const": True})
_WHOLE = Value("a whole number from 0 on", {"type": "integer", "minimum": 0})
_SHARE = Value(
    "a share from 0 to 1, or null", {"type": ["number", "null"], "minimum": 0, "maximum": 1}
)
_VALUE = Value("a number or a word", {"type": ["number", "string"]})
_READING = Record(
    "a reading",
    {"value": Key(_VALUE, "As it was read.", needed=True), "unit": Key(TEXT, "Its unit.")},
    name="reading",
)
_READINGS = MapOf(_READING, "a map of readings", free=True, name="readings")
_DELAY = Record(
    "a delay",
    {
        "at": Key(_READING, "At this flow …", needed=True),
        "ms": Key(
            Value("whole milliseconds from 1 on", {"type": "integer", "minimum": 1}),
            "… it takes so long.",
            needed=True,
        ),
    },
)
_ARRIVES = Record(
    "how a setting arrives",
    {
        "found": Key(_READING, "Where it stands that nobody has set.", needed=True),
        "flow": Key(TEXT, "The setting that is the flow which carries it.", needed=True),
        "flow_found": Key(_READING, "Where that stands that nobody has set.", needed=True),
        "delays": Key(
            ListOf(_DELAY, "a list of delays", 1), "How long it takes, by flow.", needed=True
        ),
    },
    name="arrives",
)
_ROLE = Key(TEXT, "Whose it was.")
_WHOSE = Key(TEXT, "Whose outcome, where one person's alone is meant; else the whole team's.")
_WORDING = Key(
    DIGEST,
    "Of what people read and nothing counts by; a log without it is of an earlier program.",
)


def _needed(form: Form, about: str) -> Key:
    return Key(form, about, needed=True)


_DATA: Mapping[Kind, Mapping[str, Key]] = {
    "opened": {
        "session": _needed(UUID, "The session's id."),
        "scenario": _needed(
            Record(
                "a scenario",
                {
                    "id": _needed(TEXT, "Its id."),
                    "version": _needed(TEXT, "Its version."),
                    "digest": _needed(DIGEST, "Of what counts in it."),
                    "wording": _WORDING,
                },
            ),
            "The scenario.",
        ),
        "protocol": _needed(
            Record(
                "a protocol",
                {
                    "id": _needed(TEXT, "Its id."),
                    "digest": _needed(DIGEST, "Of what counts in it."),
                    "wording": _WORDING,
                },
            ),
            "The protocol.",
        ),
        "program": _needed(TEXT, "The version of the program that recorded it."),
        "infant": Key(
            Record(
                "a baby",
                {
                    "gestation": _needed(TEXT, "Such as 39 wk."),
                    "weight": _needed(TEXT, "Such as 3.4 kg."),
                },
            ),
            "The baby, where it is another than the scenario's.",
        ),
        "team": _needed(
            MapOf(ListOf(TEXT, "a list of people"), "a map of roles to people", free=True),
            "Who has which role.",
        ),
        "other_cot": Key(
            TEXT, "Where the cot for a real baby stands, as written down before the start."
        ),
        "purpose": _needed(
            Choice(("formative", "summative", "rehearsal")), "What the session is for."
        ),
        "arrives": Key(
            MapOf(_ARRIVES, "a map of settings to how they arrive", free=True),
            "How what is turned comes to the baby, by setting; any other acts at once.",
        ),
        "retry": Key(
            Record(
                "a retry",
                {
                    "session": _needed(UUID, "The session that came to the state first."),
                    "state": _needed(TEXT, "The state from which it goes on."),
                    "from_ms": _needed(MS, "When that was entered, in scenario time."),
                    "lasts_ms": _needed(MS, "After how much scenario time it ends by itself."),
                },
            ),
            "What it is a retry of; up to there the log is a copy of the first session's.",
        ),
    },
    "event": {"name": _needed(TEXT, "What transitions wait for with 'on'."), "role": _ROLE},
    "action": {
        "action": _needed(TEXT, "The action."),
        "phase": _needed(Choice(("done", "start", "stop")), "A moment, or a beginning or end."),
        "how": Key(Choice(get_args(Way)), "How it was done.", default=USUAL_WAY),
        "role": _ROLE,
        "settings": Key(_READINGS, "The settings given with it."),
        "dose": Key(
            Record(
                "a dose",
                {
                    "amount": Key(_READING, "By weight or in all."),
                    "volume": Key(_READING, "What was drawn up."),
                    "strength": Key(_READING, "How strong it was."),
                    "flush": Key(_READING, "What was given after it."),
                    "over": Key(_READING, "Over how long it was given."),
                    "route": Key(TEXT, "The way in."),
                },
            ),
            "The dose given with it.",
        ),
        "spoken": Key(_READINGS, "What was said aloud with it."),
        "order": Key(_ANY_TEXT, "What was ordered, word for word."),
    },
    "set": {
        "setting": _needed(TEXT, "The setting."),
        "value": _needed(_VALUE, "What it was set to."),
        "unit": Key(TEXT, "The unit in which it was read."),
        "role": _ROLE,
    },
    "state": {
        "state": _needed(TEXT, "The state entered."),
        "cause": _needed(Choice(("start", "rule", "facilitator")), "What brought it about."),
        "rule": Key(_WHOLE, "The transition, counted from 0."),
        "late": Key(_TRUE, "It was due before, by what was written down later."),
        "scenario_ms": Key(
            Value(
                "whole milliseconds from 0 on",
                {"type": "integer", "minimum": 0, "maximum": MOST_WHOLE},
            ),
            "Scenario time of an automatic step within a skip, where the log's time can't tell.",
        ),
    },
    "reveal": {
        "observation": _needed(TEXT, "The observation."),
        "shown": _needed(_FLAG, "Whether it is shown or hidden from now on."),
        "once": Key(_TRUE, "Told at that instant alone, and not shown on."),
    },
    "cue": {
        "text": _needed(TEXT, "What the facilitator said."),
        "prompts": Key(TEXT, "The action that it prompts."),
        "planned": _needed(_FLAG, "Whether the scenario has it."),
    },
    "fault": {
        "fault": _needed(TEXT, "The fault."),
        "status": _needed(
            Choice(("planted", "found", "mended")), "How far the team has come with it."
        ),
        "role": _ROLE,
    },
    "note": {"text": _needed(_ANY_TEXT, "What was written down."), "role": _ROLE},
    "pause": {},
    "resume": {},
    "hold": {},
    "release": {},
    "amend": {
        "id": _needed(UUID, "The event that it corrects."),
        "fields": Key(Value("a map of fields", {"type": "object"}), "What it is changed to."),
        "withdrawn": Key(_TRUE, "It never was."),
        "reason": Key(_ANY_TEXT, "Why."),
    },
    "undone": {
        "id": _needed(UUID, "The state taken by hand, hold, pause or event of the last minute.")
    },
    "joined": {"person": _needed(TEXT, "Who."), "role": _needed(TEXT, "In which role.")},
    "left": {"person": _needed(TEXT, "Who."), "role": _needed(TEXT, "Which role.")},
    "role": {
        "person": _needed(TEXT, "Who."),
        "role": _needed(TEXT, "Which role from now on."),
        "leaves": Key(TEXT, "The role that is left."),
    },
    "information": {"text": _needed(TEXT, "What the manikin can't show.")},
    "unobserved": {"item": _needed(TEXT, "The key item that nobody could see.")},
    "unavailable": {
        "action": Key(TEXT, "The action whose kit was not there."),
        "setting": Key(TEXT, "The setting whose kit was not there."),
        "text": Key(_ANY_TEXT, "What was missing."),
    },
    "skip": {
        "ms": _needed(MS, "By how much scenario time moves on."),
        "action": Key(TEXT, "The task that was shortened."),
        "reason": Key(_ANY_TEXT, "Why."),
    },
    "returned": {
        "faults": _needed(
            MapOf(_FLAG, "a map of faults to true or false", free=True),
            "Whether each is put right.",
        ),
        "cylinders": _needed(_ANY_TEXT, "How full they are."),
        "drugs": _needed(_ANY_TEXT, "What was put back."),
        "initials": _needed(ListOf(TEXT, "two initials", 2, 2), "Of the two who checked."),
    },
    "confirmed": {},
    "signed": {
        "name": _needed(TEXT, "Who signed."),
        "credentials": _needed(TEXT, "As what."),
        "outcome": _needed(TEXT, "The outcome."),
        "person": _WHOSE,
        "score": Key(
            Record(
                "what the program had worked out when it was signed",
                {
                    "total": _needed(_SHARE, "The total."),
                    "proposed": _needed(TEXT, "The outcome that the program proposed."),
                    "scenario": _needed(DIGEST, "Of the scenario."),
                    "protocol": _needed(DIGEST, "Of the protocol."),
                    "program": _needed(TEXT, "The version of the program."),
                },
            ),
            "So that a later re-scoring stands beside it and never in its place.",
        ),
    },
    "appealed": {
        "item": Key(TEXT, "The key item."),
        "text": _needed(TEXT, "What is held against it."),
        "person": _WHOSE,
    },
    "superseded": {"by": _needed(TEXT, "The session that takes its place."), "person": _WHOSE},
    "put_away": {"reason": _needed(TEXT, "Why it was begun by mistake and counts for nothing.")},
    "closed": {
        "why": _needed(Choice(("finished", "stopped early", "safety stop")), "Why it ended.")
    },
}
_ONE_OF: Mapping[Kind, tuple[str, ...]] = {
    "amend": ("fields", "withdrawn"),
    "unavailable": ("action", "setting"),
}

FILE = Record(
    "an event",
    keys_of(Event),
    parts={
        kind: Record("data", keys, either=_ONE_OF.get(kind, ()), alone=True, name=f"data_{kind}")
        for kind, keys in _DATA.items()
    },
    about="One line of a session log: an event, chained to the one before by its hash.",
)
"""What a line of a session log holds."""
