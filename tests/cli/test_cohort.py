"""`simengine cohort` over a store, and the words for what is in the way."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.cohort_report.demo import demo_cohort
from simengine.scoring.as_json import card_as_json
from simengine.session.chain import chained
from simengine.store import Store
from simengine.store.people import save_roster
from simengine.store.threats import add_threat
from tests.debrief.read_back import Read


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a roster and the first sessions of the invented hospital."""
    folder = tmp_path_factory.mktemp("store")
    cohort = demo_cohort(sessions=10)
    with Store.open(folder) as opened:
        save_roster(opened, cohort.roster)
        for session in (*cohort.sessions, *cohort.second_logs):
            opened.add_log(chained(session.session.events), unit=session.unit)
            opened.put_result(session.result, card_as_json(session.card))
        for threat in cohort.threats:
            add_threat(opened, threat)
    return folder


def test_the_report_is_written_and_its_files_are_told(
    store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["cohort", "--data", str(store), "--to", "2026-06-30", "--output", str(tmp_path)]
    assert main(command) == 0
    printed = capsys.readouterr()
    assert printed.out.splitlines() == [str(tmp_path / "cohort.html"), str(tmp_path / "cohort.pdf")]
    assert "Few sessions count here" in printed.err
    assert "trainee codes" in printed.err
    text = " ".join(Read((tmp_path / "cohort.html").read_text(encoding="utf-8")).text)
    assert "Cohort report: All units" in text
    assert "10 sessions" in text
    assert "are current in everything they need" in text
    assert "Suction tubing perished" in text


def test_a_unit_and_a_period_can_be_chosen_and_published(
    store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["cohort", "--data", str(store), "--output", str(tmp_path), "--published"]
    command += ["--unit", "newborn  UNIT", "--from", "2025-01-01", "--to", "2025-12-31"]
    assert main(command) == 0
    assert "coordinator's own" not in capsys.readouterr().err
    text = " ".join(
        Read((tmp_path / "cohort-newborn-unit-published.html").read_text(encoding="utf-8")).text
    )
    assert "1 January 2025 to 31 December 2025" in text
    assert "Labour ward" not in text
    assert "What to arrange" not in text


def test_an_unknown_unit_is_refused_with_the_nearest_one(
    store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["cohort", "--data", str(store), "--output", str(tmp_path), "--unit", "Labor ward"]
    assert main(command) == 1
    assert "did you mean 'Labour ward'?" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (["--from", "2026-02-01", "--to", "2026-01-31"], "comes after --to 2026-01-31"),
        (["--from", "2999-01-01"], "comes after today"),
    ],
)
def test_days_in_the_wrong_order_are_wrong_usage(
    store: Path, capsys: pytest.CaptureFixture[str], days: list[str], words: str
) -> None:
    assert main(["cohort", "--data", str(store), *days]) == 2
    assert words in capsys.readouterr().err


def test_a_text_that_is_no_day_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["cohort", "--from", "31.1.2026"])
    assert ended.value.code == 2
    assert "a day such as 2026-01-31, not '31.1.2026'" in capsys.readouterr().err


def test_a_store_without_sessions_says_how_to_bring_some_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Store.open(tmp_path).close()
    assert main(["cohort", "--data", str(tmp_path)]) == 1
    message = capsys.readouterr().err
    assert "at least one session with a result" in message
    assert "simengine import" in message


def test_a_period_without_sessions_or_people_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cohort = demo_cohort(sessions=1)
    with Store.open(tmp_path) as opened:
        (session,) = cohort.sessions
        opened.add_log(chained(session.session.events), unit=session.unit)
        opened.put_result(session.result, card_as_json(session.card))
    command = ["cohort", "--data", str(tmp_path), "--from", "2026-01-01", "--to", "2026-01-31"]
    assert main(command) == 1
    message = capsys.readouterr().err
    assert "at least one session from 2026-01-01 to 2026-01-31, found none" in message


def test_a_folder_that_holds_no_store_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["cohort", "--data", str(tmp_path / "elsewhere")]) == 1
    assert "a folder in which sessions are kept" in capsys.readouterr().err
