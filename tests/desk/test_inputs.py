"""What screens send: each entry that was recorded is taken, at no cost that a wrong one has."""

from __future__ import annotations

import json
import subprocess
import sys
import uuid
from collections.abc import Mapping
from typing import Any

import pytest

from simengine.desk.inputs import Input, RefusedInput, inputs_from
from tests import shipped


def sent(kind: str, data: Mapping[str, Any]) -> Input | RefusedInput:
    """What comes of one entry that a screen sends."""
    event = {"id": str(uuid.uuid4()), "kind": kind, "at_ms": 0, "data": dict(data)}
    (read,) = inputs_from(json.dumps({"events": [event]}).encode())
    return read


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_every_entry_of_a_recorded_session_is_of_a_right_form(name: str) -> None:
    lines = shipped.log_file(name).read_text(encoding="utf-8").splitlines()
    entries = [json.loads(line) for line in lines]
    assert [
        (entry["kind"], entry["data"])
        for entry in entries
        if not isinstance(sent(entry["kind"], entry["data"]), Input)
    ] == []


def test_one_of_a_wrong_form_is_refused_in_words() -> None:
    refused = sent("action", {"action": 3, "phase": "done"})
    assert isinstance(refused, RefusedInput)
    assert refused.words.startswith("data › action: expected "), refused.words


def test_what_says_in_words_what_is_wrong_is_loaded_only_where_something_is() -> None:
    script = (
        "import sys; from simengine.desk.inputs import Input, inputs_from\n"
        'body = b\'{"events": [{"id": "00000000-0000-4000-8000-000000000000",'
        ' "kind": "action", "at_ms": 0, "data": {"action": "dry", "phase": "done"}}]}\'\n'
        "(read,) = inputs_from(body)\n"
        "sys.exit(not isinstance(read, Input) or 'jsonschema' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
