"""The schemas and the reader accept the same keys, at every map of the files.

The reader is watched: which keys does it ask of each map in files that hold one of each thing?
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from simengine.resources import scenarios_dir, schemas_dir
from simengine.scenario import check_file, loading
from simengine.scenario.kinds import CLASSES
from simengine.scenario.place import Place
from simengine.scenario.positions import Mapping as Map
from simengine.scenario.positions import Node, Sequence, read_yaml, typed
from simengine.scenario.read_conditions import _CLAUSES
from simengine.schemas import SchemaName, complaints

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
FILES: list[tuple[SchemaName, Path]] = [
    ("scenario", VALID / "small.yaml"),
    ("scenario", VALID / "small-unsafe.yaml"),
    ("scenario", VALID / "small-shifts.yaml"),
    ("vocabulary", VALID / "vocabulary" / "small.yaml"),
    ("protocol", VALID / "protocols" / "small.yaml"),
    ("protocol", VALID / "protocols" / "small-unsafe.yaml"),
    ("scenario", scenarios_dir() / "term-not-breathing.yaml"),
    ("vocabulary", scenarios_dir() / "vocabulary" / "newborn.yaml"),
    ("protocol", scenarios_dir() / "protocols" / "common-practice.yaml"),
]
Way = tuple[str | int, ...]
Asked = dict[tuple[str, Way], set[str]]


def maps(node: Node, path: Way = ()) -> Iterator[tuple[Way, Map]]:
    if isinstance(node, Map):
        yield path, node
        for key, value in node.items.items():
            yield from maps(value, (*path, key))
    elif isinstance(node, Sequence):
        for number, item in enumerate(node.items):
            yield from maps(item, (*path, number))


def watched(path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Asked, Asked]:
    """Read a file and return the keys asked of each place, and the places gone through freely."""
    keys: Asked = defaultdict(set)
    free: Asked = defaultdict(set)
    get, entries = Place.get, Place.entries

    def watched_get(self: Place, key: str) -> Place | None:
        keys[self.book.file, self.path].add(key)
        return get(self, key)

    def watched_entries(self: Place, what: str = "a map") -> Iterator[tuple[str, Place]]:
        free[self.book.file, self.path].add(what)
        yield from entries(self, what)

    monkeypatch.setattr(Place, "get", watched_get)
    monkeypatch.setattr(Place, "entries", watched_entries)
    # The checks of the whole ask at places of other kinds; only the reader is meant here.
    monkeypatch.setattr(loading, "check_whole", lambda root, read: None)
    monkeypatch.setattr(loading, "sound_vocabulary", lambda *_: None)  # known from before
    assert check_file(path) == []
    return keys, free


def in_schema(
    name: SchemaName, tree: Any, keys: Mapping[Way, set[str]]
) -> Iterator[tuple[Way, set[str]]]:
    """Go through some places, each with those of its keys that the schema knows there.

    Places of one depth are asked together, since none of them lies in another.
    """
    for depth in sorted({len(path) for path in keys}):
        copy = json.loads(json.dumps(tree))
        level = {path: given for path, given in keys.items() if len(path) == depth}
        for path, given in level.items():
            target = copy
            for step in path:
                target = target[step]
            target.update({key: None for key in given if key not in target})
        unknown: dict[Way, set[str]] = defaultdict(set)
        for complaint in complaints(name, copy):
            if complaint.key:
                unknown[complaint.path].add(complaint.key)
        for path, given in level.items():
            yield path, given - unknown[path]


@cache
def all_keys(name: SchemaName) -> set[str]:
    keys: set[str] = set()

    def walk(part: Any) -> None:
        if isinstance(part, dict):
            keys.update(part.get("properties", {}))
            for inner in part.values():
                walk(inner)
        elif isinstance(part, list):
            for inner in part:
                walk(inner)

    walk(json.loads((schemas_dir() / f"{name}.schema.json").read_text(encoding="utf-8")))
    return keys


@pytest.mark.parametrize(("name", "path"), FILES, ids=lambda value: getattr(value, "stem", value))
def test_reader_and_schema_know_the_same_keys_at_every_map(
    name: SchemaName, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked_for, free = watched(path, monkeypatch)
    root = read_yaml(path).root
    assert root is not None
    tree = typed(root)
    # Adding one of these to a map would make it a map of another kind.
    turning = {*CLASSES, "protocol", "find", "mend", "set", "know", "any", "begin", "dose", "again"}
    turning |= {"per", "while"}
    reader: dict[Way, set[str]] = {}
    possible: dict[Way, set[str]] = {}
    for place, node in maps(root):
        if (str(path), place) not in free:
            reader[place] = asked_for[str(path), place] - (turning - set(node.items))
            possible[place] = all_keys(name) - (turning - set(node.items)) | reader[place]
    for place, known in in_schema(name, tree, possible):
        assert known == reader[place] | ({"format"} if not place else set()), place
    assert len(possible) > 3


def test_every_key_of_the_schemas_is_asked_by_the_reader_somewhere(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    read: dict[str, set[str]] = defaultdict(set)
    for name, path in FILES:
        with monkeypatch.context() as patch:
            seen, free = watched(path, patch)
            for (file, place), keys in seen.items():
                if file == str(path) and (file, place) not in free:
                    read[name] |= keys
    for name in ("scenario", "vocabulary", "protocol"):
        read_through = {"format", *_CLAUSES, "essential", "important", "helpful"}
        if name == "protocol":
            read_through |= {"over"}  # of a clause for guards, which a protocol has none of
        assert all_keys(name) - read_through == read[name] - read_through


def test_the_clauses_of_a_condition_are_those_of_the_schema() -> None:
    schema = json.loads((schemas_dir() / "scenario.schema.json").read_text(encoding="utf-8"))
    assert set(schema["$defs"]["condition"]["properties"]) == set(_CLAUSES)
