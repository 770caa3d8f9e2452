"""Plays of sessions: short YAML scripts, fed to the real engine as they would have been touched.

Rules of this file:

- A play is a list of what people recorded, in the order in which they did. ``at`` is when it
  happened on the team's clock (``m:ss.s``, negative before time zero); ``noted`` when it was
  written down, if that was later. Pauses count: it is the clock on the wall.
- The first key after ``at`` says what was recorded: ``do``, ``start``, ``stop``, ``set`` …
- States are the engine's own; only ``go_to`` is the facilitator's.
- Everything is given, so that a play makes the same log byte for byte.

``python -m tests.content.play`` writes the logs of all plays anew into ``scenarios/sessions``;
do that after a scenario, the vocabulary or a play has been changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

import yaml

from simengine.quantities import parse_quantity
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.session import Event, Kind, LiveSession, write_log
from simengine.session.full_speed import opening
from simengine.session.log_file import as_line

PLAYS = Path(__file__).parent / "plays"
SESSIONS = scenarios_dir() / "sessions"


@dataclass(frozen=True)
class Entry:
    """One thing that somebody recorded, on the session's clock; ``kind`` None: time goes by."""

    at_ms: int
    noted_ms: int
    by: str
    kind: Kind | None
    data: Mapping[str, Any]
    id: str


def plays() -> list[str]:
    """Return the names of all plays."""
    return sorted(path.stem for path in PLAYS.glob("*.yaml"))


@cache
def perform(name: str) -> tuple[Event, ...]:
    """Play ``name`` through the engine and return the events of its log."""
    play = yaml.safe_load((PLAYS / f"{name}.yaml").read_text("utf-8"))
    scenario = load_scenario(
        scenarios_dir() / f"{play['scenario']}.yaml", protocol=play["protocol"]
    )
    session = play["session"]
    opened = opening(
        scenario,
        session_id=session,
        program=play["program"],
        purpose=play["purpose"],
        team=play["team"],
    )
    live = LiveSession(scenario)
    live.record(
        "opened", opened, noted_ms=0, by=play["observers"]["facilitator"], wall=play["opened"]
    )
    for entry in _entries(play):
        while (due := live.next_due()) is not None and due < entry.noted_ms:
            live.advance(due)
        if entry.kind is not None:
            live.record(
                entry.kind,
                entry.data,
                at_ms=entry.at_ms,
                noted_ms=entry.noted_ms,
                by=entry.by,
                id=entry.id,
            )
    return live.events


def log_of(name: str) -> bytes:
    """Return the log of a play as its file holds it."""
    return b"".join(as_line(event) for event in perform(name))


def _entries(play: Mapping[str, Any]) -> Iterator[Entry]:
    zero = milliseconds(play["clock_at"])
    labels: dict[str, str] = {}
    for number, written in enumerate(play["entries"], start=1):
        entry = dict(written)
        given = str(uuid5(UUID(play["session"]), str(number)))
        at = zero + milliseconds(entry.pop("at"))
        noted = zero + milliseconds(entry.pop("noted")) if "noted" in entry else at
        by = play["observers"][entry.pop("by", "main")]
        if "as" in entry:
            labels[entry.pop("as")] = given
        kind, data = _read(entry, zero)
        if kind == "amend":
            data["id"] = labels[data["id"]]
        elif kind is not None and "role" in entry:
            data["role"] = entry["role"]
        yield Entry(at, noted, by, kind, data, given)


def _read(entry: Mapping[str, Any], zero: int) -> tuple[Kind | None, dict[str, Any]]:
    """The kind and data of one line of a play."""
    for phase in ("do", "start", "stop"):
        if phase in entry:
            data = {"action": entry[phase], "phase": "done" if phase == "do" else phase}
            data |= {key: entry[key] for key in ("how",) if key in entry}
            data |= {
                key: {name: _value(text) for name, text in entry[key].items()}
                for key in ("settings", "spoken")
                if key in entry
            }
            if "dose" in entry:
                data["dose"] = {
                    name: text if name == "route" else _value(text)
                    for name, text in entry["dose"].items()
                }
            return "action", data
    match entry:
        case {"set": setting, "to": text}:
            return "set", {"setting": setting, **_value(text)}
        case {"event": name}:
            return "event", {"name": name}
        case {"cue": text, "prompts": action, "planned": planned}:
            return "cue", {"text": text, "prompts": action, "planned": planned}
        case {"information": text}:
            return "information", {"text": text}
        case {"note": text}:
            return "note", {"text": text}
        case {"planted": fault}:
            return "fault", {"fault": fault, "status": "planted"}
        case {"found": fault}:
            return "fault", {"fault": fault, "status": "found"}
        case {"mended": fault}:
            return "fault", {"fault": fault, "status": "mended"}
        case {"amend": label, "fields": fields, "reason": reason}:
            changed = {key: value for key, value in fields.items() if key != "at"}
            if "at" in fields:
                changed["at_ms"] = zero + milliseconds(fields["at"])
            return "amend", {"id": label, "fields": changed, "reason": reason}
        case {"withdraw": label, "reason": reason}:
            return "amend", {"id": label, "withdrawn": True, "reason": reason}
        case {"join": person, "role": role}:
            return "joined", {"person": person, "role": role}
        case {"left": person, "role": role}:
            return "left", {"person": person, "role": role}
        case {"unobserved": item}:
            return "unobserved", {"item": item}
        case {"unavailable": action, "text": text}:
            return "unavailable", {"action": action, "text": text}
        case {"skip": length, "action": action, "reason": reason}:
            took = round(parse_quantity(length).to("ms").value)
            return "skip", {"ms": took, "action": action, "reason": reason}
        case {"go_to": state}:
            return "state", {"state": state, "cause": "facilitator"}
        case {
            "returned": True,
            "faults": faults,
            "cylinders": held,
            "drugs": drugs,
            "initials": by,
        }:
            return "returned", {
                "faults": faults,
                "cylinders": held,
                "drugs": drugs,
                "initials": by,
            }
        case {"run": _}:
            return None, {}
    for kind in ("pause", "resume", "hold", "release", "confirmed"):
        if kind in entry:
            return kind, {}
    raise ValueError(f"a play has a line that says nothing known: {entry}")


def _value(text: str) -> dict[str, Any]:
    """``30 cmH2O`` as a value with its unit, any other text as a word (a score has no unit)."""
    if not text[0].isdigit() or text.isdigit():
        return {"value": text}
    quantity = parse_quantity(text)
    number = int(quantity.value) if quantity.value == int(quantity.value) else quantity.value
    return {"value": number, "unit": text.split(maxsplit=1)[1]}


def milliseconds(clock: str) -> int:
    """``-1:18.4`` on a clock as whole milliseconds. YAML must quote it where it is ambiguous."""
    sign, digits = (-1, clock[1:]) if clock.startswith("-") else (1, clock)
    minutes, seconds = digits.split(":")
    return sign * (int(minutes) * 60_000 + round(float(seconds) * 1000))


def main() -> None:
    """Write the logs of all plays."""
    SESSIONS.mkdir(exist_ok=True)
    for name in plays():
        write_log(SESSIONS / f"{name}.session.jsonl", perform(name))


if __name__ == "__main__":
    main()
