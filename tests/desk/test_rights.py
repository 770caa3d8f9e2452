"""Who may record what, made from the one table of rights: every role against every kind."""

from __future__ import annotations

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from simengine.resources import schemas_dir
from simengine.session.events import Kind
from simengine.session.live import RefusedError
from simengine.session.rights import RIGHTS, WHO, Recorder, Who, check_right, kinds_for
from tests.console.consoles import ADDRESS, Browser, Desk, entry, token_in

KINDS: tuple[Kind, ...] = tuple(
    json.loads((schemas_dir() / "session.schema.json").read_bytes())["properties"]["kind"]["enum"]
)
A_LINE = "00000000-0000-4000-8000-000000000001"
ONE_OF_EACH: dict[Kind, dict[str, Any]] = {
    "opened": {},
    "event": {"name": "birth"},
    "action": {"action": "dry", "phase": "done"},
    "set": {"setting": "oxygen", "value": 30, "unit": "%"},
    "state": {"state": "limp", "cause": "facilitator"},
    "reveal": {"observation": "heart_rate", "shown": True},
    "cue": {"text": "What next?", "planned": False},
    "fault": {"fault": "leak", "status": "found"},
    "note": {"text": "seen"},
    "pause": {},
    "resume": {},
    "hold": {},
    "release": {},
    "amend": {"id": A_LINE, "withdrawn": True},
    "undone": {"id": A_LINE},
    "joined": {"person": "N-1", "role": "airway"},
    "left": {"person": "N-1", "role": "airway"},
    "role": {"person": "N-1", "role": "leader"},
    "information": {"text": "The chest does not move."},
    "unobserved": {"item": "expect:dry"},
    "unavailable": {"action": "dry"},
    "skip": {"ms": 1000},
    "returned": {"faults": {}, "cylinders": "two", "drugs": "one", "initials": ["AB", "CD"]},
    "confirmed": {},
    "signed": {"name": "R. Holm", "credentials": "consultant", "outcome": "achieved"},
    "appealed": {"text": "Look again.", "person": "N-104"},
    "superseded": {"by": "s2"},
    "put_away": {"reason": "The wrong scenario."},
    "closed": {"why": "stopped early"},
}
OF_THE_OUTCOME: tuple[Kind, ...] = ("signed", "appealed", "superseded")


def observer(desk: Desk, session: str) -> Browser:
    """A browser that came with the session's code."""
    browser = desk.another()
    browser.token = token_in(browser.client.get("/join").text)
    code = desk.hub.running(session).plan.recorder
    assert browser.form("/join", code=code, who="observer").status_code == 303
    browser.token = token_in(browser.client.get(f"/s/{session}").text)
    return browser


def words_of_right(browser: Browser, session: str, kind: Kind) -> str:
    """Why an entry was refused; empty if it was taken. ``amend`` is of an entry of one's own."""
    data = dict(ONE_OF_EACH[kind])
    if kind == "amend":
        mine = entry("note", 0, {"text": "mine"})
        assert browser.send(session, mine)["refused"] == []
        data["id"] = mine["id"]
    answer = browser.send(session, entry(kind, 0, data))
    return "".join(refusal["words"] for refusal in answer["refused"])


def test_every_kind_of_the_schema_has_its_row_and_no_other_has_one() -> None:
    assert set(RIGHTS) == set(KINDS) == set(ONE_OF_EACH)
    assert all(set(row) <= set(WHO) and row for row in RIGHTS.values())


def test_what_has_no_row_may_be_recorded_by_nobody() -> None:
    for who in WHO:
        with pytest.raises(RefusedError, match="nobody may"):
            check_right(Recorder("p-1", who), "new", {}, closed=False, written_by={})  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("who", WHO)
def test_a_right_is_the_tables(who: Who, kind: Kind) -> None:
    def allowed(**more: Any) -> bool:
        data = {**ONE_OF_EACH[kind], **more.pop("data", {})}
        try:
            check_right(
                Recorder("p-1", who, "N-104"),
                kind,
                data,
                closed=more.get("closed", False),
                written_by={A_LINE: more.get("by", "p-1")},
            )
        except RefusedError:
            return False
        return True

    extent = RIGHTS[kind].get(who)
    assert allowed() == (extent is not None)
    assert (kind in kinds_for(who)) == (extent is not None)
    if extent == "own":
        assert not allowed(by="p-2", data={"person": "N-9"})
    if extent == "as found":
        assert not allowed(data={"status": "planted"})
    assert allowed(closed=True) == (extent is not None and who != "observer")


