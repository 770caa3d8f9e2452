"""What a hurried hand, a crash or malice makes of a file: seeded, so that each can be had again.

Rules of this file:

- Most mutations keep the form (YAML that parses, JSON that is chained anew), since what doesn't
  parse is refused at the door and finds nothing.
- A tree's value is replaced by one that stands elsewhere in the file or by an odd one; keys are
  taken away, renamed, doubled, moved. Bytes are cut, doubled, swapped.
"""

from __future__ import annotations

import json
import pickle
from collections.abc import Callable, Iterator
from functools import cache
from random import Random
from typing import Any

import yaml

from simengine.session.chain import FIRST, from_json, linked
from simengine.session.log_file import as_line

ODD_LINES = ("[dry]", "{}", "[]", "~", "''", "-", ":", "&a [*a]", "!!python/object:os.system x")
ODD_VALUES: tuple[Any, ...] = (
    None, {}, [], "", " ", True, False, 0, -1, 1.5, 10**19, 1e308, "0", "-0 s", "1e999 s", "nan",
    "inf cmH2O", "0 %", "101 %", "-5 s", "0 s", "30 s", "1000000 h", "30 cmH2O", "at least 30 %",
    "21 to 30 %", "30 to 21 %", "30 ± 2 cmH2O", "above 1e400 %", "empty", "birth", "start", "dry",
    "mask_ventilation", "heart_rate", "oxygen", "limp", "settled", "é\u0301", "\u202e",
    "x" * 70_000,
    {"": None}, {"dry": None}, {"any": []}, {"not": {}}, {"any": [{}]}, {"all": [{"not": {}}]},
    {"protocol": "starting_oxygen"}, {"protocol": "none"}, {"protocol": None}, ["dry"],
    ["dry", "dry"],
    [None], [[]], [{}], {"doing": "dry"}, {"observed": {"heart_rate": "below 60 /min"}},
    {"settings": {"oxygen": "at most 40 %"}}, {"set": "oxygen", "to": "lower"}, {"find": "none"},
    {"any": ["dry", "mask_ventilation"]}, {"know": "heart_rate"}, {"from": "40 %", "to": "30 %"},
    [{"to": "limp", "after": "0 s"}], {"state": "limp"}, {"a": {"b": {"c": {"d": {}}}}},
)  # fmt: skip

Path = tuple[Any, ...]


def mutated_yaml(random: Random, seed: bytes) -> bytes:
    """Return a YAML file with one to three things wrong with it."""
    if random.random() < 0.35:
        return mutated_lines(random, seed)
    tree = pickle.loads(_packed(seed))
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        tree = _mutated_tree(random, tree)
    written = yaml.dump(
        tree, Dumper=yaml.CSafeDumper, allow_unicode=True, sort_keys=False, width=10_000
    )
    return written.encode()


@cache
def _packed(seed: bytes) -> bytes:
    """Return what a YAML file holds, quick to be copied: few files are read again and again."""
    return pickle.dumps(yaml.load(seed, Loader=yaml.CSafeLoader))


def mutated_lines(random: Random, seed: bytes) -> bytes:
    """Return a text whose lines or bytes were changed."""
    lines = seed.split(b"\n")
    at, other = random.randrange(len(lines)), random.randrange(len(lines))
    line = lines[at]
    match random.randrange(9):
        case 0:
            del lines[at]
        case 1:
            lines.insert(at, lines[other])
        case 2:
            lines[at], lines[other] = lines[other], line
        case 3:
            lines[at] = random.choice((b" ", b"  ", b"\t", b"- ")) + line
        case 4:
            lines[at] = line[random.randrange(len(line) + 1) :]
        case 5:
            lines[at] = line.partition(b":")[0] + b": " + random.choice(ODD_LINES).encode()
        case 6:
            lines = lines[:at]
        case 7:
            depth = random.choice((10, 49, 60, 490, 5000))
            lines[at] = line.partition(b":")[0] + b": " + b"[" * depth + b"]" * depth
        case _:
            return mutated_bytes(random, seed)
    return b"\n".join(lines)


