"""What waits on a device can be taken back by the same rules as what the server has."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

import simengine.desk
from simengine.session.events import Event, Kind
from simengine.session.undo import UNDONE_WITHIN_MS, steps_back
from tests.need import need

STATIC = Path(simengine.desk.__file__).with_name("static")
RUN = """
import { stepsNow } from %s;
console.log(JSON.stringify(stepsNow(undefined, %s, %s, (entry) => entry.kind)));
"""
Entry = tuple[Kind, dict[str, Any]]
ENTRIES: tuple[Entry, ...] = (
    ("action", {"action": "dry", "phase": "done"}),
    ("event", {"event": "birth"}),
    ("pause", {}),
    ("resume", {}),
    ("state", {"state": "better", "cause": "facilitator"}),
    ("undone", {"id": "e4"}),
)


def on_the_device(within_ms: int) -> dict[str, list[dict[str, Any]]]:
    waiting = [
        {"id": f"e{n}", "kind": kind, "at_ms": 1000 * n, "data": data}
        for n, (kind, data) in enumerate(ENTRIES)
    ]
    module = json.dumps(STATIC.joinpath("steps.js").as_uri())
    script = RUN % (module, json.dumps(waiting), within_ms)
    node = need("node", "nodejs")
    done = subprocess.run(
        [node, "--input-type=module", "--eval", script], capture_output=True, check=True
    )
    steps: dict[str, list[dict[str, Any]]] = json.loads(done.stdout)
    return steps


def test_a_device_counts_its_own_steps_as_the_server_will() -> None:
    events = [
        Event(n, f"e{n}", 1000 * n, 1000 * n, "2026-03-01T10:00:00.000Z", kind, "p", data)
        for n, (kind, data) in enumerate(ENTRIES)
    ]
    server = steps_back(events)["p"]
    device = on_the_device(UNDONE_WITHIN_MS)
    names = ("way", "id", "again", "until_ms", "taken_by")
    for steps, waiting in ((server.undo, device["undo"]), (server.redo, device["redo"])):
        expected = [[getattr(step, name) for name in names] for step in steps]
        assert expected == [[step[name] for name in names] for step in waiting]


@pytest.mark.parametrize("within_ms", [20_000, 60_000])
def test_how_long_a_touch_can_be_undone_is_told_to_the_device(within_ms: int) -> None:
    (redo,) = on_the_device(within_ms)["redo"]
    assert redo["until_ms"] == 4000 + within_ms
