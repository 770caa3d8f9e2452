import csv
import re
import tracemalloc
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from pyarrow import parquet

from simengine.cohort.records import FaultResult, ItemResult, SessionResult
from simengine.columns import PYTHON_TYPES, Table
from simengine.exchange.csv_files import write_csv
from simengine.exchange.harmless_cells import guarded
from simengine.exchange.parquet_files import write_parquet
from simengine.exchange.session_tables import FAULTS, ITEMS, SESSIONS, TABLES
from simengine.problems import InputError
from simengine.store.tables import fault_results, item_results
from tests.exchange.shipped_results import FEW, result, results


def rows_of(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8-sig", newline="") as opened:
        return list(csv.DictReader(opened))


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_every_cell_is_what_its_column_says(table: Table[Any]) -> None:
    seen = 0
    for session in results():
        for cells in table.cells(session):
            seen += 1
            for cell, column in zip(cells, table.columns, strict=True):
                if cell is None:
                    assert column.optional, column.name
                    continue
                assert type(cell) is PYTHON_TYPES[column.type], (column.name, cell)
                if column.type == "instant":
                    assert datetime.fromisoformat(str(cell)).tzinfo is not None
                if column.allowed == ("0 to 1",):
                    assert 0 <= float(str(cell)) <= 1
                elif column.allowed:
                    assert cell in column.allowed, column.name
    assert seen


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_every_column_is_told_with_its_unit_where_it_has_one(table: Table[Any]) -> None:
    for column in table.columns:
        assert column.meaning
        assert (column.unit == "s") == column.name.endswith("_s"), column.name
    assert table.columns[0].name == "session"


def test_files_and_dictionary_have_the_same_columns_in_the_same_order(tmp_path: Path) -> None:
    files = write_csv(results(), tmp_path, TABLES)
    assert [file.name for file in files] == [
        "sessions.csv",
        "team.csv",
        "items.csv",
        "faults.csv",
        "dictionary.csv",
    ]
    described = rows_of(tmp_path / "dictionary.csv")
    for file in files[:-1]:
        header = file.read_text("utf-8-sig").splitlines()[0]
        columns = [
            row["column"] for row in described if row["table"] == file.stem and row["column"] != "*"
        ]
        assert header == ",".join(f'"{column}"' for column in columns)
    assert all(row["meaning"] for row in described)
    assert any("apostrophe" in row["meaning"] for row in described)
    assert any("coordinator's own export" in row["meaning"] for row in described)


def test_csv_gives_every_figure_back_unrounded(tmp_path: Path) -> None:
    given = results()
    write_csv(given, tmp_path, TABLES)
    sessions = rows_of(tmp_path / "sessions.csv")
    assert [row["session"] for row in sessions] == [session.session for session in given]
    assert [float(row["total"]) for row in sessions] == [session.total for session in given]
    items = rows_of(tmp_path / "items.csv")
    expected = [item for session in given for item in session.items]
    assert len(items) == len(expected)
    for row, item in zip(items, expected, strict=True):
        assert row["item"] == item.id
        assert row["credit"] == ("" if item.credit is None else repr(item.credit))
        assert row["applied"] == str(item.applied).lower()
    team = rows_of(tmp_path / "team.csv")
    assert {row["person"] for row in team} == {
        person for session in given for held in session.team.values() for person in held
    }


def test_parquet_gives_the_same_cells_with_types_and_meanings(tmp_path: Path) -> None:
    given = [result(name) for name in FEW]
    write_parquet(given, tmp_path, TABLES)
    for table in TABLES:
        read = parquet.read_table(tmp_path / f"{table.name}.parquet")
        rows = [cells for session in given for cells in table.cells(session)]
        assert read.column_names == [column.name for column in table.columns]
        for number, column in enumerate(table.columns):
            cells = [row[number] for row in rows]
            if column.type == "instant":
                cells = [datetime.fromisoformat(str(cell)) for cell in cells]
            assert read.column(column.name).to_pylist() == cells
            field = read.schema.field(column.name)
            assert field.metadata[b"meaning"].decode() == column.meaning
            assert field.nullable == column.optional
    assert (tmp_path / "dictionary.csv").is_file()


def test_without_pyarrow_parquet_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    with pytest.raises(InputError) as refused:
        write_parquet([], tmp_path, TABLES)
    assert "simengine[parquet]" in str(refused.value)


# The characters: OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection): equals,
# plus, minus, at, tab (0x09), carriage return (0x0D); an apostrophe before them is its advice.
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_a_text_that_a_spreadsheet_would_run_is_guarded(start: str) -> None:
    text = f"{start}HYPERLINK(1)"
    assert guarded(text).startswith(f"'{start}")
    assert guarded(f"  {text}").startswith("'")
    assert f";'{start}" in guarded(f"a;{text}")
    assert f"\n'{start}" in guarded(f"a\n{text}")


@pytest.mark.parametrize("text", ["-5", "+3.2", "-1e-3", "2,5", "a-b", "SpO2 = 90", "", "3 to 1"])
def test_numbers_and_harmless_texts_stay_as_they_are(text: str) -> None:
    assert guarded(text) == text


def test_a_formula_in_a_log_reaches_no_cell_and_a_negative_time_stays_a_number(
    tmp_path: Path,
) -> None:
    given = result(FEW[1])
    item = replace(given.items[0], time_s=-3.5, title='=cmd|"/c calc"!A1')
    write_csv([replace(given, unit="@SUM(1)", items=(item,))], tmp_path, TABLES)
    (row,) = rows_of(tmp_path / "items.csv")
    assert row["title"] == '\'=cmd|"/c calc"!A1'
    assert row["time_s"] == "-3.5"
    (session,) = rows_of(tmp_path / "sessions.csv")
    assert session["unit"] == "'@SUM(1)"
    # nothing quoted begins with such a character, whatever splits the cells
    text = (tmp_path / "items.csv").read_text("utf-8-sig")
    assert not re.search(r'(^|[,;\t])"?[=+@]', text, re.MULTILINE)


def test_a_failed_export_leaves_what_was_there(tmp_path: Path) -> None:
    (tmp_path / "sessions.csv").write_text("before")

    def broken() -> Iterator[SessionResult]:
        yield result(FEW[0])
        raise RuntimeError("on purpose")

    with pytest.raises(RuntimeError):
        write_csv(broken(), tmp_path, TABLES)
    assert [file.name for file in tmp_path.iterdir()] == ["sessions.csv"]
    assert (tmp_path / "sessions.csv").read_text() == "before"


def test_memory_does_not_grow_with_the_number_of_sessions(tmp_path: Path) -> None:
    session = result(FEW[0])

    def peak(count: int) -> int:
        tracemalloc.start()
        try:
            write_csv((session for _ in range(count)), tmp_path, TABLES)
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    peak(5)
    # if anything of each session were kept, it would be 10 MB and more
    assert peak(400) < peak(20) + 2_000_000


def test_an_empty_store_gives_files_with_headers_alone(tmp_path: Path) -> None:
    write_csv([], tmp_path, TABLES)
    write_parquet([], tmp_path, TABLES)
    assert rows_of(tmp_path / "items.csv") == []
    assert parquet.read_table(tmp_path / "items.parquet").num_rows == 0


def test_a_day_is_written_as_iso_8601(tmp_path: Path) -> None:
    write_csv([replace(result(FEW[0]), day=date(2026, 1, 9))], tmp_path, (SESSIONS,))
    assert rows_of(tmp_path / "sessions.csv")[0]["day"] == "2026-01-09"


@pytest.mark.parametrize(
    ("kind", "table", "stored", "own"),
    [
        (ItemResult, ITEMS, item_results, {"session", "item"}),
        (FaultResult, FAULTS, fault_results, {"session", "fault"}),
    ],
)
def test_a_result_is_stored_and_exported_under_the_names_of_its_fields(
    kind: type[Any], table: Table[Any], stored: Any, own: set[str]
) -> None:
    names = {field.name for field in fields(kind)}
    assert {column.name for column in table.columns} - own <= names
    assert {column.name for column in stored.columns} - own <= names
