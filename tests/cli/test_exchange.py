"""Import, export and rescore as their user meets them."""

import csv
import io
import json
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.people.consent import Said
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session import read_log, write_log
from simengine.store import Store
from simengine.store.consents import say
from simengine.store.people import roster as everybody

SESSION = "c41d7f52-03b6-4c1a-8e7d-95a1e0b3f268"
LOG = scenarios_dir() / "sessions" / "term-not-breathing-first-try.session.jsonl"
OTHER = scenarios_dir() / "sessions" / "cot-term-steady.session.jsonl"


@pytest.fixture(scope="module", autouse=True)
def few_redraws() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("simengine.exchange.scoring_jobs.score", partial(score, redraws=10))
        yield


@pytest.fixture(scope="module")
def imported(tmp_path_factory: pytest.TempPathFactory, few_redraws: None) -> Path:
    """A store with two sessions, made once."""
    folder = tmp_path_factory.mktemp("imported") / "data"
    command = ["import", str(LOG), str(OTHER), "--data", str(folder), "--unit", "North"]
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        assert main(command) == 0
    assert f"{SESSION}  {LOG}" in out.getvalue()
    assert "Sessions: 2 imported, 0 were here already, 0 refused." in err.getvalue()
    return folder


@pytest.fixture
def data(tmp_path: Path, imported: Path) -> Path:
    """A store with two sessions, of the test's own."""
    return shutil.copytree(imported, tmp_path / "data")


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8-sig", newline="") as opened:
        return list(csv.DictReader(opened))


def test_what_is_here_already_is_imported_once(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["import", str(LOG), "--data", str(data)]) == 0
    assert "0 imported, 1 were here already" in capsys.readouterr().err


def test_a_dry_run_makes_no_store_and_says_what_would_come(
    tmp_path: Path, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["import", str(LOG), "--data", str(tmp_path / "none"), "--dry-run"]) == 0
    assert "1 would be imported" in capsys.readouterr().err
    assert not (tmp_path / "none").exists()
    assert main(["import", str(LOG), "--data", str(data), "--dry-run"]) == 0
    assert "0 would be imported, 1 were here already" in capsys.readouterr().err


def test_a_wrong_log_is_refused_with_its_line_and_the_others_come_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = tmp_path / "wrong.session.jsonl"
    lines = LOG.read_text(encoding="utf-8").splitlines(keepends=True)
    wrong.write_text("".join(lines[:7] + lines[8:]), encoding="utf-8")
    data = tmp_path / "data"
    assert main(["import", str(wrong), str(OTHER), "--data", str(data)]) == 1
    err = capsys.readouterr().err
    assert f"{wrong}:8:1:" in err
    assert "1 imported, 0 were here already, 1 refused" in err


def test_a_folder_of_sessions_is_imported_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "logs"
    folder.mkdir()
    shutil.copy(LOG, folder)
    shutil.copy(OTHER, folder)
    argv = ["import", str(folder), "--data", str(tmp_path / "data"), "--no-scores"]
    assert main(argv) == 0
    assert "2 imported" in capsys.readouterr().err
    with Store.open(tmp_path / "data") as store:
        assert len(store.without_result()) == 2
    assert main(["export", "--csv", "--data", argv[3], "--output", str(tmp_path / "out")]) == 0
    assert len(rows(tmp_path / "out" / "sessions.csv")) == 2  # scored when they were asked for


