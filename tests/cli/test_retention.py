"""Retention from the command line: said first, asked for, and kept as the setting."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.people.roster import Posting, Roster, Trainee
from simengine.store import Store
from simengine.store.people import roster, save_roster
from simengine.store.settings import RETENTION_MONTHS, SESSION_MONTHS, setting


@pytest.fixture
def data(tmp_path: Path) -> Path:
    with Store.open(tmp_path) as store:
        stay = (Posting("north", date(2001, 1, 1), date(2002, 1, 1)),)
        save_roster(store, Roster((Trainee("k1ab", "nurse", stay, "Anna Berg"),)))
    return tmp_path


def test_a_dry_run_says_who_would_go(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    argv = ["store", "retention", "--data", str(data), "--people", "24", "--dry-run"]
    assert main(argv) == 0
    err = capsys.readouterr().err
    assert "Person to erase: k1ab, whose last day was 2002-01-01." in err
    assert "this was a dry run" in err
    with Store.open(data) as store:
        assert roster(store).trainees
        assert setting(store, RETENTION_MONTHS) is None


def test_what_was_asked_is_done_and_kept_as_the_setting(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["store", "retention", "--data", str(data)]
    assert main(argv) == 0
    assert "Everything is kept" in capsys.readouterr().out
    assert main([*argv, "--people", "24", "--sessions", "120"]) == 1
    assert "Add --yes" in capsys.readouterr().err
    assert main([*argv, "--people", "24", "--sessions", "120", "--yes"]) == 0
    with Store.open(data) as store:
        assert not roster(store).trainees
        assert setting(store, RETENTION_MONTHS) == 24
        assert setting(store, SESSION_MONTHS) == 120


def test_months_that_make_no_sense_are_wrong_usage(data: Path) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["store", "retention", "--data", str(data), "--people", "0"])
    assert ended.value.code == 2
