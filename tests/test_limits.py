"""What is too large is refused with a sentence that names file and limit, before it costs."""

from __future__ import annotations

import re
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from simengine import limits
from simengine.exchange.unpacked import unpacked
from simengine.people.csv_table import read_table
from simengine.problems import InputError, Problem
from simengine.scenario.positions import read_yaml
from simengine.session.log_file import read_log

PAGE = Path(__file__).parent.parent / "docs" / "limits.md"


def by_the_table_reader(file: Path) -> list[Problem]:
    problems: list[Problem] = []
    assert read_table(file, problems) is None
    return problems


def by_the_log_reader(file: Path) -> list[Problem]:
    with pytest.raises(InputError) as refused:
        read_log(file)
    return list(refused.value.problems)


def by_the_bundle_reader(file: Path) -> list[Problem]:
    with pytest.raises(InputError) as refused:
        unpacked(file)
    return list(refused.value.problems)


def by_the_yaml_reader(file: Path) -> list[Problem]:
    return list(read_yaml(file).problems)


def list_of_many_files() -> bytes:
    """A zip file whose list at the end is long: what the list takes in memory is many times it."""
    import io

    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for number in range(3000):
            archive.writestr(f"protocols/{number}.yaml", b"")
    return out.getvalue()


Case = tuple[Callable[[Path], list[Problem]], Callable[[], bytes], str]
TOO_LARGE: dict[str, Case] = {
    "line ends": (by_the_table_reader, lambda: b"code\n" + b"\n" * 19_000_000, "1,000,000 lines"),
    "columns": (by_the_table_reader, lambda: b"a," * 9_900_000, "4,000,000 cells"),
    "a few columns": (by_the_table_reader, lambda: b"a," * 300 + b"\n", "200 columns"),
    "rows": (by_the_table_reader, lambda: b"code\n" + b"x\n" * 100_001, "100,000 rows"),
    "cells": (by_the_table_reader, lambda: b"a\n" + (b"," * 400 + b"\n") * 49_000, "cells"),
    "a table's bytes": (by_the_table_reader, lambda: b"x" * 20_000_001, "20 MB"),
    "a log's bytes": (by_the_log_reader, lambda: b"x" * 64_000_001, "64 MB"),
    "a log's lines": (by_the_log_reader, lambda: b"{}\n" * 100_001, "100,000 entries"),
    "a line of a log": (by_the_log_reader, lambda: b"[" * 1_000_001 + b"\n", "1 MB in a line"),
    "a bundle's bytes": (by_the_bundle_reader, lambda: b"PK" + bytes(2**26), "64 MB"),
    "a bundle's list": (by_the_bundle_reader, list_of_many_files, "40 files"),
    "a scenario's bytes": (by_the_yaml_reader, lambda: b"a: b\n" * 200_001, "1 MB"),
}


@pytest.mark.parametrize("name", TOO_LARGE)
def test_what_is_too_large_is_told_with_its_file_and_the_limit(tmp_path: Path, name: str) -> None:
    read, content, limit = TOO_LARGE[name]
    file = tmp_path / "large"
    file.write_bytes(content())
    (problem,) = read(file)
    assert problem.file == str(file)
    assert limit in problem.expected


@pytest.mark.parametrize("name", TOO_LARGE)
def test_it_takes_no_more_memory_than_a_few_times_the_file(tmp_path: Path, name: str) -> None:
    read, content, _ = TOO_LARGE[name]
    file = tmp_path / "large"
    file.write_bytes(content())
    tracemalloc.start()
    try:
        read(file)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 5 * file.stat().st_size + 50_000_000


@pytest.mark.parametrize("read", [by_the_table_reader, by_the_log_reader, by_the_bundle_reader])
def test_a_device_that_never_ends_is_read_no_further_than_the_limit(
    read: Callable[[Path], list[Problem]],
) -> None:
    (problem,) = read(Path("/dev/zero"))
    assert "at most" in problem.expected


def test_a_bundle_packed_in_a_way_that_may_ask_for_any_memory_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "a.bundle.zip"
    with zipfile.ZipFile(file, "w", compression=zipfile.ZIP_LZMA) as archive:
        archive.writestr("manifest.json", "{}")
    (problem,) = by_the_bundle_reader(file)
    assert problem.code == "packing"


def test_the_page_of_limits_has_every_limit_with_its_number() -> None:
    stated = re.findall(r"\| ([\d,]+(?: MB| bytes)?) \(`(\w+)`\)", PAGE.read_text("utf-8"))
    written = {name: number for number, name in stated}
    there_are = {
        name: value
        for name, value in vars(limits).items()
        if isinstance(value, int) and name[0] != "_"
    }
    assert written.keys() == there_are.keys()
    for name, value in there_are.items():
        number, _, unit = written[name].partition(" ")
        limit = int(number.replace(",", "")) * (1_000_000 if unit == "MB" else 1)
        assert abs(limit - value) < (1_000_000 if unit == "MB" else 1), name