def test_another_log_under_the_same_id_is_refused(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    events = [replace(event, hash="", prev="") for event in read_log(LOG)]
    other = tmp_path / "other.session.jsonl"
    write_log(other, [replace(events[0], by="somebody"), *events[1:]])
    assert main(["import", str(other), "--data", str(data)]) == 1
    assert "another log of the session" in capsys.readouterr().err


def test_tables_are_exported_by_unit_and_day(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    argv = ["export", "--csv", "--data", str(data), "--output", str(out)]
    assert main(argv) == 0
    assert str(out / "sessions.csv") in capsys.readouterr().out
    both = rows(out / "sessions.csv")
    assert {row["session"] for row in both} >= {SESSION}
    assert len(both) == 2
    assert main([*argv, "--unit", "South"]) == 0
    assert rows(out / "sessions.csv") == []
    day = next(row["day"] for row in both if row["session"] == SESSION)
    assert main([*argv, "--from", day, "--to", day]) == 0
    assert {row["day"] for row in rows(out / "sessions.csv")} == {day}


def test_parquet_published_and_xapi_files_are_written(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["--data", str(data), "--output", str(tmp_path / "out")]
    assert main(["export", "--parquet", *argv]) == 0
    assert main(["export", "--published", *argv]) == 0
    assert main(["export", "--xapi", "https://hospital.example", *argv]) == 0
    out, err = capsys.readouterr()
    assert all(Path(line).is_file() for line in out.splitlines())
    statements = (tmp_path / "out" / "statements.jsonl").read_text().splitlines()
    assert f"{len(statements)} statements" in err
    assert json.loads(statements[0])["actor"]["account"]["homePage"] == "https://hospital.example"


def test_a_bundle_goes_out_of_one_store_and_into_another(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["export", "--bundle", SESSION[:8], "--data", str(data), "--output", str(tmp_path)]
    assert main(argv) == 0
    bundle = Path(capsys.readouterr().out.strip())
    assert zipfile.is_zipfile(bundle)
    elsewhere = tmp_path / "elsewhere"
    assert main(["import", str(bundle), "--data", str(elsewhere)]) == 0
    assert SESSION in capsys.readouterr().out
    assert main(["rescore", "--data", str(elsewhere), "--workers", "1"]) == 0
    assert "0 scored" in capsys.readouterr().err
    out = ["--output", str(tmp_path / "out")]
    assert main(["export", "--csv", "--data", str(elsewhere), *out]) == 0
    (row,) = rows(tmp_path / "out" / "sessions.csv")
    assert (row["session"], row["unit"]) == (SESSION, "North")


def test_a_session_that_is_not_there_is_told(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["export", "--bundle", "zzz", "--data", str(data), "--output", str(tmp_path)]
    assert main(argv) == 1
    assert "no session of this id" in capsys.readouterr().err


def test_one_person_s_data_are_files_of_their_own_for_programs_and_to_read(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["export", "--person", "w8bn6hqj", "--data", str(data), "--output", str(tmp_path)]
    assert main(argv) == 0
    made, text = map(Path, capsys.readouterr().out.split("\n")[:2])
    record = json.loads(made.read_text(encoding="utf-8"))
    assert record["code"] == "w8bn6hqj"
    assert record["sessions"]
    assert "code: w8bn6hqj" in text.read_text(encoding="utf-8")


def test_rescore_as_json_is_one_value_with_each_session(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["rescore", "--data", str(data), "--workers", "1", "--json"]
    assert main([*argv, "--protocol", "aha-2020"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert report["scored"] == 2
    assert {session["session"] for session in report["sessions"]} >= {SESSION}
    assert {tuple(session["why"]) for session in report["sessions"]} == {("another protocol",)}
    assert main([*argv, "--protocol", "aha-2020"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert (again["scored"], again["up_to_date"], again["sessions"]) == (0, 2, [])


def test_rescore_for_people_says_what_changed_and_why(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["rescore", "--data", str(data), "--workers", "1", "--protocol", "aha-2020"]
    assert main(argv) == 0
    out, err = capsys.readouterr()
    assert any(
        line.startswith(SESSION) and "because: another protocol" in line
        for line in out.splitlines()
    )
    assert "2 scored" in err


def test_rescore_over_processes_of_its_own(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    argv = ["rescore", "--data", str(data), "--workers", "2", "--protocol", "aha-2020"]
    assert main(argv) == 0
    assert "2 scored" in capsys.readouterr().err


def test_an_unknown_protocol_is_told_for_each_session(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["rescore", "--data", str(data), "--workers", "1", "--protocol", "aha-2020x"]
    assert main(argv) == 1
    out, err = capsys.readouterr()
    assert "did you mean 'aha-2020'" in out
    assert "2 could not be scored" in err


@pytest.mark.parametrize(
    "argv",
    [
        ["export", "--csv"],
        ["rescore"],
    ],
)
def test_a_folder_without_a_store_is_told_and_stays_empty(
    argv: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*argv, "--data", str(tmp_path / "typo")]) == 1
    assert "expected a folder in which sessions are kept, found none" in capsys.readouterr().err
    assert not (tmp_path / "typo").exists()


@pytest.mark.parametrize(
    "argv",
    [
        ["export"],
        ["export", "--csv", "--parquet"],
        ["export", "--csv", "--from", "yesterday"],
        ["export", "--xapi", "hospital"],
        ["rescore", "--workers", "0"],
    ],
)
def test_wrong_usage_ends_with_status_2(argv: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(argv)
    assert ended.value.code == 2


def test_a_damaged_file_of_any_sort_keeps_no_other_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bundle, table, folder = tmp_path / "a.bundle.zip", tmp_path / "a.csv", tmp_path / "b.csv"
    bundle.write_bytes(b"PK\x03\x04 and then nothing")
    table.write_bytes(b"a," * 5_000_000)
    folder.mkdir()
    named = [str(file) for file in (bundle, table, folder, LOG)]
    assert main(["import", *named, "--data", str(tmp_path / "new")]) == 1
    out, err = capsys.readouterr()
    assert str(LOG) in out
    for file in (bundle, table, folder):
        assert f"{file}: " in err
    assert "1 imported, 0 were here already, 1 refused" in err


ROSTER = """code,name,profession,unit,since
p6sk2gzn,Ann,nurse,Birth centre,2024-01-01
w8bn6hqj,Bo,nurse,Ward 3,2024-01-01
"""


def test_a_unit_or_code_that_the_roster_does_not_know_is_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    people, folder = tmp_path / "people.csv", ["--data", str(tmp_path / "data")]
    people.write_text(ROSTER, encoding="utf-8")
    assert main(["import", str(people), *folder]) == 0
    capsys.readouterr()
    assert main(["import", str(LOG), *folder, "--unit", "Brith centre"]) == 1
    err = capsys.readouterr().err
    assert "expected a unit of the roster, found 'Brith centre'" in err
    assert "did you mean 'Birth centre'?" in err
    assert "--new-unit" in err
    assert main(["import", str(LOG), *folder, "--unit", "BIRTH  centre"]) == 0
    err = capsys.readouterr().err
    assert "expected codes of people on the roster, found" in err
    with Store.open(tmp_path / "data") as store:
        result = store.result(SESSION)
        assert result is not None
        assert result.unit == "Birth centre"
    assert main(["import", str(OTHER), *folder, "--unit", "Ward 5", "--new-unit"]) == 0


def test_a_sessions_unit_is_set_right_and_its_score_stays(
    tmp_path: Path, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store.open(data) as store:
        before = store.result(SESSION)
    assert main(["store", "unit", SESSION, "South", "--data", str(data)]) == 0
    assert "North is now South" in capsys.readouterr().out
    with Store.open(data) as store:
        after = store.result(SESSION)
    assert before is not None
    assert after == replace(before, unit="South")
    with pytest.raises(SystemExit):
        main(["store", "unit", "none-such", "South", "--data", str(data)])
    people = tmp_path / "people.csv"
    people.write_text(ROSTER, encoding="utf-8")
    assert main(["import", str(people), "--data", str(data)]) == 0
    assert main(["store", "unit", SESSION, "South", "--data", str(data)]) == 1
    assert "expected a unit of the roster" in capsys.readouterr().err
    assert main(["store", "unit", SESSION, "ward 3", "--data", str(data)]) == 0
    assert "South is now Ward 3" in capsys.readouterr().out


def test_a_staff_number_leaves_with_the_roster_and_with_nothing_else(
    tmp_path: Path, data: Path
) -> None:
    number = "S-0047119"
    people = tmp_path / "people.csv"
    heading, ann, *_ = ROSTER.splitlines()
    people.write_text(f"{heading},staff number\n{ann},{number}\n", encoding="utf-8")
    folder = ["--data", str(data)]
    assert main(["import", str(people), *folder]) == 0
    out = tmp_path / "out"
    for kind in (["--csv"], ["--published"], ["--xapi", "https://hospital.example"]):
        assert main(["export", *kind, *folder, "--output", str(out)]) == 0
    assert main(["cohort", *folder, "--output", str(out)]) == 0
    with Store.open(data) as store:
        events = store.events(SESSION)
        (known,) = everybody(store).trainees
    assert known.staff_number == number
    write_log(out / "log.session.jsonl", events)
    files = [file for file in out.rglob("*") if file.is_file()]
    assert len(files) > 8
    assert [file.name for file in files if number.encode() in file.read_bytes()] == []
    assert main(["export", "--roster", *folder, "--output", str(tmp_path / "roster")]) == 0
    assert number in (tmp_path / "roster" / "trainees.csv").read_text(encoding="utf-8")


def test_research_tells_nobody_apart_who_has_not_agreed_to_it(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    export = ["export", "--data", str(data), "--output", str(tmp_path / "out")]
    assert main([*export, "--csv"]) == 0
    everybody = {row["person"] for row in rows(tmp_path / "out" / "team.csv")}
    own, *others = sorted(everybody)
    with Store.open(data) as store:
        say(store, Said(own, "research", True, "2026-01-01T00:00:00Z"))
        say(store, Said(own, "figures", False, "2026-01-01T00:00:00Z"))
    assert main([*export, "--csv", "--research"]) == 0
    assert {row["person"] for row in rows(tmp_path / "out" / "team.csv")} == {own}
    assert len(rows(tmp_path / "out" / "sessions.csv")) == 2, "the team's figures stay"
    assert main([*export, "--csv"]) == 0
    assert {row["person"] for row in rows(tmp_path / "out" / "team.csv")} == set(others)
    assert main([*export, "--bundle", SESSION]) == 0
    capsys.readouterr()
    assert main([*export, "--bundle", SESSION, "--research"]) == 1
    assert "no such answer from " in capsys.readouterr().err
    with Store.open(data) as store:
        for code in others:
            say(store, Said(code, "research", True, "2026-01-01T00:00:00Z"))
    assert main([*export, "--bundle", SESSION, "--research"]) == 0
    assert main([*export, "--roster", "--research"]) == 2
