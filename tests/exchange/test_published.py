import csv
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from uuid import NAMESPACE_OID, uuid5

from simengine.cohort.records import SessionResult
from simengine.exchange.published import FEW, HIDDEN, PUBLISHED, write_published
from tests.exchange.shipped_results import result

ONE = "term-not-breathing-first-try"


def held(unit: str, people: int, sessions: int, **changed: object) -> list[SessionResult]:
    """Sessions on a unit, each with one of so many people in turn."""
    given = result(ONE)
    return [
        replace(
            given,
            session=str(uuid5(NAMESPACE_OID, f"{unit} {number}")),
            unit=unit,
            purpose="formative",
            team={"leader": (f"{unit}-{number % people}",)},
            **changed,  # type: ignore[arg-type]
        )
        for number in range(sessions)
    ]


def published(folder: Path, results: Iterable[SessionResult]) -> dict[str, list[dict[str, str]]]:
    files = write_published(results, folder)
    out = {}
    for file in files:
        with file.open(encoding="utf-8-sig", newline="") as opened:
            out[file.stem] = list(csv.DictReader(opened))
    return out


def by_unit(rows: list[dict[str, str]]) -> dict[str, dict[str, str]]:
    return {row["unit"]: row for row in rows}


def test_a_unit_of_fewer_than_five_people_has_no_figures(tmp_path: Path) -> None:
    tables = published(
        tmp_path,
        [*held("North", 6, 8, total=0.5), *held("South", 4, 20), *held("West", 9, 9, total=1.0)],
    )
    rows = by_unit(tables["published-sessions"])
    assert rows["South"]["note"] == HIDDEN
    assert {rows["South"][name] for name in ("people", "sessions", "mean_total")} == {""}
    assert (rows["West"]["people"], rows["West"]["sessions"]) == ("9", "9")
    assert float(rows["West"]["mean_total"]) == 1.0
    for name in ("published-items", "published-faults"):
        assert all(row["note"] == HIDDEN for row in tables[name] if row["unit"] == "South")


def test_where_one_unit_alone_would_be_hidden_the_next_smallest_is_too(tmp_path: Path) -> None:
    tables = published(tmp_path, [*held("A", 4, 9), *held("B", 6, 9), *held("C", 9, 9)])
    rows = by_unit(tables["published-sessions"])
    assert [rows[unit]["note"] for unit in "ABC"] == [HIDDEN, HIDDEN, ""]


def test_fewer_than_five_sessions_are_too_few_to_tell(tmp_path: Path) -> None:
    several = [
        replace(session, team={"leader": tuple(f"p{n}" for n in range(7))})
        for session in held("North", 1, 4)
    ]
    row = published(tmp_path, several)["published-sessions"][0]
    assert row["note"] == FEW
    assert (row["people"], row["sessions"], row["mean_total"]) == ("7", "4", "")


def test_rehearsals_are_in_no_figure(tmp_path: Path) -> None:
    rehearsed = [replace(session, purpose="rehearsal") for session in held("North", 9, 9)]
    assert published(tmp_path, rehearsed)["published-sessions"] == []


def test_no_code_session_or_day_is_in_any_file(tmp_path: Path) -> None:
    given = held("North", 6, 8)
    published(tmp_path, given)
    text = "".join(file.read_text("utf-8-sig") for file in tmp_path.iterdir())
    for session in given:
        assert session.session not in text
        assert session.team["leader"][0] not in text
    assert given[0].day.isoformat() not in text


def test_an_item_s_figures_are_those_of_the_sessions_that_reached_it(tmp_path: Path) -> None:
    given = held("North", 6, 8)
    item = next(marked for marked in given[0].items if marked.credit is not None)
    earned = [1.0, 1.0, 0.5, 0.0, 1.0, 0.25, None, 1.0]
    some = [
        replace(session, items=(replace(item, credit=credit),))
        for session, credit in zip(given, earned, strict=True)
    ]
    (row,) = published(tmp_path, some)["published-items"]
    assert row["sessions"] == "7"
    assert float(row["mean_credit"]) == 4.75 / 7
    assert float(row["met"]) == 4 / 7


def test_the_dictionary_tells_the_columns_and_both_rules(tmp_path: Path) -> None:
    tables = published(tmp_path, held("North", 6, 8))
    rows = tables["published-dictionary"]
    for table in PUBLISHED:
        columns = [
            row["column"] for row in rows if row["table"] == table.name and row["column"] != "*"
        ]
        assert columns == [column.name for column in table.columns]
        if tables[table.name]:
            assert list(tables[table.name][0]) == columns
    words = " ".join(row["meaning"] for row in rows)
    assert "fewer than 5 people" in words
    assert "coordinator's own export" in words