def mutated_bytes(random: Random, seed: bytes) -> bytes:
    """Return bytes of which some were cut, doubled, turned or put in."""
    start = random.randrange(len(seed) + 1)
    end = min(len(seed), start + random.choice((0, 1, 2, 8, 60, 1000)))
    piece = seed[start:end]
    match random.randrange(4):
        case 0:
            new = b""
        case 1:
            new = piece * random.choice((2, 3, 200))
        case 2:
            new = bytes(byte ^ 1 << random.randrange(8) for byte in piece)
        case _:
            new = random.choice(
                (b"\0", b"\xff", b'"', b"\r", b"{", b"[", b"\xe2\x80\xa8", b"9" * 99)
            )
    return seed[:start] + new + seed[end:]


def mutated_log(random: Random, seed: bytes) -> bytes:
    """Return a session log with other events, chained anew as a rule."""
    if random.random() < 0.3:
        return mutated_lines(random, seed)
    events = [json.loads(line) for line in seed.splitlines()]
    for _ in range(random.choice((1, 1, 2, 4))):
        match random.randrange(5):
            case 0:
                del events[random.randrange(len(events))]
            case 1:
                events.insert(random.randrange(len(events)), random.choice(events))
            case _:
                at = random.randrange(len(events))
                events[at] = _mutated_tree(random, events[at])
        if not events:
            return b""
    lines, prev = [], FIRST
    for number, event in enumerate(events):
        try:
            chained = linked(from_json({**event, "seq": number}), prev)
            lines.append(as_line(chained))
            prev = chained.hash
        except Exception:  # noqa: BLE001 - what can't be chained goes in as it is
            lines.append(json.dumps(event).encode() + b"\n")
    return b"".join(lines)


def mutated_tree_json(random: Random, seed: bytes) -> bytes:
    """Return a JSON file with one thing wrong with it."""
    return json.dumps(_mutated_tree(random, json.loads(seed))).encode()


def mutated_table(random: Random, seed: bytes) -> bytes:
    """Return a CSV file with odd cells, rows and quotes."""
    if random.random() < 0.5:
        return mutated_lines(random, seed)
    rows = [line.split(b",") for line in seed.split(b"\n")]
    row = random.choice(rows)
    at = random.randrange(len(row))
    odd = (b'"', b'""', b"", b"=1+1", b"31/02/2024", b"9999-99-99", b"0001-01-01", b"-1", b"\xe9")
    row[at] = random.choice((*odd, b"x" * 200_000, b'"' + b"a\n" * 50_000, b",;\t" * 30))
    if random.random() < 0.3:
        row.insert(at, random.choice(rows)[0])
    return b"\n".join(b",".join(row) for row in rows)


def _mutated_tree(random: Random, tree: Any) -> Any:
    paths = list(_paths(tree))
    path = random.choice(paths)
    if not path:
        return random.choice(ODD_VALUES)
    owner = _at(tree, path[:-1])
    value = owner[path[-1]]
    another = _copy(_at(tree, random.choice(paths)))
    change = _changed(random, owner, path[-1], value, another)
    return tree if change is None else _with(tree, path, change())


def _changed(
    random: Random, owner: Any, key: Any, value: Any, another: Any
) -> Callable[[], Any] | None:
    """Change the owner in place and return nothing, or return what gives the new value."""
    odd = _copy(random.choice(ODD_VALUES))
    match random.randrange(7):
        case 0:
            del owner[key]
        case 1 if isinstance(owner, dict):
            del owner[key]
            owner[random.choice(("", "dry", "any", str(odd)[:30], str(key) + "s", "0"))] = value
        case 1 | 2 if isinstance(owner, list):
            owner.insert(random.randrange(len(owner) + 1), another)
        case 2 if isinstance(value, dict):
            value[random.choice(("any", "expect", "to", "protocol", "settings", "dose"))] = odd
        case 3:
            return lambda: another
        case 4:
            return lambda: [value]
        case _:
            return lambda: odd
    return None


def _with(tree: Any, path: Path, value: Any) -> Any:
    _at(tree, path[:-1])[path[-1]] = value
    return tree


def _at(tree: Any, path: Path) -> Any:
    for step in path:
        tree = tree[step]
    return tree


def _copy(tree: Any) -> Any:
    return json.loads(json.dumps(tree, default=str))


def _paths(tree: Any, path: Path = ()) -> Iterator[Path]:
    yield path
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from _paths(value, (*path, key))
    elif isinstance(tree, list):
        for number, value in enumerate(tree):
            yield from _paths(value, (*path, number))
