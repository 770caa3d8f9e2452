"""The JSON Schemas: right by their own standard, kind to editors, and joined without loss."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import pytest
from jsonschema import Draft202012Validator

from simengine.resources import scenarios_dir, schemas_dir
from simengine.scenario.positions import read_yaml, typed
from simengine.schemas import SchemaName, complaints, validator

NAMES: tuple[SchemaName, ...] = get_args(SchemaName)
TREE = Path(__file__).parents[2]


def written(name: str) -> Any:
    return json.loads((schemas_dir() / f"{name}.schema.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_right_by_the_2020_12_meta_schema(name: str) -> None:
    Draft202012Validator.check_schema(written(name))
    assert written(name)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", NAMES)
def test_everything_that_can_be_complained_about_has_a_title(name: str) -> None:
    def walk(part: Any, where: str) -> None:
        if isinstance(part, dict):
            if {"type", "enum", "const", "anyOf"} & part.keys() and "$ref" not in part:
                assert "title" in part, where
            for key, inner in part.items():
                if key not in ("if", "required", "enum", "examples", "oneOf"):
                    walk(inner, f"{where}/{key}")
        elif isinstance(part, list):
            for number, inner in enumerate(part):
                walk(inner, f"{where}/{number}")

    walk({k: v for k, v in written(name).items() if k != "allOf"}, name)


def test_what_two_formats_share_is_defined_alike_in_both() -> None:
    scenario, protocol = written("scenario")["$defs"], written("protocol")["$defs"]
    shared = scenario.keys() & protocol.keys()
    assert {"condition", "avoided", "from_protocol", "wanted"} <= shared
    for name in shared:
        assert scenario[name] == protocol[name], name


def test_shipped_and_test_files_name_their_schema_for_editors() -> None:
    folders = [scenarios_dir(), Path(__file__).parents[1] / "scenarios" / "valid"]
    # The hospital of the demonstration is the program's own, and nobody's to edit.
    files = [
        file
        for folder in folders
        for file in folder.glob("**/*.yaml")
        if file.parent.name != "cohort"
    ]
    files.append(TREE / "simengine" / "desk" / "clock_marks.yaml")
    files.append(TREE / "simengine" / "rehearsal" / "alone.yaml")
    assert {"skills.yaml", "clock_marks.yaml", "term-not-breathing.yaml"} <= {f.name for f in files}
    for file in files:
        line = file.read_text(encoding="utf-8").splitlines()[0]
        start, _, schema = line.partition("$schema=")
        assert start == "# yaml-language-server: ", file
        assert (file.parent / schema).resolve() in schemas_dir().resolve().iterdir(), file


@pytest.mark.parametrize("path", sorted(scenarios_dir().glob("*.yaml")), ids=lambda path: path.stem)
def test_joining_definitions_changes_no_verdict(path: Path) -> None:
    tree = typed(read_yaml(path).root or pytest.fail("unreadable"))
    plain = Draft202012Validator(written("scenario"))
    spoilt = json.loads(json.dumps(tree).replace('"within"', '"wthin"').replace('"to"', '"too"'))
    for instance in (tree, spoilt):
        assert faults(plain, instance) == faults(validator("scenario"), instance)
    assert list(complaints("scenario", tree)) == []
    assert list(complaints("scenario", spoilt))


def faults(judge: Draft202012Validator, instance: Any) -> set[tuple[Any, ...]]:
    return {(*error.absolute_path, str(error.validator)) for error in judge.iter_errors(instance)}


EVENT: dict[str, Any] = {
    "seq": 3,
    "id": "5bb7d8f2-1c1c-4d6a-9d40-0d3f4f6a0c11",
    "at_ms": 61_000,
    "noted_ms": 62_500,
    "wall": "2026-01-31T09:30:00Z",
    "kind": "action",
    "by": "k3f9",
    "data": {"action": "mask_ventilation", "phase": "start",
             "settings": {"oxygen": {"value": 21, "unit": "%"}}},
    "prev": "0" * 64,
    "hash": "a" * 64,
}  # fmt: skip


def changed(**fields: Any) -> dict[str, Any]:
    return {**EVENT, **fields}


def test_a_right_event_is_taken() -> None:
    assert list(complaints("session", EVENT)) == []


@pytest.mark.parametrize(
    ("event", "path", "expected", "found"),
    [
        (changed(at_ms=-1), ("at_ms",), "whole milliseconds from 0 on, of at most 31 years", ""),
        (changed(at_ms=1.5), ("at_ms",), "whole milliseconds from 0 on, of at most 31 years", ""),
        (changed(kind="acton"), ("kind",), "a kind of event", ""),
        (changed(hash="A" * 64), ("hash",), "64 hexadecimal digits", ""),
        (changed(extra=1), (), "a key of an event", "'extra'"),
        (
            changed(data={"action": "dry", "phase": "begin"}),
            ("data", "phase"),
            "done, start or stop",
            "",
        ),
        (changed(data={"phase": "done"}), ("data",), "the key 'action'", "none"),
        (changed(kind="pause", data={"why": "tea"}), ("data",), "a key of data", "'why'"),
        (
            changed(kind="set", data={"setting": "oxygen", "value": [21]}),
            ("data", "value"),
            "a number or a word",
            "",
        ),
    ],
)
def test_a_wrong_event_is_told_in_words(
    event: dict[str, Any], path: tuple[str, ...], expected: str, found: str
) -> None:
    (complaint,) = complaints("session", event)
    assert (complaint.path, complaint.expected, complaint.found) == (path, expected, found)
