"""A small invented scenario, and plays of it written in a test."""

from __future__ import annotations

import shutil
from pathlib import Path

from simengine.plays import Result, load_play, perform, result_of
from simengine.plays.check import check_play

VALID = Path(__file__).parents[1] / "scenarios" / "valid"

SCENARIO = """\
format: 1
id: turn
version: 1.0.0
title: A baby who turns
vocabulary: small
protocol: small
planned_time: 3 min
infant: {gestation: 39 wk, weight: 3 kg}
roles: {leader: Leader, airway: Airway and breathing}
objectives: {ventilate: Ventilate soon}
start:
  state: waiting
  clock: birth
  settings: {oxygen: 30 %, gas_flow: 8 L/min}
  faults: {low_light: {shows: The light is off, mended_by: {set: light, to: on}}}
states:
  waiting: {title: Before the birth, next: [{on: birth, to: limp}]}
  limp:
    title: Limp
    shows: {breathing: absent, heart_rate: {from: 90 /min, to: 50 /min, within: 60 s}}
    next:
      - {to: better, when: {doing: mask_ventilation}, lasting: 20 s}
      - {to: over, after: 4 min}
  better:
    title: Better
    shows: {breathing: regular, heart_rate: {to: 140 /min, within: 30 s}}
    next: [{to: over, after: 1 min}, {on: collapse, to: limp}]
  over: {title: Over, ends: true, linger: 10 s}
key:
  - {expect: mask_ventilation, from: birth, ideal: 60 s, latest: 90 s, importance: essential,
     objective: ventilate}
  - {expect: listen, from: birth, ideal: 60 s, latest: 90 s, objective: ventilate}
  - {avoid: compressions, during: [better], deduct: 5 %, stops_pass: true, objective: ventilate}
scoring:
  pass: 80 %
  standard: {demonstration: true, method: none, panel: 'invented, for tests', date: 2026-01-31}
"""

BY_THE_BOOK = """\
  - {at: 10 s, do: listen}
  - {at: 20 s, start: mask_ventilation, settings: {oxygen: 21 %}}
"""


def a_play(folder: Path, steps: str, expect: str = "{outcome: achieved}", head: str = "") -> Path:
    """Write the small scenario and a play of it; return the play's file."""
    for name in ("vocabulary", "protocols"):
        shutil.copytree(VALID / name, folder / name, dirs_exist_ok=True)
    (folder / "turn.yaml").write_text(SCENARIO, encoding="utf-8")
    plays = folder / "plays" / "turn"
    plays.mkdir(parents=True, exist_ok=True)
    file = plays / "one.yaml"
    listed = f"steps:\n{steps}" if steps else "steps: []\n"
    text = f"format: 1\ntitle: One\nscenario: turn\n{head}{listed}expect: {expect}\n"
    file.write_text(text, encoding="utf-8")
    return file


def played(
    folder: Path, steps: str, expect: str = "{total: at least 0 %}", head: str = ""
) -> Result:
    """Play such a play."""
    return result_of(perform(load_play(a_play(folder, steps, expect, head))))


def entries(result: Result, kind: str = "action") -> list[tuple[int, str]]:
    """Return (when, what) of each entry of a kind, on the session's clock in seconds."""
    keys = {"action": "action", "set": "setting", "state": "state", "event": "name"}
    events = result.performed.session.events
    return [
        (round(event.at_ms / 1000), str(event.data[keys[kind]]))
        for event in events
        if event.kind == kind
    ]


def complaints(
    folder: Path, steps: str, expect: str = "{outcome: achieved}", head: str = ""
) -> list[str]:
    """Return what checking such a play says, without the folder."""
    file = a_play(folder, steps, expect, head)
    return [str(problem).replace(f"{file.parent}/", "") for problem in check_play(file)]
