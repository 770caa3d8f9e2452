"""Calls from many threads, and the same entries in any order of sending: always one true log."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from itertools import count
from pathlib import Path

from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from simengine.store import Planned, Store, StoreError
from tests.amount import examples
from tests.store.logs import log

Where = Path | str
_SESSIONS = count()


def test_threads_write_and_read_at_once(where: Where) -> None:
    names = [f"t{number}" for number in range(6)]

    def play(name: str) -> int:
        store.create(Planned(name, "", {}))
        for length in range(1, 21):
            store.append(name, log(length, name)[-1:])
            assert len(store.events(name)) == length
            assert len(store.sessions()) >= 1
        return len(store.events(name))

    with Store.open(where) as store:
        with ThreadPoolExecutor(len(names)) as threads:
            assert list(threads.map(play, names)) == [20] * len(names)
        assert all(store.events(name) == tuple(log(20, name)) for name in names)


def test_threads_that_write_one_log_make_one_chain(where: Where) -> None:
    def send(length: int) -> bool:
        try:
            store.append("s1", log(length))
        except StoreError:
            return False
        return True

    with Store.open(where) as store:
        store.create(Planned("s1", "", {}))
        with ThreadPoolExecutor(6) as threads:
            list(threads.map(send, [3, 5, 2, 9, 7, 12, 1, 12]))
        kept = store.events("s1")
        assert kept == tuple(log(len(kept)))
        store.append("s1", log(12))
        assert store.events("s1") == tuple(log(12))


@examples(40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sent=st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), max_size=12))
def test_however_a_log_is_sent_what_is_kept_is_its_beginning(
    where: Where, sent: list[tuple[int, int]]
) -> None:
    session = f"p{next(_SESSIONS)}"
    whole = log(8, session)
    reached = 0
    with Store.open(where) as store:
        store.create(Planned(session, "", {}))
        for start, end in sent:
            part = whole[start:end]
            follows = not part or start <= reached
            try:
                store.append(session, part)
                assert follows
                reached = max(reached, end if part else 0)
            except StoreError:
                assert not follows
        assert store.events(session) == tuple(whole[:reached])
