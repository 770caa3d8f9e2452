"""A rehearsal stays one for good: exported, imported and read again it is evidence of nothing."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.cohort.evidence import for_learning, for_totals, is_evidence
from simengine.session import write_log
from simengine.store import Store
from tests.console.consoles import Desk
from tests.rehearsal.playing import Player


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The folder of a console at which somebody rehearsed, under a code, and left."""
    desk = Desk(tmp_path / "data")
    with desk.client:
        player = Player(desk.sign_in()).begin(code="N-104").turns("gas_flow", 8)
        player.wait(5).touch("begin")
        player.wait(30).does("mask_ventilation").wait(60).touch("end")
    return tmp_path / "data"


def session_in(data: Path) -> str:
    with Store.open(data) as store:
        (session,) = store.logs()
    return session


def exported(data: Path, to: Path, *what: str) -> Path:
    assert main(["export", *what, "--data", str(data), "--output", str(to)]) == 0
    return to


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8-sig", newline="") as opened:
        return list(csv.DictReader(opened))


def test_tables_say_that_it_was_and_never_how_it_went(data: Path, tmp_path: Path) -> None:
    tables = exported(data, tmp_path / "tables", "--csv")
    (session,) = rows(tables / "sessions.csv")
    assert session["purpose"] == "rehearsal"
    assert session["total"] == session["outcome"] == session["unsafe"] == ""
    assert rows(tables / "items.csv") == rows(tables / "faults.csv") == []


def test_it_is_in_no_statement_and_no_published_figure(data: Path, tmp_path: Path) -> None:
    statements = exported(data, tmp_path / "xapi", "--xapi", "https://training.hospital.example")
    assert (statements / "statements.jsonl").read_text().strip() == ""
    published = exported(data, tmp_path / "published", "--published")
    figures = {file.stem: rows(file) for file in published.glob("*.csv")}
    assert figures.pop("published-dictionary")
    assert figures
    assert not any(figures.values())


def test_brought_to_another_hospital_it_is_a_rehearsal_there(data: Path, tmp_path: Path) -> None:
    session = session_in(data)
    exported(data, tmp_path / "out", "--bundle", session)
    (bundle,) = (tmp_path / "out").glob("*.zip")
    elsewhere = tmp_path / "elsewhere"
    assert main(["import", str(bundle), "--data", str(elsewhere), "--unit", "North"]) == 0
    with Store.open(elsewhere) as store:
        result = store.result(session)
        assert result is not None
        assert result.purpose == "rehearsal"
        assert list(for_learning([result])) == list(for_totals([result])) == []
        assert not is_evidence(result)


def test_a_log_that_calls_it_an_assessment_is_refused(data: Path, tmp_path: Path) -> None:
    session = session_in(data)
    log = tmp_path / "false.session.jsonl"
    with Store.open(data) as store:
        write_log(log, store.events(session))
    true = log.read_text(encoding="utf-8")
    assert true.count('"purpose":"rehearsal"') == 1
    log.write_text(true.replace('"purpose":"rehearsal"', '"purpose":"summative"'), "utf-8")
    elsewhere = tmp_path / "elsewhere"
    assert main(["import", str(log), "--data", str(elsewhere)]) != 0
    with Store.open(elsewhere) as store:
        assert list(store.logs()) == []
