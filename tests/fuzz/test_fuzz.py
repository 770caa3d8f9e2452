"""No file, however it was ruined, ends a reader in a traceback or keeps it for ever.

``make fuzz`` looks for more; each class that it found stands below as a case of its own.
"""

from __future__ import annotations

import io
import zipfile
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

from simengine.exchange.unpacked import unpacked
from simengine.people.csv_table import read_table
from simengine.problems import InputError, Problem
from simengine.resources import scenarios_dir
from simengine.scenario import check_file
from tests.amount import seeds
from tests.fuzz import requests, run
from tests.fuzz.run import at_most, batch, tried
from tests.fuzz.targets import TARGETS, Target

PATIENCE_S = 20.0
"""Seconds of the processor: what was a hang took minutes, what is right takes less than one."""


FILES = TARGETS[:-1]
REQUEST = TARGETS[-1]


@pytest.mark.parametrize("target", FILES, ids=lambda target: target.name)
def test_a_ruined_file_gives_problems_and_nothing_else(target: Target) -> None:
    traces = [fault.trace for fault in batch(target, range(seeds(30)), PATIENCE_S).faults]
    assert traces == []


def test_a_ruined_request_is_answered_and_many_get_past_the_door(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    statuses: Counter[int] = Counter()
    monkeypatch.setattr(requests, "note_status", lambda status: statuses.update([status]))
    traces = [fault.trace for fault in batch(REQUEST, range(seeds(150)), PATIENCE_S).faults]
    assert traces == []
    assert {200, 303, 403, 404, 405} <= set(statuses)


def test_a_reader_that_takes_too_much_memory_would_be_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    peaks = iter((0, run.MOST_BYTES + 1))
    monkeypatch.setattr(run, "peak_bytes", lambda: next(peaks))
    fault = tried(Target("a reader", lambda: (), lambda _, seed: seed, lambda *_: None), 0, b"")
    assert fault is not None
    assert fault.where.startswith("TooMuchError")


def test_a_reader_that_fails_or_never_ends_would_be_found() -> None:
    def fails(_: Path, content: bytes) -> None:
        while content == b"for ever":
            pass
        raise KeyError(content)

    target = Target("a reader", lambda: (b"x",), lambda _, seed: seed, fails)
    ended = tried(target, 0, b"x")
    stuck = tried(target, 0, b"for ever", 0.05)
    assert ended is not None
    assert ended.where.startswith("KeyError in fails")
    assert stuck is not None
    assert stuck.where.startswith("TooLongError in fails")


def _in_the_key(item: str) -> Callable[[str], str]:
    return lambda text: text.replace("\nkey:\n", f"\nkey:\n{item}\n", 1)


SCENARIOS: dict[str, Callable[[str], str]] = {
    "an empty expect": _in_the_key("  - expect:"),
    "an expect in a list": _in_the_key("  - {expect: [dry], from: birth, ideal: 30 s}"),
    "an expect of an empty map": _in_the_key("  - {expect: {}, from: birth, ideal: 30 s}"),
    "an expect of any of none": _in_the_key("  - {expect: {any: []}, from: birth, ideal: 30 s}"),
    "a respond in a list": _in_the_key("  - {respond: [dry], whenever: {}, ideal: 30 s}"),
    "a repeat in a list": _in_the_key("  - {repeat: [dry], every: 30 s}"),
    "an order of none": _in_the_key("  - {order: []}"),
    "an order of lists": _in_the_key("  - {order: [[dry], {}]}"),
    "an avoid of none of several": _in_the_key("  - {avoid: {any: []}}"),
    "an avoid of nothing at all": _in_the_key("  - {avoid: {not: {all: [{}]}}}"),
    "a keep of nothing": _in_the_key("  - {keep: {}}"),
    "a keep of a setting without a range": _in_the_key("  - {keep: {settings: {oxygen: }}}"),
    "an item that is a list": _in_the_key("  - []"),
    "an item in two places": _in_the_key("  - &item {expect: [dry]}\n  - *item"),
    "thousands of items": _in_the_key("  - {expect: dry, from: birth, ideal: 60 s}\n" * 4000),
    "accents without end": lambda text: text.replace("title: ", "title: " + "\u0301" * 90_000, 1),
    "accents without end, written otherwise": lambda text: text.replace(
        "title: Term newborn who is not breathing", 'title: "' + "\\u0301" * 9_000 + '"', 1
    ),
    "a figure of the protocol no number of times": lambda text: text.replace(
        "times: 2}", "times: nan}", 1
    ),
    "a figure of the protocol beyond all numbers": lambda text: text.replace(
        "times: 2}", "times: 1.0e+308}", 1
    ),
    "no start": lambda text: text.replace("\nstart:\n", "\nstrt:\n", 1),
    "a name without end": lambda text: text.replace("id: term", "id: " + "term" * 50_000, 1)
    + "x" * 200_000 + ": 1\n",
}  # fmt: skip


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_scenario_with_a_hole_in_it_is_told_with_its_place(tmp_path: Path, name: str) -> None:
    shipped = (scenarios_dir() / "term-not-breathing.yaml").read_text(encoding="utf-8")
    file = tmp_path / "a.yaml"
    file.write_text(SCENARIOS[name](shipped), encoding="utf-8")
    with at_most(PATIENCE_S):
        errors = [problem for problem in check_file(file) if problem.level == "error"]
    assert errors
    assert all(problem.line for problem in errors)


BELOW: dict[str, tuple[str, str, str]] = {
    "a value without rows": (
        "protocols/ercnls-2021.yaml", "    rows:\n", "    rows: []\n    lost:\n",
    ),
    "a value whose rows begin nowhere": (
        "protocols/ercnls-2021.yaml", "{since: ", "{sinse: ",
    ),
    "an action without a label": ("vocabulary/newborn.yaml", "    label: ", "    labl: "),
    "a setting without a unit": ("vocabulary/newborn.yaml", "unit: ", "unit: []  # "),
}  # fmt: skip


@pytest.mark.parametrize("name", BELOW)
def test_a_scenario_under_a_broken_protocol_or_vocabulary_tells_theirs(
    tmp_path: Path, name: str
) -> None:
    place, good, bad = BELOW[name]
    text = (scenarios_dir() / place).read_text(encoding="utf-8")
    assert good in text
    broken = tmp_path / place
    broken.parent.mkdir()
    broken.write_text(text.replace(good, bad, 1), encoding="utf-8")
    file = tmp_path / "term-not-breathing.yaml"
    file.write_bytes((scenarios_dir() / "term-not-breathing.yaml").read_bytes())
    for checked in (file, broken):
        errors = [problem for problem in check_file(checked) if problem.level == "error"]
        assert str(broken) in {problem.file for problem in errors}


def test_a_zip_damaged_anywhere_is_told_as_such(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("manifest.json", "{}" * 40)
    whole = out.getvalue()
    for at in range(len(whole)):
        file = tmp_path / "a.zip"
        file.write_bytes(whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :])
        with suppress(InputError):
            unpacked(file)


TABLES = {
    "rows": b"code\n" + b"x\n" * 9_000_000,
    "empty rows": b"code\n" + b"\n" * 9_000_000,
    "columns": b",".join(b"h%d" % number for number in range(3000)) + b"\n" + b"x\n" * 9000,
    "accents": b"code,name\n1," + ("e" + "\u0301\u0323" * 200_000).encode(),
    "an open quote": b'code,name\n"' + b"a\n" * 400_000,
}


@pytest.mark.parametrize("name", TABLES)
def test_a_table_of_absurd_size_is_refused_at_once(tmp_path: Path, name: str) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(TABLES[name])
    problems: list[Problem] = []
    with at_most(PATIENCE_S):
        assert read_table(file, problems) is None
    assert problems