def test_who_holds_a_join_code_records_what_the_table_says_and_no_more(desk: Desk) -> None:
    session = desk.start()
    second = observer(desk, session)
    for kind in KINDS:
        before = len(desk.log(session))
        refused = words_of_right(second, session, kind)
        assert bool(refused) == ("observer" not in RIGHTS[kind]), (kind, refused)
        after = [line["kind"] for line in desk.log(session)][before:]
        assert (kind in after) == (not refused), kind


def test_no_other_role_records_in_a_session_at_all(desk: Desk) -> None:
    session = desk.start()
    coordinator = desk.another()
    coordinator.open(f"/coordinate/{desk.coordinating.token}")
    stranger = desk.another()
    stranger.token = token_in(stranger.client.get("/join").text)
    for browser in (coordinator, stranger):
        for kind in KINDS:
            body = {"events": [entry(kind, 0, ONE_OF_EACH[kind])]}
            assert browser.send_raw(session, body).status_code == 403, kind


def test_after_the_end_a_join_code_records_nothing(desk: Desk) -> None:
    session = desk.start()
    second = observer(desk, session)
    note = entry("note", 0, {"text": "in time"})
    second.send(session, note)
    desk.send(session, entry("closed", 0, {"why": "finished"}))
    before = len(desk.log(session))
    for kind in KINDS:
        answer = second.send(session, entry(kind, 0, ONE_OF_EACH[kind]))
        assert answer["taken"] == [], kind
        assert answer["refused"][0]["words"]
    assert len(desk.log(session)) == before
    # what was taken before is answered as before, so that the device can forget it
    assert second.send(session, note)["taken"] == [note["id"]]


def test_a_join_code_ends_for_good_with_its_session(desk: Desk) -> None:
    session = desk.start()
    second = observer(desk, session)
    assert 'data-may="' in second.client.get(f"/s/{session}").text
    desk.send(session, entry("closed", 0, {"why": "stopped early"}))
    page = second.client.get(f"/s/{session}")
    assert "data-view" not in page.text
    assert "Your code ended with it" in page.text
    stream = second.client.get(f"/s/{session}/stream").text
    assert stream.startswith("event: over")
    assert "view" not in stream


def test_an_observer_corrects_only_what_they_wrote_themselves(desk: Desk) -> None:
    session = desk.start()
    second = observer(desk, session)
    theirs = entry("action", 0, {"action": "dry", "phase": "done"})
    desk.send(session, theirs)
    answer = second.send(session, entry("amend", 0, {"id": theirs["id"], "withdrawn": True}))
    assert "somebody else" in answer["refused"][0]["words"]
    mine = entry("note", 0, {"text": "mine"})
    second.send(session, mine)
    moved = entry("amend", 0, {"id": mine["id"], "fields": {"text": "better"}})
    assert second.send(session, moved)["refused"] == []


def test_what_is_said_of_an_end_is_refused_while_the_session_runs(desk: Desk) -> None:
    session = desk.start()
    kinds: tuple[Kind, ...] = (*OF_THE_OUTCOME, "confirmed")
    for kind in kinds:
        assert desk.send(session, entry(kind, 0, ONE_OF_EACH[kind]))["taken"] == [], kind


def test_nobody_signs_by_the_address_of_the_entries(desk: Desk) -> None:
    for purpose, why in (("summative", "finished"), ("formative", "stopped early")):
        session = desk.start(purpose=purpose)
        desk.send(session, entry("closed", 0, {"why": why}), entry("confirmed", 0, {}))
        for kind in OF_THE_OUTCOME:
            assert desk.send(session, entry(kind, 0, ONE_OF_EACH[kind]))["taken"] == [], kind
        assert "signed" not in [line["kind"] for line in desk.log(session)]


def test_the_page_of_an_observer_says_what_it_may_record(desk: Desk) -> None:
    session = desk.start()
    second = observer(desk, session)

    def may(browser: Browser) -> set[str]:
        page = browser.client.get(f"/s/{session}").text
        return set(page.split('data-may="')[1].split('"')[0].split())

    assert may(second) == set(kinds_for("observer"))
    assert may(desk) == set(kinds_for("educator"))
    assert TestClient(desk.app, base_url=ADDRESS).get(f"/s/{session}").status_code == 403
