"""A table is the same, however a spreadsheet program wrote it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.people.csv_table import read_table
from simengine.problems import Problem

ROWS = [("Name", "Unit"), ("Anna Müller", "north"), ("Zoë; B.", 'the "old" wing')]


def written(separator: str, end: str) -> str:
    """The rows as Python's own writer puts them, all cells in quotes (RFC 4180)."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end, quoting=csv.QUOTE_ALL).writerows(ROWS)
    return out.getvalue()


def cells(file: Path, problems: list[Problem]) -> list[tuple[str, ...]]:
    table = read_table(file, problems)
    assert table is not None
    return [tuple(row.cells.values()) for row in table.rows]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16"])
def test_separator_line_end_and_coding_make_no_difference(
    tmp_path: Path, separator: str, end: str, coding: str
) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(written(separator, end).encode(coding))
    problems: list[Problem] = []
    assert cells(file, problems) == ROWS[1:]
    assert problems == []


def test_windows_1252_is_read_and_told_with_a_word_to_look_at(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(written(";", "\r\n").encode("cp1252"))
    problems: list[Problem] = []
    assert cells(file, problems) == ROWS[1:]
    (problem,) = problems
    assert problem.level == "warning"
    assert "Windows-1252, such as 'Müller'" in problem.found


def test_a_first_line_that_says_the_separator_is_heeded(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("sep=;\nname;a,b,c\nAnna;1\n", encoding="utf-8")
    table = read_table(file, [])
    assert table is not None
    assert table.headings == {"name": 1, "a,b,c": 2}
    assert table.rows[0].line == 3


def test_a_row_keeps_its_line_though_a_cell_above_holds_line_breaks(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text('name,unit\n"An\nna",x\n\n,,\nBo,y\n', encoding="utf-8")
    table = read_table(file, [])
    assert table is not None
    assert [row.line for row in table.rows] == [2, 6]


def test_letters_are_composed_so_that_a_name_is_the_same_name(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("name\nMu\u0308ller\n", encoding="utf-8")
    assert cells(file, []) == [("Müller",)]


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"", "an empty file"),
        (b"\r\n;;\r\n", "an empty file"),
        (b"PK\x03\x04rest", "save as CSV"),
        (b"a,b\n\x00,1\n", "no text"),
        (b"a,b\nx\x81y,1\n", "in line 2"),
        (b'a,b\n1,2\n"open,3\n', "each quote closed"),
    ],
)
def test_what_is_no_table_is_told(tmp_path: Path, raw: bytes, told: str) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(raw)
    problems: list[Problem] = []
    assert read_table(file, problems) is None
    (problem,) = problems
    assert told in str(problem)
    if told == "each quote closed":
        assert problem.line == 3


def test_a_row_with_more_cells_than_headings_and_a_heading_twice_are_told(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("name,unit,name\nAnna,north,x,spilled\n", encoding="utf-8")
    problems: list[Problem] = []
    read_table(file, problems)
    assert [(problem.line, problem.column) for problem in problems] == [(1, 3), (2, 4)]


WORD = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=9)


@given(st.lists(st.tuples(WORD, WORD), min_size=1, max_size=5), st.sampled_from(",;\t"))
def test_any_text_that_another_writer_wrote_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, str]], separator: str
) -> None:
    import unicodedata

    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows([("one", "two"), *rows])
    file = tmp_path_factory.mktemp("any") / "a.csv"
    file.write_text(out.getvalue(), encoding="utf-8", newline="")
    composed = [tuple(unicodedata.normalize("NFC", cell) for cell in row) for row in rows]
    assert cells(file, []) == composed
