import csv
import io
import json
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from simengine import open_session, score
from simengine.cli.main import main
from simengine.cli.replay import clock_ms
from simengine.cohort_report.demo import demo_cohort

RUN = "import sys; from simengine.cli.main import main; sys.exit(main(sys.argv[1:]))"


def test_score_as_json_is_the_card_unrounded_and_nothing_else(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["score", str(log), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    card = score(open_session(log).session)
    assert printed["total"] == card.total
    assert printed["interval"] == list(card.interval or ())
    assert printed["outcome"] is None
    assert [item["id"] for item in printed["items"]] == [item.id for item in card.items]
    for item, told_item in zip(card.items, printed["items"], strict=True):
        assert told_item["credit"] == item.credit
        assert told_item["verdict"] == item.verdict
        for occasion, told_occasion in zip(item.occasions, told_item["occasions"], strict=True):
            assert told_occasion["opened_ms"] == occasion.opened_ms
            assert told_occasion["done_ms"] == occasion.done_ms
            assert told_occasion["delay_ms"] == occasion.delay_ms
    assert printed["phases"] == {name: part.total for name, part in card.phases.items()}
    assert printed["roles"].keys() == card.roles.keys()


def test_score_for_people_says_the_total_with_its_interval_and_the_caution(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["score", str(log)]) == 0
    out, err = capsys.readouterr()
    card = score(open_session(log).session)
    assert card.total is not None
    assert f"Total {100 * card.total:.0f} %" in out
    assert "unsigned" in out
    assert "For training only" in err


def test_score_under_another_protocol_says_so(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["score", str(log), "--protocol", "aha-2020"]) == 0
    assert "read here under aha-2020" in capsys.readouterr().out


def test_replay_tells_the_session_in_order_of_time(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["replay", str(log), "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [row["at_ms"] for row in rows] == sorted(row["at_ms"] for row in rows)
    birth = next(row for row in rows if row["words"] == "Birth")
    assert birth["clock_ms"] == 0
    assert main(["replay", str(log)]) == 0
    assert "    0:00  Birth" in capsys.readouterr().out.splitlines()


def test_replay_at_an_instant_tells_true_and_known_apart(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["replay", str(log), "--at", "0:30"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("0:30 on the team's clock: Limp and not breathing")
    assert "the team does not know" in out
    assert main(["replay", str(log), "--at", "0:30", "--json"]) == 0
    moment = json.loads(capsys.readouterr().out)
    heart_rate = next(
        observation for observation in moment["observations"] if observation["name"] == "heart_rate"
    )
    assert moment["clock_ms"] == 30_000
    assert heart_rate["known"] is None
    assert 60 < heart_rate["value"] < 90


def test_replay_as_csv_has_a_row_for_each_second(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["replay", str(log), "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    seconds = [int(row["scenario_time (ms)"]) for row in rows]
    assert seconds[:3] == [0, 1000, 2000]
    assert all(row["heart_rate (/min)"] for row in rows if row["clock (ms)"])


def test_draw_writes_svg_and_mermaid(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "states.svg"
    assert main(["draw", "preterm-30-weeks", "--output", str(file)]) == 0
    assert file.read_text(encoding="utf-8").lstrip().startswith(("<svg", "<?xml"))
    capsys.readouterr()
    assert main(["draw", "preterm-30-weeks", "--mermaid"]) == 0
    assert "stateDiagram" in capsys.readouterr().out


def test_check_as_json_lists_place_and_message(
    scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = scenario.read_text(encoding="utf-8")
    scenario.write_text(text.replace("expect: dry", "expect: dyr", 1), encoding="utf-8")
    assert main(["check", "--json", str(scenario)]) == 1
    (problem,) = json.loads(capsys.readouterr().out)
    assert list(problem) == ["file", "line", "column", "level", "code", "message"]
    assert problem["level"] == "error"
    assert "dyr" in problem["message"]


def test_debrief_writes_a_page_and_a_pdf_to_take_home_and_of_the_whole(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["debrief", str(log), "--output", str(out)]) == 0
    files = [Path(line) for line in capsys.readouterr().out.split()]
    assert [file.suffix for file in files] == [".html", ".pdf"] * 2
    assert [file.stem.endswith("-whole") for file in files] == [False, False, True, True]
    for file in files:
        if file.suffix == ".html":
            assert "Simulation" in file.read_text(encoding="utf-8")
        else:
            assert file.read_bytes().startswith(b"%PDF-")


def test_demo_plays_scores_and_writes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of a smaller hospital: the installed wheel's test takes the whole one."""
    few = partial(demo_cohort, sessions=30)
    monkeypatch.setattr("simengine.cohort_report.demo.demo_cohort", few)
    assert main(["demo", "--output", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "Next:" in out
    for stem, parts in (("debrief-*", 2), ("cohort", 1)):
        for kind in ("html", "pdf"):
            files = list(tmp_path.glob(f"{stem}.{kind}"))
            assert len(files) == parts
            assert all(str(file) in out for file in files)
    assert str(tmp_path / "certificate-of-attendance.pdf") in out
    assert (tmp_path / "certificate-of-attendance.pdf").read_bytes().startswith(b"%PDF-")


def test_a_reader_that_leaves_early_is_no_fault(log: Path) -> None:
    replay = subprocess.Popen(
        [sys.executable, "-c", RUN, "replay", str(log), "--csv"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert replay.stdout is not None
    assert replay.stderr is not None
    replay.stdout.readline()
    replay.stdout.close()
    assert replay.wait(timeout=60) == 0
    assert replay.stderr.read() == ""
    replay.stderr.close()


@pytest.mark.parametrize(
    ("text", "ms"),
    [("1:02.5", 62_500), ("0:00", 0), ("2:30", 150_000), ("-0:20", -20_000), ("−0:20", -20_000)],
)
def test_times_on_the_clock_are_read(text: str, ms: int) -> None:
    assert clock_ms(text) == ms
