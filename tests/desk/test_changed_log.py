"""A log that is not as it was written: shown, and never gone on with."""

from __future__ import annotations

from html import unescape
from pathlib import Path

import pytest

from simengine.session.rights import Recorder
from simengine.store import Store, StoreError
from simengine.store.outcomes import sign
from simengine.store.resealing import without_triggers
from tests.console.consoles import Desk, SetClock, entry


def change(data: Path, session: str) -> None:
    """Change one letter of what was written down."""
    with Store.open(data) as store, store.begin() as connection, without_triggers(connection):
        connection.exec_driver_sql(
            "UPDATE events SET data = replace(data, 'dried early', 'dried later') "
            f"WHERE session = '{session}'"
        )


@pytest.fixture
def session(tmp_path: Path) -> str:
    """A session under way whose log was changed while the server was away."""
    before = Desk(tmp_path, clock=SetClock())
    with before.client:
        session = before.sign_in().start()
        before.send(session, entry("event", 0, {"name": "birth"}))
        before.send(session, entry("note", 0, {"text": "dried early"}))
    change(tmp_path, session)
    return session


def test_it_is_shown_read_only_with_how_to_bring_a_backup_back(
    tmp_path: Path, session: str
) -> None:
    clock = SetClock()
    clock.at_ms += 300_000  # much would be due by now
    desk = Desk(tmp_path, clock=clock)
    with desk.client:
        desk.sign_in()
        page = unescape(desk.client.get(f"/s/{session}", follow_redirects=True).text)
        assert "Read-only: this record was changed after it was written" in page
        assert "simengine store restore BACKUP --replace" in page
        words = [row["words"] for row in review(desk, session)["entries"]]
        assert any("dried later" in line for line in words)
        before = desk.client.get(f"/s/{session}/log").text
        note = entry("note", 0, {"text": "more"})
        answer = desk.send_raw(session, {"events": [note]})
        assert answer.status_code == 503  # the device keeps it
        assert "can't be added to" in answer.json()["words"]
        ended = entry("closed", 0, {"why": "stopped early"})
        assert desk.send_raw(session, {"events": [ended]}).status_code == 503
        assert desk.form(f"/s/{session}/return", second="CD", looked="yes").status_code == 503
        assert desk.client.get(f"/s/{session}/debrief").status_code == 500
        assert desk.client.get(f"/s/{session}/debrief/what-if").status_code == 500
        assert desk.client.get(f"/s/{session}/log").text == before
        assert desk.client.get("/").status_code == 200
        # another session goes on beside it
        other = desk.start()
        assert desk.send(other, entry("note", 0, {"text": "on"}))["refused"] == []


def review(desk: Desk, session: str) -> dict[str, list[dict[str, str]]]:
    data: dict[str, list[dict[str, str]]] = desk.client.get(f"/s/{session}/review.json").json()
    return data


def test_nothing_is_signed_by_it(tmp_path: Path, session: str) -> None:
    with Store.open(tmp_path) as store, pytest.raises(StoreError, match="is not as it was written"):
        sign(
            store,
            session,
            name="R. Holm",
            credentials="consultant",
            outcome="achieved",
            by=Recorder("p-1", "educator"),
            wall="2026-03-02T12:00:00Z",
        )


def test_one_that_was_not_changed_goes_on(tmp_path: Path) -> None:
    before = Desk(tmp_path, clock=SetClock())
    with before.client:
        session = before.sign_in().start()
    after = Desk(tmp_path, clock=SetClock())
    with after.client:
        after.sign_in()
        assert after.send(session, entry("note", 0, {"text": "on"}))["refused"] == []
        assert "Read-only" not in after.client.get(f"/s/{session}/review").text
