"""What a schema calls a default is what the reader takes where the key is left out.

Each key with a default is written out in a file that lacks it: what the file means stays the same.
jsonschema, a library of others, finds the part of the schema that a map is held against.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from simengine.resources import schemas_dir
from simengine.scenario import check_file, load_scenario, load_vocabulary
from simengine.scenario.positions import read_yaml, typed

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
Way = tuple[str | int, ...]
NOT_ALONE = {"needless-key", "spoken-unread", "known-anyway"}
"""Some keys go only with others, or not with them: 'shortest' only with what lasts."""


@cache
def schema_of(name: str) -> dict[str, Any]:
    text = (schemas_dir() / f"{name}.schema.json").read_text(encoding="utf-8")
    return json.loads(text)  # type: ignore[no-any-return]


def holds(name: str, part: dict[str, Any], instance: Any) -> bool:
    whole = {**part, "$defs": schema_of(name)["$defs"]}
    return bool(Draft202012Validator(whole).is_valid(instance))


def chosen(name: str, part: Any, instance: Any) -> Any:
    """Return the part of a schema that a value is held against, alternatives being chosen."""
    while isinstance(part, dict):
        if "$ref" in part:
            part = schema_of(name)["$defs"][part["$ref"].rpartition("/")[2]]
        elif "anyOf" in part and "properties" not in part:
            part = next(branch for branch in part["anyOf"] if holds(name, branch, instance))
        elif "if" in part:
            part = part["then" if holds(name, part["if"], instance) else "else"]
        else:
            return part
    return part


def maps(name: str, part: Any, instance: Any, path: Way = ()) -> Iterator[tuple[Way, Any]]:
    """Go through the maps of a file, each with the part of the schema that it is held against."""
    part = chosen(name, part, instance)
    if isinstance(instance, dict):
        yield path, part
        for key, value in instance.items():
            inner = part.get("properties", {}).get(key) or part["additionalProperties"]
            yield from maps(name, inner, value, (*path, key))
    elif isinstance(instance, list):
        for number, value in enumerate(instance):
            yield from maps(name, part["items"], value, (*path, number))


def left_out(name: str, tree: Any) -> Iterator[tuple[Way, str, Any]]:
    """Go through the keys with a default that a file does not have."""
    for path, part in maps(name, schema_of(name), tree):
        here = tree
        for step in path:
            here = here[step]
        for key, form in part.get("properties", {}).items():
            if form and "default" in form and key not in here:
                yield path, key, form["default"]


def meaning(name: str, path: Path) -> tuple[str, str]:
    if name == "scenario":
        scenario = load_scenario(path, search=[VALID])
        return scenario.digest, scenario.wording
    vocabulary = load_vocabulary(path)
    return vocabulary.digest, vocabulary.wording


@pytest.mark.parametrize(
    ("name", "file", "least"),
    [
        ("scenario", VALID / "small-unsafe.yaml", 50),
        ("vocabulary", VALID / "vocabulary" / "small.yaml", 50),
    ],
)
def test_a_default_written_out_changes_nothing(
    name: str, file: Path, least: int, tmp_path: Path
) -> None:
    root = read_yaml(file).root
    assert root is not None
    tree = typed(root)
    copy = tmp_path / "copy.yaml"  # JSON is YAML, and is written and read sooner
    copy.write_text(json.dumps(tree), encoding="utf-8")
    before = meaning(name, copy)
    compared = 0
    for path, key, default in left_out(name, tree):
        changed = json.loads(json.dumps(tree))
        here = changed
        for step in path:
            here = here[step]
        here[key] = default
        copy.write_text(json.dumps(changed), encoding="utf-8")
        if {problem.code for problem in check_file(copy, search=[VALID])} & NOT_ALONE:
            continue
        assert meaning(name, copy) == before, (path, key, default)
        compared += 1
    assert compared >= least


@pytest.mark.parametrize(
    "name", ["scenario", "vocabulary", "protocol", "play", "session", "skills", "agreement"]
)
def test_a_default_is_right_by_its_own_schema(name: str) -> None:
    def walk(part: Any) -> Iterator[dict[str, Any]]:
        if isinstance(part, dict):
            if "default" in part and isinstance(part.get("default"), str | bool | int | list):
                yield part
            for inner in part.values():
                yield from walk(inner)
        elif isinstance(part, list):
            for inner in part:
                yield from walk(inner)

    for part in walk(schema_of(name)):
        assert holds(name, part, part["default"]), part
