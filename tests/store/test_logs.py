"""The store keeps every event once, in order, for good: in SQLite and in PostgreSQL."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import textwrap
from dataclasses import astuple, replace
from pathlib import Path

import pytest
from sqlalchemy import text

from simengine.session.chain import linked
from simengine.store import ChangedLogError, LogStore, Planned, Store, Stored, StoreError
from simengine.store.checking import check
from simengine.store.log_store import AsKept
from simengine.store.resealing import without_triggers
from tests.postgresql import Server
from tests.store.logs import PLANNED, log, opened

Where = Path | str


def test_what_was_added_is_read_back_the_same_after_opening_again(where: Where) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", log(3))
    with Store.open(where) as again:
        as_a_log_store: LogStore = again
        assert as_a_log_store.events("s1") == tuple(log(3))
        assert as_a_log_store.sessions() == (
            Stored(PLANNED, opened=False, closed=False, returned=False),
        )


def test_the_list_tells_how_far_each_session_has_come_newest_first(where: Where) -> None:
    with Store.open(where) as store:
        for name, kinds in {"b": (), "c": ("opened",), "a": ("opened", "closed", "note")}.items():
            store.create(Planned(name, "", {}))
            chained = zip(log(3, name), kinds, strict=False)
            store.append(name, [replace(event, kind=kind) for event, kind in chained])  # type: ignore[arg-type]
        listed = [
            (session.planned.session, session.opened, session.closed)
            for session in store.sessions()
        ]
        assert listed == [("a", True, True), ("c", True, False), ("b", False, False)]
        assert store.logs() == ("c", "a")


def test_the_same_event_again_is_taken_once(where: Where) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", log(2))
        store.append("s1", log(3))
        store.append("s1", [])
        store.append("s1", [log(4)[3], log(4)[3]])
        assert store.events("s1") == tuple(log(4))


def test_another_event_under_a_known_id_is_refused_and_nothing_that_came_with_it_is_kept(
    where: Where,
) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", log(2))
        with pytest.raises(StoreError, match="another event with the id s1-1"):
            store.append("s1", [log(3)[2], replace(log(2)[1], at_ms=99)])
        assert store.events("s1") == tuple(log(2))


@pytest.mark.parametrize("change", [{"seq": 3}, {"prev": "f" * 64}], ids=["a gap", "other chain"])
def test_an_event_that_does_not_follow_is_refused_with_all_that_came_with_it(
    where: Where, change: dict[str, object]
) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        events = log(3)
        wrong = replace(events[2], **change)  # type: ignore[arg-type]
        with pytest.raises(StoreError, match="does not follow the last"):
            store.append("s1", [events[0], events[1], wrong])
        assert store.events("s1") == ()


def test_a_lost_tail_shows(where: Where) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", log(3))
        with store.begin() as connection:
            of = "" if connection.dialect.name == "sqlite" else " ON events"
            connection.execute(text(f"DROP TRIGGER events_are_never_removed{of}"))
            connection.execute(text("DELETE FROM events WHERE seq = 2"))
        with pytest.raises(StoreError, match="the end of the log of session s1 is lost"):
            store.events("s1")


def test_an_unknown_session_is_an_error_and_a_planned_one_has_no_events(where: Where) -> None:
    with Store.open(where) as store:
        with pytest.raises(StoreError, match="there is no session s1"):
            store.events("s1")
        store.create(PLANNED)
        assert store.events("s1") == ()
        with pytest.raises(StoreError, match="there is a session s1 already"):
            store.create(PLANNED)
        with pytest.raises(StoreError):
            store.append("s2", log(1))


def test_one_console_only_and_others_beside_it(where: Where) -> None:
    console = Store.open(where, alone=True)
    with pytest.raises(StoreError, match="another console is using the"):
        Store.open(where, alone=True)
    with Store.open(where) as beside:
        beside.create(PLANNED)
        console.append("s1", log(2))
        assert beside.events("s1") == tuple(log(2))
        beside.append("s1", log(3))
    console.append("s1", log(4))
    assert console.events("s1") == tuple(log(4))
    console.close()
    Store.open(where, alone=True).close()


def test_two_that_write_the_same_log_never_both_add_to_the_same_end(where: Where) -> None:
    with Store.open(where) as first, Store.open(where) as other:
        first.create(PLANNED)
        first.append("s1", log(2))
        mine = linked(replace(log(3)[2], id="mine"), log(3)[1].hash)
        first.append("s1", [mine])
        with pytest.raises(StoreError, match="does not follow"):
            other.append("s1", log(3))
        assert other.events("s1") == (*log(2), mine)


def test_a_log_from_elsewhere_is_added_once_and_what_follows_on_it_too(where: Where) -> None:
    with Store.open(where) as store:
        assert store.add_log(opened(2), unit="B2")
        assert not store.add_log(opened(2))
        assert store.add_log(opened(4))
        assert not store.add_log(opened(3))
        assert store.events("s1") == tuple(opened(4))
        assert store.sessions() == (), "it was not planned here"
        assert store.logs() == ("s1",)


def test_a_log_from_elsewhere_with_its_plan_is_listed_like_one_of_ours(where: Where) -> None:
    with Store.open(where) as store:
        store.add_log(opened(2), plan={"scenario": "small"})
        (stored,) = store.sessions()
    assert stored == Stored(
        Planned("s1", opened(1)[0].wall, {"scenario": "small"}), True, False, False
    )


def test_another_log_under_a_known_id_is_refused(where: Where) -> None:
    with Store.open(where) as store:
        store.add_log(opened(3))
        others = opened(3)
        others[2] = replace(others[2], id="other")
        with pytest.raises(StoreError, match="another log of the session s1"):
            store.add_log(others)
        with pytest.raises(StoreError, match="begins with the event 'opened'"):
            store.add_log(log(3, "s2"))
        with pytest.raises(StoreError, match="begins with the event 'opened'"):
            store.add_log([])
        assert store.events("s1") == tuple(opened(3))


def test_a_killed_writer_loses_nothing_that_was_acknowledged(where: Where, tmp_path: Path) -> None:
    events = tmp_path / "events.json"
    events.write_text(json.dumps([astuple(event) for event in log(20)]))
    writer = textwrap.dedent(
        f"""
        import json, pathlib
        from simengine.session.events import Event
        from simengine.store import Planned, Store
        where = {str(where)!r}
        store = Store.open(where, alone=True)
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
    process.wait(timeout=60)
    process.stdout.close()
    process.stdin.close()
    with Store.open(where) as store:
        kept = store.events("s1")
    assert len(acknowledged) == 12
    assert len(kept) >= 12
    assert kept == tuple(log(20)[: len(kept)])


