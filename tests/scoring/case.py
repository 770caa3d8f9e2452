"""A hand-worked case: a marking guide in YAML, what was recorded in a few lines, and its score.

A line of the record is ``SECONDS WHAT …``, e.g. ``60 start pump pressure=30 role=one``:

- ``start``, ``stop``, ``done`` ACTION; ``set`` SETTING=VALUE; ``birth``; ``state`` NAME [rule];
  ``fault`` NAME planted|found|mended; ``cue`` ACTION; ``unobserved`` ITEM; ``unavailable``
  action=…|setting=…; ``closed`` finished|stopped early; ``pause``, ``resume``;
  ``withdraw`` LINE, ``move`` LINE SECONDS and ``dose`` LINE … (lines counted from 1).
- Words with ``=``: settings (in the vocabulary's unit), ``how``, ``role``, ``by``, ``noted`` (s),
  ``spoken`` (also a band: below_60), and for a dose ``amount``, ``volume``, ``strength``,
  ``flush``, ``over`` (30_mcg/kg), ``route``.

States: ``idle`` (rate 120, level 50), ``low`` (rate 50, level 10), ``high`` (rate 150, level 98),
``ready`` (the team calls its work done), ``end`` (ends the session). The baby weighs 2 kg. A tank
holds 80 L of 100, which its ``gauge`` shows as 160 bar of 200; ``pump`` draws 1 L/s. Two faults are
planted at the start: ``leak`` (put right by ``swap``) and ``dial`` (put right by pressure 30 to 40
cmH2O).
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from simengine.scenario import load_scenario
from simengine.scenario.model import Scenario
from simengine.scoring import ScoreCard, score
from simengine.scoring.card import ItemScore
from simengine.session import fold, opening
from simengine.session.events import Event
from simengine.session.record import Session

FILES = Path(__file__).with_name("small")
SESSION = "5f0c1f5e-8f0a-4c53-9d53-0d6c3c1f7a11"

_SCENARIO = """\
format: 1
id: small
version: 1.0.0
title: Small
vocabulary: small-words
protocol: small-rules
planned_time: 10 min
infant: {gestation: 40 wk, weight: 2 kg}
briefing: {learners: Nothing, facilitator: Nothing}
objectives: {first: First aim, second: Second aim}
start:
  state: idle
  clock: birth
  settings: {pressure: 20 cmH2O}
  supplies: {tank: 80 L}
  faults:
    leak: {shows: A leak, mended_by: swap}
    dial: {shows: A dial set low, mended_by: {set: pressure, to: 30 to 40 cmH2O}}
returns_cot: false
states:
  idle:
    title: Idle
    shows: {rate: 120 /min, level: 50 %, colour: pink}
    next:
      - {on: go_low, to: low}
      - {on: go_high, to: high}
      - {on: go_ready, to: ready}
      - {on: go_end, to: end}
  low:
    title: Low
    shows: {rate: 50 /min, level: 10 %, colour: pale}
    next: [{on: go_idle, to: idle}, {on: go_high, to: high}, {on: go_end, to: end}]
  high:
    title: High
    shows: {rate: 150 /min, level: 98 %, colour: pink}
    next: [{on: go_idle, to: idle}, {on: go_low, to: low}, {on: go_end, to: end}]
  ready: {title: Ready, shows: {colour: pink}, declared: true, next: [{on: go_end, to: end}]}
  end: {title: The end, shows: {colour: pink}, ends: true}
"""

_UNITS = {"pressure": "cmH2O", "oxygen": "%", "strict": "%", "gauge": "bar"}


@cache
def scenario(key: str, scoring: str = "", doing: str = "", protocol: str = "") -> Scenario:
    """The small scenario with this marking guide; ``doing``: what it starts with."""
    text = _SCENARIO + "key:\n" + textwrap.indent(textwrap.dedent(key).strip(), "  ") + "\n"
    if doing:
        text = text.replace("  clock: birth\n", f"  clock: birth\n  doing: [{doing}]\n")
    if scoring:
        text += f"scoring: {scoring}\n"
    with TemporaryDirectory() as folder:
        path = Path(folder) / "small.yaml"
        path.write_text(text, "utf-8")
        return load_scenario(path, search=(FILES,), protocol=protocol or None)


def session(
    key: str,
    record: str,
    *,
    scoring: str = "",
    purpose: str = "formative",
    log_id: str = SESSION,
    doing: str = "",
    protocol: str = "",
) -> Session:
    """The small scenario's session with this record."""
    ran = scenario(key, scoring, doing, protocol)
    return fold(ran, events(ran, record, purpose, log_id))


