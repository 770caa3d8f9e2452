"""What came of a play beside what must, and what is said of a file that is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.session import read_log
from tests.plays.small import BY_THE_BOOK, a_play, complaints, played

UNSAFE = f"{BY_THE_BOOK}  - {{at: {{state: better, after: 5 s}}, start: compressions}}\n"


@pytest.mark.parametrize(
    ("expect", "met"),
    [
        ("{states: [waiting, limp, better, over]}", True),
        ("{states: [waiting, limp, over]}", False),
        ("{states: [waiting, better, limp, over]}", False),
        ("{total: 100 %}", True),
        ("{total: at most 99 %}", False),
        ("{outcome: achieved}", True),
        ("{outcome: not yet achieved}", False),
        ("{items: {'expect:listen': on time}}", True),
        ("{items: {'expect:listen': late}}", False),
        ("{items: {'expect:listen': {credit: at least 90 %}}}", True),
        ("{items: {'expect:listen': {credit: at most 90 %, verdict: on time}}}", False),
        ("{shows: {breathing: regular}}", True),
        ("{shows: {heart_rate: below 60 /min}}", False),
        ("{unsafe: none}", True),
        ("{unsafe: ['avoid:compressions']}", False),
        ("{findings: none}", True),
        ("{findings: [started-twice]}", False),
    ],
)
def test_each_expectation_is_met_or_not(tmp_path: Path, expect: str, met: bool) -> None:
    assert played(tmp_path, BY_THE_BOOK, expect).met is met


@pytest.mark.parametrize(
    ("expect", "met"),
    [
        ("{unsafe: ['avoid:compressions']}", True),
        ("{unsafe: none}", False),
        ("{outcome: not yet achieved}", True),
        ("{total: 95 %}", True),
    ],
)
def test_what_was_unsafe_is_named_in_full(tmp_path: Path, expect: str, met: bool) -> None:
    assert played(tmp_path, UNSAFE, expect).met is met


def test_what_did_not_come_is_told_at_its_line(tmp_path: Path) -> None:
    expect = "\n  total: at most 90 %\n  items:\n    expect:listen: late\n  unsafe: [dropped]"
    messages = complaints(tmp_path, BY_THE_BOOK, expect)
    assert [line.partition(": ")[0] for line in messages] == [
        *("one.yaml:8:10", "one.yaml:10:20", "one.yaml:11:11")
    ]
    assert "expect › total: expected at most 90 %, found 100.0 %" in messages[0]
    assert "expected late, found on time" in messages[1]


def test_a_play_whose_step_is_never_done_is_told(tmp_path: Path) -> None:
    messages = complaints(tmp_path, "  - {at: {state: better}, do: listen}\n", "{total: 0 %}")
    assert len(messages) == 1
    assert messages[0].startswith("one.yaml:5:5: steps[0]: expected a step that comes to be done")


WRONG = [
    ("  - {at: 5 s, do: lissen}\n", "5:19", "did you mean 'listen'?"),
    ("  - {at: 5 s, do: compressions}\n", "5:19", "write 'start: compressions'"),
    ("  - {at: 5 s, start: listen}\n", "5:22", "write 'do: listen'"),
    ("  - {at: 5, do: listen}\n", "5:10", "a time such as 20 s"),
    ("  - {at: {state: limb}, do: listen}\n", "5:18", "did you mean 'limp'?"),
    ("  - {at: {after: 5 s}, do: listen}\n", "5:10", "one of start, state, action, when"),
    ("  - {at: {when: {seeing: spo2}}, do: listen}\n", "5:18", "seeing"),
    ("  - {at: -61 s, do: listen}\n", "5:10", "let the clock start later with 'clock_at'"),
    ("  - {at: 5 s}\n", "5:5", "something that is done"),
    ("  - {at: 5 s, set: {oxygen: 30 cmH2O}}\n", "5:29", "%"),
    ("  - {at: 5 s, set: {light: dim}}\n", "5:28", "a word of 'light'"),
    ("  - {at: 5 s, do: listen, role: leadr}\n", "5:33", "did you mean 'leader'?"),
    ("  - {at: 5 s, do: listen, dose: {amount: 5 mcg}}\n", "5:33", "no dose"),
    ("  - {at: 5 s, do: adrenaline, dose: {route: nose}}\n", "5:45", "a route of 'adrenaline'"),
    ("  - {at: 5 s, do: listen, told: {heart: 5 /min}}\n", "5:34", "'heart_rate'"),
    ("  - {at: 5 s, do: listen, each: true}\n", "5:33", "'each' with a state"),
    ("  - {at: 5 s, do: listen, until: 9 s}\n", "5:34", "'every' beside 'until'"),
    ("  - {at: 5 s, prompts: listen}\n", "5:24", "'cue' beside 'prompts'"),
    ("  - {at: 5 s, event: birth}\n", "5:22", "it is given at 'clock_at'"),
    ("  - {at: 5 s, plant: dark}\n", "5:22", "there are: low_light"),
    ("  - {at: 5 s, does: listen}\n", "5:15", "a key of a step"),
    ("  - {do: listen}\n", "5:5", "the key 'at'"),
]


@pytest.mark.parametrize(("steps", "place", "words"), WRONG)
def test_a_step_that_is_wrong_is_told_with_its_place(
    tmp_path: Path, steps: str, place: str, words: str
) -> None:
    messages = complaints(tmp_path, steps)
    assert messages[0].startswith(f"one.yaml:{place}: ")
    assert words in messages[0]


@pytest.mark.parametrize(
    ("expect", "words"),
    [
        ("{states: [limp, bettr]}", "did you mean 'better'?"),
        ("{total: many}", "a range"),
        ("{outcome: passed}", "achieved"),
        ("{items: {listen: on time}}", "did you mean 'expect:listen'?"),
        ("{items: {'expect:listen': in time}}", "on time"),
        ("{shows: {heart_rat: below 60 /min}}", "did you mean 'heart_rate'?"),
        ("{unsafe: yes}", "none"),
        ("{}", "what must come of it"),
    ],
)
def test_an_expectation_that_is_wrong_is_told(tmp_path: Path, expect: str, words: str) -> None:
    messages = complaints(tmp_path, BY_THE_BOOK, expect)
    assert messages
    assert words in messages[0]


def test_a_scenario_that_is_not_there_is_told(tmp_path: Path) -> None:
    file = a_play(tmp_path, BY_THE_BOOK)
    file.write_text(file.read_text("utf-8").replace("scenario: turn", "scenario: tern"), "utf-8")
    (tmp_path / "turn.yaml").rename(tmp_path / "term.yaml")
    from simengine.plays.check import check_play

    (problem,) = check_play(file)
    assert (problem.line, problem.code) == (3, "unknown-name")


# --- commands -----------------------------------------------------------------------------------


def test_check_plays_the_plays_of_a_scenario_and_of_a_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play = a_play(tmp_path, BY_THE_BOOK, "{total: at most 10 %}")
    for named in (tmp_path / "turn.yaml", play, play.parent, play.parent.parent, tmp_path):
        assert main(["check", str(named)]) == 1
        assert "plays/turn/one.yaml:7:17: expect › total" in capsys.readouterr().out
    a_play(tmp_path, BY_THE_BOOK)
    assert main(["check", str(tmp_path)]) == 0
    assert "checked: 0 errors" in capsys.readouterr().err


def test_a_folder_that_happens_to_stand_in_one_named_plays_is_checked_as_any_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "plays" / "mine"
    folder.mkdir(parents=True)
    a_play(folder, BY_THE_BOOK)
    (folder / "other").mkdir()
    (folder / "other" / "notes.yaml").write_text("notes: none\n", encoding="utf-8")
    assert main(["check", str(folder)]) == 0
    assert "error" in capsys.readouterr().err


def test_play_says_beside_each_expectation_what_came(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = a_play(tmp_path, UNSAFE, "{unsafe: none, total: 95 %}")
    assert main(["play", str(file)]) == 1
    out = capsys.readouterr().out
    assert "as expected: total: 95 %" in out
    assert "NOT AS EXPECTED (line 8): unsafe: expected none, found avoid:compressions" in out


def test_play_says_where_credit_was_lost_and_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    late = BY_THE_BOOK.replace("at: 10 s", "at: 75 s")
    assert main(["play", str(a_play(tmp_path, late, "{total: at least 50 %}"))]) == 0
    lost = [line for line in capsys.readouterr().out.splitlines() if "expect:listen" in line]
    assert len(lost) == 1
    assert lost[0].startswith("  expect:listen: 50.0 %, late: ")
    assert "1:15" in lost[0]


def test_play_as_json_has_states_expectations_and_the_score(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = a_play(tmp_path, BY_THE_BOOK, "{total: 100 %}")
    assert main(["play", str(file), "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert row["met"] is True
    assert [state["state"] for state in row["states"]] == ["waiting", "limp", "better", "over"]
    assert row["expected"] == [
        {"what": "total", "expected": "100 %", "came": "100.0 %", "met": True, "line": 7}
    ]
    assert row["score"]["outcome"] == "achieved"


def test_play_writes_a_log_that_verifies(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = a_play(tmp_path, BY_THE_BOOK)
    assert main(["play", str(file), "--output", str(tmp_path / "logs")]) == 0
    log = tmp_path / "logs" / "turn-one.session.jsonl"
    assert main(["verify", str(log), "--scenario", str(tmp_path / "turn.yaml")]) == 0
    assert read_log(log)[-1].kind == "confirmed"