def test_a_server_that_was_started_anew_is_found_again(postgresql: Server) -> None:
    with Store.open(postgresql.new()) as store:
        store.create(PLANNED)
        postgresql.ask(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
            "WHERE pid <> pg_backend_pid() AND datname IS NOT NULL"
        )
        store.append("s1", log(2))
        assert store.events("s1") == tuple(log(2))


@pytest.mark.parametrize(
    "change",
    [
        'data = \'{"text":"another"}\'',
        "data = '{\"text\":'",
        "at_ms = 1",
        "wall = '2026-99-99T00:00:00Z'",
        "kind = 'nothing'",
    ],
)
def test_a_changed_letter_shows_and_the_log_is_then_given_as_it_stands(
    where: Where, change: str
) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", opened(3))
        with store.begin() as connection, without_triggers(connection):
            connection.exec_driver_sql(f"UPDATE events SET {change} WHERE seq = 2")
        with pytest.raises(ChangedLogError, match="session s1, entry 2"):
            store.events("s1")
        kept = store.as_kept("s1")
        assert kept.wrong.startswith("session s1, entry 2")
        with store.reading() as connection:
            assert check(connection).problems == (kept.wrong,)


def test_a_log_as_it_was_written_is_kept_so(where: Where) -> None:
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", opened(3))
        assert store.as_kept("s1") == AsKept(tuple(opened(3)), "")