def card(key: str, record: str, *, redraws: int = 0, **given: str) -> ScoreCard:
    """The score of a case."""
    return score(session(key, record, **given), redraws=redraws)


def item(key: str, record: str, **given: Any) -> ItemScore:
    """The first item's score of a case."""
    return card(key, record, **given).items[0]


def events(ran: Scenario, record: str, purpose: str, log_id: str) -> tuple[Event, ...]:
    """The log of a case."""
    lines = [line.strip() for line in record.strip().splitlines() if line.strip()]
    out = [
        _event(0, 0, 0, "opened", opening(ran, session_id=log_id, purpose=purpose), "rec"),
        _event(1, 0, 0, "state", {"state": "idle", "cause": "start"}, "program"),
    ]
    noted = 0
    for line in lines:
        at_s, what, *words = line.split()
        at = round(float(at_s) * 1000)
        given = dict(word.split("=", 1) for word in words if "=" in word)
        plain = [word for word in words if "=" not in word]
        kind, data = _data(what, plain, given)
        noted = max(noted, at, round(float(given.get("noted", "0")) * 1000))
        by = "program" if kind == "state" else given.get("by", "rec")
        out.append(_event(len(out), at, noted, kind, data, by))
    return tuple(out)


def _event(seq: int, at: int, noted: int, kind: Any, data: Mapping[str, Any], by: str) -> Event:
    return Event(seq, _id(seq), at, noted, "2026-01-01T09:00:00Z", kind, by, data)


def _id(seq: int) -> str:
    return f"00000000-0000-4000-8000-{seq:012d}"


def _data(what: str, plain: Sequence[str], given: Mapping[str, str]) -> tuple[str, dict[str, Any]]:
    match what:
        case "birth":
            return "event", {"name": "birth"}
        case "state":
            if plain[1:] == ["rule"]:
                return "state", {"state": plain[0], "cause": "rule", "rule": 0}
            return "state", {"state": plain[0], "cause": "facilitator"}
        case "fault":
            return "fault", {"fault": plain[0], "status": plain[1], **_role(given)}
        case "cue":
            return "cue", {"text": "How about it?", "prompts": plain[0], "planned": True}
        case "unobserved":
            return "unobserved", {"item": plain[0]}
        case "unavailable":
            return "unavailable", dict(given)
        case "pause" | "resume":
            return what, {}
        case "move":
            return "amend", {
                "id": _id(int(plain[0]) + 1),
                "fields": {"at_ms": int(plain[1]) * 1000},
            }
        case "dose":
            return "amend", {"id": _id(int(plain[0]) + 1), "fields": {"dose": _dose(given)}}
        case "closed":
            return "closed", {"why": " ".join(plain)}
        case "confirmed":
            return "confirmed", {}
        case "withdraw":
            return "amend", {"id": _id(int(plain[0]) + 1), "withdrawn": True}
        case "set":
            name = next(iter(given.keys() - {"role", "by", "noted"}))
            return "set", {"setting": name, **_reading(name, given[name]), **_role(given)}
    assert what in ("start", "stop", "done"), what
    data: dict[str, Any] = {"action": plain[0], "phase": what, **_role(given)}
    if "how" in given:
        data["how"] = given["how"]
    settings = {
        name: _reading(name, value) for name, value in given.items() if name in (*_UNITS, "mode")
    }
    if settings:
        data["settings"] = settings
    dose = _dose(given)
    if dose:
        data["dose"] = dose
    if "spoken" in given:
        band = given["spoken"].replace("_", " ")
        value = float(band) if band.isdigit() else band
        data["spoken"] = {"rate": {"value": value, "unit": "/min"}}
    return "action", data


def _dose(given: Mapping[str, str]) -> dict[str, Any]:
    dose: dict[str, Any] = {
        name: {"value": float(given[name].split("_")[0]), "unit": given[name].split("_")[1]}
        for name in ("amount", "volume", "strength", "flush", "over")
        if name in given
    }
    if "route" in given:
        dose["route"] = given["route"]
    return dose


def _role(given: Mapping[str, str]) -> dict[str, Any]:
    return {"role": given["role"]} if "role" in given else {}


def _reading(name: str, value: str) -> dict[str, Any]:
    unit = _UNITS.get(name)
    return {"value": value} if unit is None else {"value": float(value), "unit": unit}
