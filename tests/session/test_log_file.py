"""Log files: what is read, what is wrong with a line, what a crash leaves, and the chain."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import rfc8785

from simengine.problems import InputError
from simengine.session import LogWriter, play, read_log, read_log_file, verify_log, write_log
from simengine.session.chain import FIRST, as_json, chained, hash_of
from simengine.session.events import Event
from simengine.session.log_file import as_line
from tests.session.small import WALL, birth, did, opened, put, raw, scenario, state, way

MADE = scenario(
    state("a", way("b", on="birth")), state("b", way("c", after=20_000)), state("c", ends=True)
)


def a_log() -> tuple[Event, ...]:
    script = [birth(5_000), put(8_000, "oxygen", 40, "%"), did(12_000, "dry")]
    return play(MADE, script, opened=opened(), wall=WALL, chained=True).events


def lines() -> list[bytes]:
    return [as_line(event) for event in a_log()]


def written(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "a.session.jsonl"
    path.write_bytes(content)
    return path


def told(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_log(path)
    return [str(problem).removeprefix(f"{path}") for problem in caught.value.problems]


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    path = tmp_path / "a.session.jsonl"
    write_log(path, a_log())
    assert read_log_file(path) == (a_log(), ())
    assert path.read_bytes() == b"".join(lines())
    assert [file.name for file in tmp_path.iterdir()] == ["a.session.jsonl"]


def test_a_log_played_without_a_chain_is_chained_as_it_is_written(tmp_path: Path) -> None:
    path = tmp_path / "a.session.jsonl"
    plain = tuple(replace(event, prev="", hash="") for event in a_log())
    write_log(path, plain)
    assert read_log(path) == a_log()


def test_the_chain_is_sha_256_of_canonical_json_worked_out_without_the_program() -> None:
    # For texts in ASCII and whole numbers RFC 8785 is JSON with sorted keys and no spaces.
    prev = "0" * 64
    for event in a_log():
        raw_event = as_json(event)
        digest = raw_event.pop("hash")
        assert raw_event["prev"] == prev
        plain = json.dumps(raw_event, sort_keys=True, separators=(",", ":")).encode()
        assert digest == hashlib.sha256(plain).hexdigest()
        prev = digest


def test_canonical_json_is_as_the_rfc_shows_it() -> None:
    # RFC 8785, section 3.2.2 and 3.2.3: the sample object and its canonical form.
    sample: dict[str, Any] = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"\u002f",
        "literals": [None, True, False],
    }
    expected = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert rfc8785.dumps(sample) == expected.encode()


def test_a_line_cut_off_by_a_crash_loses_that_line_only_and_is_told(tmp_path: Path) -> None:
    whole = lines()
    for kept in (1, len(whole[-1]) // 2, len(whole[-1]) - 2):
        path = written(tmp_path, b"".join(whole[:-1]) + whole[-1][:kept])
        events, warnings = read_log_file(path)
        assert events == a_log()[:-1]
        (warning,) = warnings
        assert warning.level == "warning"
        assert f":{len(whole)}:1: warning: expected a whole line, found one cut off" in str(warning)


def test_a_last_line_that_lacks_only_its_line_end_is_whole(tmp_path: Path) -> None:
    path = written(tmp_path, b"".join(lines())[:-1])
    assert read_log_file(path) == (a_log(), ())


def test_a_log_that_is_one_cut_off_line_holds_nothing(tmp_path: Path) -> None:
    assert told(written(tmp_path, lines()[0][:50])) == [
        ":1:1: expected at least one whole event, found a cut-off line"
    ]


def test_a_missing_and_an_empty_file_and_a_folder_are_told(tmp_path: Path) -> None:
    assert told(tmp_path / "none") == [": expected a session log, found no such file"]
    assert told(written(tmp_path, b"")) == [": expected a session log, found an empty file"]
    assert told(written(tmp_path, b" \n\n")) == [": expected a session log, found an empty file"]
    assert told(tmp_path) == [": expected a session log, found a folder"]


CHANGES: dict[str, tuple[Callable[[list[bytes]], list[bytes]], list[str]]] = {
    "a changed value": (
        lambda log: [line.replace(b'"value":40', b'"value":30') for line in log],
        [":5:1: hash: expected "],
    ),
    "a line taken out": (
        lambda log: log[:3] + log[4:],
        [":4:1: prev: expected ", ":4:1: seq: expected seq 3, found 4"],
    ),
    "two lines exchanged": (
        lambda log: [*log[:3], log[4], log[3], *log[5:]],
        [":4:1: prev: expected ", ":4:1: seq: expected seq 3, found 4"],
    ),
    "a line twice": (
        lambda log: [*log[:3], log[2], *log[3:]],
        [":4:1: prev: expected ", ":4:1: seq: expected seq 3, found 2"],
    ),
    "no JSON": (
        lambda log: [*log[:2], b"{seq: 2}\n", *log[3:]],
        [":3:2: expected one event as JSON, found Expecting property name"],
    ),
    "an empty line": (
        lambda log: [*log[:2], b"\n", *log[2:]],
        [":3:1: expected one event as JSON, found an empty line"],
    ),
    "another encoding": (
        lambda log: [*log[:1], "é\n".encode("latin-1"), *log[2:]],
        [":2:1: expected one event as JSON, found a byte that is not UTF-8 at column 1"],
    ),
    "a key twice": (
        lambda log: [log[0].replace(b'"seq":0', b'"seq":0,"seq":0'), *log[1:]],
        [":1:1: expected one event as JSON, found the key 'seq' twice"],
    ),
    "a number that is none": (
        lambda log: [line.replace(b'"value":40', b'"value":NaN') for line in log],
        [":5:1: expected one event as JSON, found the word NaN, which is no JSON number"],
    ),
    "a number beyond doubles": (
        lambda log: [line.replace(b'"value":40', b'"value":1e999') for line in log],
        [":5:1: expected one event as JSON, found the number 1e999, which is too large"],
    ),
    "a whole number that others read otherwise": (
        lambda log: [line.replace(b'"value":40', b'"value":9007199254740993') for line in log],
        [":5:1: expected one event as JSON, found the whole number 9007199254740993"],
    ),
    "half a character": (
        lambda log: [line.replace(b'"airway"', b'"\\ud800"') for line in log],
        [":1:1: expected one event as JSON, found half of a character"],
    ),
    "nested without end": (
        lambda log: [*log[:2], b"[" * 100_000 + b"\n", *log[3:]],
        [":3:1: expected one event as JSON, found maps nested too deeply"],
    ),
    "nested deeper than what walks it can go": (
        lambda log: [
            *log[:2],
            log[2].replace(b'"data":{', b'"data":{"deep":' + b"[" * 490 + b"]" * 490 + b",", 1),
            *log[3:],
        ],
        [":3:1: expected at most 50 levels, found deeper nesting"],
    ),
    "accents without end": (
        lambda log: [line.replace(b'"airway"', b'"' + b"\xcc\x81" * 31 + b'"') for line in log],
        [":1:1: expected one event as JSON, found more than 30 accents on one letter"],
    ),
    "accents without end, written otherwise": (
        lambda log: [line.replace(b'"airway"', b'"' + b"\\u0301" * 31 + b'"') for line in log],
        [":1:1: expected one event as JSON, found more than 30 accents on one letter"],
    ),
    "a list": (
        lambda log: [*log[:2], b"[]\n", *log[3:]],
        [":3:1: expected an event, found []"],
    ),
    "no such day": (
        lambda log: [
            line.replace(b'"wall":"2026-03-04', b'"wall":"2026-02-31') for line in log[:1]
        ],
        [":1:1: wall: expected a date and time, found '2026-02-31T09:00:00.000Z'"],
    ),
    "not opened": (
        lambda log: [as_line(event) for event in chained([raw(0, "note", 0, text="x")])],
        [":1:1: expected the event 'opened' first, found 'note'"],
    ),
}


@pytest.mark.parametrize("name", CHANGES)
def test_what_is_wrong_with_a_log_is_told_with_its_line(tmp_path: Path, name: str) -> None:
    change, expected = CHANGES[name]
    changed = change(lines())
    assert changed != lines()
    problems = told(written(tmp_path, b"".join(changed)))
    for wanted in expected:
        assert any(problem.startswith(wanted) for problem in problems), problems


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    log = lines()
    log[1] = log[1].replace(b'"kind":"state"', b'"kind":"stat"')
    log[3] = log[3].replace(b'"at_ms"', b'"at"')
    log[4] = b"x\n"
    assert {line.split(":")[1] for line in told(written(tmp_path, b"".join(log)))} == {
        "2",
        "4",
        "5",
    }


def test_an_event_is_on_the_disk_when_append_returns(tmp_path: Path) -> None:
    path = tmp_path / "a.session.jsonl"
    with LogWriter(path) as writer:
        for number, event in enumerate(a_log(), start=1):
            writer.append(event)
            assert len(read_log(path)) == number


def test_a_writer_takes_away_what_a_crash_left_and_goes_on(tmp_path: Path) -> None:
    whole = lines()
    path = written(tmp_path, b"".join(whole[:3]) + whole[3][:20])
    with LogWriter(path) as writer:
        for event in a_log()[3:]:
            writer.append(event)
    assert read_log(path) == a_log()
    path.write_bytes(b"".join(whole[:3])[:-1])
    with LogWriter(path) as writer:
        writer.append(a_log()[3])
    assert read_log(path) == a_log()[:4]


# --- verify -----------------------------------------------------------------------------------


def test_a_played_log_verifies() -> None:
    assert verify_log(MADE, a_log()) is None


def test_a_changed_line_is_named_even_if_its_own_hash_was_made_anew() -> None:
    log = list(a_log())
    changed = replace(log[4], data={**log[4].data, "value": 30})
    log[4] = replace(changed, hash=hash_of(changed))
    problem = verify_log(MADE, log, file="a.session.jsonl")
    assert problem is not None
    assert str(problem).startswith("a.session.jsonl:6:1: prev: expected the hash of line 5")


def forged(change: Callable[[list[Event]], list[Event]]) -> str:
    """What verify says of a log that was changed and chained anew from end to end."""
    changed = change(list(a_log()))
    problem = verify_log(MADE, chained(replace(e, seq=n) for n, e in enumerate(changed)))
    return "" if problem is None else f"{problem.line}: {problem.message}"


def test_an_automatic_step_that_was_not_due_is_named() -> None:
    def sooner(log: list[Event]) -> list[Event]:
        return [
            replace(event, at_ms=24_000, noted_ms=24_000)
            if event.data.get("state") == "c"
            else event
            for event in log
        ]

    assert forged(sooner) == (
        "7: state: expected 'c' at 25000 ms of scenario time, found 'c' at 24000 ms of scenario "
        "time"
    )

    def invented(log: list[Event]) -> list[Event]:
        step = replace(log[3], id=log[3].id[:-1] + "f", at_ms=15_000, noted_ms=15_000)
        return [*log[:6], replace(step, data={"state": "b", "cause": "rule", "rule": 0}), *log[6:]]

    assert forged(invented).startswith("7: state: expected 'c' at 25000 ms of scenario time")


def test_an_automatic_step_that_was_left_out_is_named() -> None:
    def without(log: list[Event]) -> list[Event]:
        return [event for event in log if event.data.get("state") != "b"]

    assert forged(without) == (
        "4: set: expected 'b' at 5000 ms of scenario time before this entry, found no such entry"
    )


def test_order_and_dates_are_checked() -> None:
    def back(log: list[Event]) -> list[Event]:
        return [replace(e, noted_ms=4_000, at_ms=4_000) if e.kind == "set" else e for e in log]

    assert forged(back).startswith("5: set: expected noted_ms 5000 at least")

    def ahead(log: list[Event]) -> list[Event]:
        return [replace(e, at_ms=90_000) if e.kind == "set" else e for e in log]

    assert forged(ahead).startswith("5: set: expected at_ms 8000 at most")

    def twice(log: list[Event]) -> list[Event]:
        return [*log[:6], log[5], *log[6:]]

    assert forged(twice).startswith("7: action: expected an id of its own")
    assert forged(lambda log: log[1:]).startswith("1: state: expected the event 'opened' first")
    assert forged(lambda log: [log[0], *log[2:]]).startswith("2: event: expected the start state")


def test_the_first_event_of_a_chain_points_to_noughts() -> None:
    assert a_log()[0].prev == FIRST == "0" * 64
