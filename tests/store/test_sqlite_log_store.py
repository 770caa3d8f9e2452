"""The store keeps every event once, in order, for good."""

from __future__ import annotations

import json
import signal
import sqlite3
import subprocess
import sys
import textwrap
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from simengine.session.events import Event
from simengine.store import Planned, SqliteLogStore, Stored, StoreError
from simengine.store.sqlite_log_store import FIRST_PREV

PLANNED = Planned("s1", "2026-01-31T10:00:00Z", {"scenario": "small", "who": "née Ω"})


def log(length: int) -> list[Event]:
    """Events that follow one another; the store asks only that the hashes chain."""
    events: list[Event] = []
    prev = FIRST_PREV
    for seq in range(length):
        own = sha256(f"{seq}{prev}".encode()).hexdigest()
        events.append(
            Event(seq, f"id{seq}", seq, seq, "2026-01-31T10:00:00Z", "note", "k1",
                  {"text": f"née {seq}", "deep": {"value": 0.1}}, prev, own)
        )  # fmt: skip
        prev = own
    return events


def test_what_was_added_is_read_back_the_same_after_opening_again(tmp_path: Path) -> None:
    store = SqliteLogStore(tmp_path)
    store.create(PLANNED)
    store.append("s1", log(3))
    store.close()
    again = SqliteLogStore(tmp_path)
    assert again.events("s1") == tuple(log(3))
    assert again.sessions() == (Stored(PLANNED, opened=False, closed=False),)
    again.close()


def test_the_list_tells_how_far_each_session_has_come(tmp_path: Path) -> None:
    store = SqliteLogStore(tmp_path)
    for name, kinds in {"a": (), "b": ("opened",), "c": ("opened", "closed", "note")}.items():
        store.create(Planned(name, "", {}))
        chained = zip(log(3), kinds, strict=False)
        store.append(name, [replace(event, kind=kind) for event, kind in chained])  # type: ignore[arg-type]
    told = [(one.planned.session, one.opened, one.closed) for one in store.sessions()]
    assert told == [("c", True, True), ("b", True, False), ("a", False, False)]
    store.close()


def test_the_same_event_again_is_taken_once(tmp_path: Path) -> None:
    store = SqliteLogStore(tmp_path)
    store.create(PLANNED)
    store.append("s1", log(2))
    store.append("s1", log(3))
    assert store.events("s1") == tuple(log(3))
    store.close()


def test_another_event_under_a_known_id_is_refused_and_nothing_of_it_is_kept(
    tmp_path: Path,
) -> None:
    store = SqliteLogStore(tmp_path)
    store.create(PLANNED)
    store.append("s1", log(2))
    with pytest.raises(StoreError, match="another event with the id id1"):
        store.append("s1", [replace(log(2)[1], at_ms=99)])
    assert store.events("s1") == tuple(log(2))
    store.close()


@pytest.mark.parametrize("change", [{"seq": 3}, {"prev": "f" * 64}], ids=["a gap", "other chain"])
def test_an_event_that_does_not_follow_is_refused_with_all_that_came_with_it(
    tmp_path: Path, change: dict[str, object]
) -> None:
    store = SqliteLogStore(tmp_path)
    store.create(PLANNED)
    events = log(3)
    wrong = replace(events[2], **change)  # type: ignore[arg-type]
    with pytest.raises(StoreError, match="does not follow"):
        store.append("s1", [events[0], events[1], wrong])
    assert store.events("s1") == ()
    store.close()


@pytest.mark.parametrize("statement", ["UPDATE events SET at_ms = 5", "DELETE FROM events"])
def test_not_even_sql_changes_or_removes_an_event(tmp_path: Path, statement: str) -> None:
    store = SqliteLogStore(tmp_path)
    store.create(PLANNED)
    store.append("s1", log(2))
    store.close()
    with (
        sqlite3.connect(tmp_path / "sessions.sqlite") as db,
        pytest.raises(sqlite3.IntegrityError, match="never"),
    ):
        db.execute(statement)
    db.close()


def test_a_lost_tail_shows(tmp_path: Path) -> None:
    store = SqliteLogStore(tmp_path)
    store.create(PLANNED)
    store.append("s1", log(3))
    store.close()
    with sqlite3.connect(tmp_path / "sessions.sqlite") as db:
        db.execute("DROP TRIGGER events_are_never_removed")
        db.execute("DELETE FROM events WHERE seq = 2")
    db.close()
    again = SqliteLogStore(tmp_path)
    with pytest.raises(StoreError, match="the end of the log of session s1 is lost"):
        again.events("s1")
    again.close()


def test_an_unknown_session_is_an_error_and_a_planned_one_has_no_events(tmp_path: Path) -> None:
    store = SqliteLogStore(tmp_path)
    with pytest.raises(StoreError, match="there is no session s1"):
        store.events("s1")
    store.create(PLANNED)
    assert store.events("s1") == ()
    with pytest.raises(StoreError):
        store.create(PLANNED)
    store.close()


def test_one_writer_only(tmp_path: Path) -> None:
    store = SqliteLogStore(tmp_path)
    with pytest.raises(StoreError, match="another console is using the folder"):
        SqliteLogStore(tmp_path)
    store.close()
    SqliteLogStore(tmp_path).close()


def test_a_killed_writer_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    events = tmp_path / "events.json"
    events.write_text(
        json.dumps([[e.seq, e.id, e.at_ms, e.noted_ms, e.wall, e.kind, e.by, e.data, e.prev, e.hash]
                    for e in log(20)])
    )  # fmt: skip
    writer = textwrap.dedent(
        f"""
        import json, pathlib
        from simengine.session.events import Event
        from simengine.store import Planned, SqliteLogStore
        store = SqliteLogStore(pathlib.Path({str(tmp_path)!r}))
        store.create(Planned("s1", "", {{}}))
        for row in json.loads(pathlib.Path({str(events)!r}).read_text()):
            store.append("s1", [Event(*row)])
            print(row[0], flush=True)
        print("waiting", flush=True)
        input()
        """
    )
    process = subprocess.Popen(
        [sys.executable, "-c", writer], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdin is not None
    acknowledged = [next(process.stdout) for _ in range(12)]
    process.send_signal(signal.SIGKILL)
    process.wait(timeout=10)
    process.stdout.close()
    process.stdin.close()
    store = SqliteLogStore(tmp_path)
    kept = store.events("s1")
    store.close()
    assert len(acknowledged) == 12
    assert len(kept) >= 12
    assert kept == tuple(log(20)[: len(kept)])
