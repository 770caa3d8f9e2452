"""Check scenario and protocol files in a process of its own: names come in as JSON, rows go out.

Rules of this file:

- Every file gets a row: what there is to choose, or its problems. One that brings the reader down
  is told as that, and the others have their rows.
"""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import orjson

from simengine.problems import InputError
from simengine.scenario import load_protocol, load_scenario
from simengine.web.shelf import choice_of

_MOST_PROBLEMS = 20
"""Of one file on the first page; `simengine check` lists all."""


def main() -> None:
    """Read which files are asked for, and write a row for each."""
    request = orjson.loads(sys.stdin.buffer.read())
    folders = [Path(folder) for folder in request["folders"]]
    rows = [row(kind, Path(file), folders) for kind, file in request["files"]]
    sys.stdout.buffer.write(orjson.dumps(rows))


def row(kind: str, file: Path, folders: Sequence[Path]) -> dict[str, Any]:
    """Return what the index keeps of a file."""
    try:
        if kind == "scenario":
            scenario = load_scenario(file, search=folders)
            return {"scenario": choice_of(scenario), "problems": []}
        protocol = load_protocol(file, search=folders)
        return {
            "protocol": (protocol.id, f"{protocol.title}, edition {protocol.edition}"),
            "problems": [],
        }
    except InputError as error:
        errors = [str(problem) for problem in error.problems if problem.level == "error"]
        more = len(errors) - _MOST_PROBLEMS
        shown = errors[:_MOST_PROBLEMS] + ([f"{file}: {more:,} more"] if more > 0 else [])
        return {"problems": shown}
    except Exception:  # noqa: BLE001 - no file may keep the others from being chosen
        words = f"{file}: something went wrong inside the program as it was read"
        return {"problems": [words], "trace": traceback.format_exc()}
