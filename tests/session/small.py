"""A small invented scenario, built by hand, for tests of the engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from simengine.quantities import Range
from simengine.scenario.conditions import Condition
from simengine.scenario.key import Scoring
from simengine.scenario.model import (
    Course,
    Fault,
    Infant,
    MendedBySetting,
    Scenario,
    Start,
    State,
    Transition,
)
from simengine.scenario.protocol import Protocol
from simengine.scenario.vocabulary import (
    Action,
    Drain,
    Observation,
    RevealedBy,
    Setting,
    Supply,
    Vocabulary,
)
from simengine.scenario.wanted import Value
from simengine.session.events import Event, Kind
from simengine.session.full_speed import Timed
from simengine.session.live import event_id

SESSION = "5f0c6f4e-6d0e-4f0a-9d57-0d5a4b3c2a10"
WALL = "2026-03-04T09:00:00.000Z"

VOCABULARY = Vocabulary(
    id="small",
    title="Small",
    phases={"breathing": "Breathing"},
    roles={"airway": "Airway"},
    settings={
        "oxygen": Setting(
            "oxygen", "Oxygen", "%", 5.0, Range(21.0, 100.0, text="21 to 100 %"), 1.0
        ),
        "flow": Setting("flow", "Gas flow", "L/min", 1.0),
        "pressure": Setting("pressure", "Peak pressure", "cmH2O", 2.0),
        "light": Setting("light", "Light", words=("off", "on")),
    },
    observations={
        "heart_rate": Observation(
            "heart_rate",
            "Heart rate",
            "/min",
            revealed_by=(RevealedBy("listen", 6_000), RevealedBy("probe", 60_000, streams=True)),
        ),
        "spo2": Observation(
            "spo2", "SpO2", "%", revealed_by=(RevealedBy("probe", 60_000, streams=True),)
        ),
        "tone": Observation("tone", "Tone", words=("floppy", "good")),
    },
    actions={
        "dry": Action("dry", "Drying", "breathing"),
        "listen": Action("listen", "Listening", "breathing", reads="heart_rate"),
        "probe": Action("probe", "Oximeter", "breathing", lasting=True),
        "bag": Action(
            "bag",
            "Ventilation",
            "breathing",
            lasting=True,
            settings=("oxygen", "pressure"),
            shortest_ms=5_000,
        ),
        "suck": Action("suck", "Suction", "breathing", lasting=True),
        "suck_off": Action("suck_off", "Suction off", "breathing", ends="suck"),
        "change_cylinder": Action("change_cylinder", "New cylinder", "breathing"),
    },
    supplies={
        "cylinder": Supply(
            "cylinder",
            "Oxygen cylinder",
            "L",
            460.0,
            (
                Drain(flow="flow", part="oxygen", blend="oxygen", air=0.21),
                Drain(doing="suck", rate=8.0),
            ),
            "change_cylinder",
        ),
        "air": Supply(
            "air",
            "Air cylinder",
            "L",
            460.0,
            (Drain(flow="flow", part="air", blend="oxygen", air=0.21),),
        ),
    },
    equations={},
    caution="Training only.",
    digest="0" * 64,
)


def state(
    name: str, *ways: Transition, ends: bool = False, linger_ms: int = 0, **shows: Any
) -> State:
    """A state whose transitions are numbered in the order given."""
    numbered = tuple(replace(way, index=index) for index, way in enumerate(ways))
    return State(name, name.capitalize(), shows, numbered, ends, linger_ms)


def way(
    to: str,
    *,
    on: str | None = None,
    when: Condition | None = None,
    lasting: int = 0,
    after: int | None = None,
) -> Transition:
    """A transition; times in ms."""
    return Transition(0, to, on, when, lasting, after)


def scenario(
    *states: State,
    settings: Mapping[str, Value] | None = None,
    supplies: Mapping[str, float] | None = None,
    faults: Sequence[Fault] = (),
    doing: tuple[str, ...] = (),
    returns_cot: bool = False,
    planned_ms: int = 600_000,
) -> Scenario:
    """A scenario that starts in the first of ``states``; its clock starts at ``birth``."""
    return Scenario(
        id="small",
        version="1.0.0",
        title="Small",
        vocabulary=VOCABULARY,
        protocol=Protocol("none", "None", "1", "invented", None, None, None, {}, "0" * 64),
        infant=Infant(273.0, 3400.0),
        planned_ms=planned_ms,
        briefing={},
        roles={"airway": "Airway"},
        objectives={},
        start=Start(
            states[0].name,
            "birth",
            {"oxygen": 30.0, "flow": 0.0} if settings is None else settings,
            supplies or {},
            {fault.name: fault for fault in faults},
            doing,
        ),
        states={each.name: each for each in states},
        key=(),
        scoring=Scoring({"essential": 3.0, "important": 2.0, "helpful": 1.0}),
        cues=(),
        references={},
        key_times=(),
        returns_cot=returns_cot,
        silent_clock=False,
        digest="0" * 64,
    )


def falling_heart_rate(**given: Any) -> Course:
    """From 90 towards 50 /min, 95 % of the way in 30 s."""
    return Course(**{"to": 50.0, "start": 90.0, "within_ms": 30_000, **given})


def leak(*, mended_by: str | MendedBySetting | None = "dry") -> Fault:
    """A planted fault."""
    return Fault("leak", "A leak", mended_by)


def opened(purpose: str = "formative") -> dict[str, Any]:
    """Data of an ``opened`` event."""
    return {
        "session": SESSION,
        "scenario": {"id": "small", "version": "1.0.0", "digest": "0" * 64},
        "protocol": {"id": "none", "digest": "0" * 64},
        "program": "test",
        "team": {"airway": ["k3"]},
        "purpose": purpose,
    }


def did(
    at_ms: int, action: str, phase: str = "done", noted: int | None = None, **data: Any
) -> Timed:
    """An entry of a script: an action."""
    return Timed(at_ms, "action", {"action": action, "phase": phase, **data}, "k3", noted)


def entry(at_ms: int, kind: Kind, noted: int | None = None, **data: Any) -> Timed:
    """An entry of a script of any kind."""
    return Timed(at_ms, kind, data, "k3", noted)


def put(
    at_ms: int, setting: str, value: Value, unit: str | None = None, noted: int | None = None
) -> Timed:
    """An entry of a script: a setting."""
    data: dict[str, Any] = {"setting": setting, "value": value}
    if unit is not None:
        data["unit"] = unit
    return Timed(at_ms, "set", data, "k3", noted)


def birth(at_ms: int, noted: int | None = None) -> Timed:
    """The event that starts the team's clock."""
    return Timed(at_ms, "event", {"name": "birth"}, "k3", noted)


def raw(seq: int, kind: Kind, at_ms: int, noted_ms: int | None = None, **data: Any) -> Event:
    """One event of a log as it might come from elsewhere."""
    noted = at_ms if noted_ms is None else noted_ms
    return Event(seq, event_id(SESSION, seq), at_ms, noted, WALL, kind, "k3", data)
