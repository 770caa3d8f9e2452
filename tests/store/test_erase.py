"""A person who was erased is nowhere in the store, and everybody's figures are as they were."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import LargeBinary, select, text

from simengine import open_session, score
from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult, Threat
from simengine.people.bookings import Booking, NamedTeam
from simengine.people.codes import is_erased
from simengine.people.consent import Said
from simengine.people.roster import (
    Attendance,
    Certificate,
    Leave,
    Posting,
    Requirement,
    Roster,
    Trainee,
)
from simengine.resources import scenarios_dir
from simengine.scoring.as_json import card_as_json
from simengine.session.chain import linked
from simengine.session.events import Event, Kind
from simengine.session.fold import fold
from simengine.session.log_file import chain_problems
from simengine.session.record import Session
from simengine.session.verify import verify_log
from simengine.store import Planned, Store, StoreError
from simengine.store.accounts import Invitation, Rights, accept, all_accounts, invite
from simengine.store.bookings import book, bookings_of
from simengine.store.consents import say
from simengine.store.erase import erase
from simengine.store.erase_words import erase_words
from simengine.store.own_words import OwnWords, put
from simengine.store.people import roster, save_roster
from simengine.store.read_log import accesses, log_accesses
from simengine.store.shared_debriefs import share
from simengine.store.tables import events, metadata, resealings, sessions
from simengine.store.teams import keep_team, teams
from simengine.store.threats import add_threat, threats

CODE, NAME = "n4tq8wzk", "Anna Zoë Berg"
OTHER = "h7vm2rxc"
WALL = "2026-11-02T10:00:00Z"
DAY = date(2026, 11, 1)
STAY = (Posting("north", date(2024, 1, 1)),)


def shipped(name: str = "term-not-breathing-steady") -> Session:
    file = scenarios_dir() / "sessions" / f"{name}.session.jsonl"
    return open_session(file, any_version=True).session


def with_more(log: tuple[Event, ...], *more: tuple[Kind, dict[str, Any]]) -> tuple[Event, ...]:
    """The log with more said after its end."""
    for number, (kind, data) in enumerate(more):
        last = log[-1]
        id_ = f"0b8e5a56-51c2-4f1e-9d0f-{number:012d}"
        event = Event(
            last.seq + 1, id_, last.noted_ms, last.noted_ms, WALL, kind, f"p-{CODE}", data
        )
        log = (*log, linked(replace(event, by="p-desk"), last.hash))
    return log


def scored(log: tuple[Event, ...]) -> tuple[SessionResult, dict[str, Any]]:
    session = fold(shipped().scenario, log)
    card = score(session, redraws=20)
    return result_of(session, card, unit="north"), card_as_json(card)


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        log = with_more(
            shipped().events,
            ("confirmed", {}),
            ("note", {"text": f"{CODE} is {NAME}, whom everybody calls Anna."}),
            ("signed", {"name": NAME, "credentials": "consultant", "outcome": "achieved"}),
            ("appealed", {"text": "Please look again.", "person": CODE}),
        )
        opened.add_log(log, plan={"team": {"leader": [CODE]}, "title": "x"}, unit="north")
        opened.put_result(*scored(log))
        opened.create(Planned("planned", WALL, {"team": {"airway": [CODE]}}))
        save_roster(
            opened,
            Roster(
                (
                    Trainee(CODE, "midwife", STAY, NAME),
                    Trainee(OTHER, "midwife", STAY, "Anna Zoë Berg-Olsen"),
                ),
                (Requirement("cot", "Cot", 6),),
                (
                    Leave(CODE, date(2026, 1, 1), date(2026, 1, 5)),
                    Leave(OTHER, date(2026, 1, 1), date(2026, 1, 5), f"instead of {NAME}"),
                ),
                (Certificate(CODE, "cot", date(2026, 1, 1), "Centre"),),
                (Attendance(CODE, date(2026, 1, 1), "Study morning", 90),),
            ),
        )
        give_account(opened, "Anna", Rights(trainee=CODE))
        give_account(opened, f" {NAME.upper()}", Rights(educator=True))
        give_account(opened, "Otto", Rights(trainee=OTHER))
        invite(opened, "SECRET", Invitation(Rights(trainee=CODE), 9), 0)
        share(opened, CODE, opened.logs()[0], WALL)
        log_accesses(opened, "p-desk", "coordinator", "trainee", [CODE], WALL)
        log_accesses(opened, CODE, "trainee", "own debrief", [OTHER], WALL)
        threat = Threat("t1", "north", "equipment", f"Told by {NAME}", date(2026, 1, 1), owner=CODE)
        add_threat(opened, threat)
        team = {"leader": (OTHER,), "airway": (CODE, OTHER), "": (CODE,)}
        keep_team(opened, NamedTeam(f"{NAME}'s", team))
        book(opened, [Booking("b1", date(2026, 12, 1), "term", team=team, note=f"with {NAME}")])
        (session,) = opened.logs()
        for code in (CODE, OTHER):
            put(opened, OwnWords(session, code, "goal", f"Learn from {NAME}", WALL))
            put(opened, OwnWords(session, code, "take along", f"As {NAME} does", WALL))
            say(opened, Said(code, "research", True, WALL))
        yield opened


def give_account(store: Store, name: str, rights: Rights) -> None:
    invite(store, name, Invitation(rights, 9), 0)
    accept(store, name, name=name, password="$argon2id$…", now_ms=1, wall=WALL)


def everything(store: Store) -> str:
    """Every row of every table as text."""
    import zlib

    out = []
    with store.reading() as connection:
        for table in metadata.sorted_tables:
            for row in connection.execute(select(table)):
                for column, value in zip(table.columns, row, strict=True):
                    if isinstance(column.type, LargeBinary):
                        value = zlib.decompress(value).decode()
                    out.append(str(value))
    return "\n".join(out)


def test_code_and_name_are_nowhere_and_the_chain_is_whole(store: Store) -> None:
    (session,) = store.logs()
    before = everything(store)
    assert CODE in before
    assert NAME in before
    done = erase(store, CODE, wall=WALL)
    after = everything(store)
    assert CODE not in after
    assert NAME not in after.replace("Anna Zoë Berg-Olsen", "")
    log = store.events(session)
    assert list(chain_problems(log, file=session)) == []
    assert verify_log(shipped().scenario, log, file=session) is None
    assert done.sessions == (session,)
    assert done.signatures == 1
    assert done.removed == {
        "rows of the roster": 5,
        "accesses": 1,
        "accounts": 2,
        "invitations": 1,
        "shared debriefs": 1,
        "places in teams and in sessions to come": 2,
        "own words": 2,
        "consents": 1,
    }
    left = {"leader": (OTHER,), "airway": (OTHER,)}
    assert [team.team for team in teams(store, limit=9)] == [left]
    assert [booked.team for booked in bookings_of(store, OTHER, DAY)] == [left]
    assert [all_account.name for all_account in all_accounts(store)] == ["Otto"]
    with store.reading() as connection:
        (kept,) = connection.execute(select(resealings)).all()
    assert (kept.session, kept.hash, kept.events) == (session, log[-1].hash, done.events)
    assert kept.wall == WALL


def test_figures_stay_as_they_were_and_can_be_computed_again(store: Store) -> None:
    (session,) = store.logs()
    before, card_before = store.result(session), store.card(session)
    assert before is not None
    erase(store, CODE, wall=WALL)
    after, card_after = store.result(session), store.card(session)
    assert after is not None
    (instead,) = {code for some in after.team.values() for code in some if is_erased(code)}
    assert (after.total, after.interval, after.outcome) == (
        before.total, before.interval, before.outcome,
    )  # fmt: skip
    assert after.team == {
        role: tuple(instead if code == CODE else code for code in codes)
        for role, codes in before.team.items()
    }
    assert [item.credit for item in after.items] == [item.credit for item in before.items]
    assert json.dumps(card_after) == json.dumps(card_before).replace(CODE, instead)
    again, card_again = scored(store.events(session))
    assert again == after
    assert json.loads(json.dumps(card_again)) == card_after
    assert store.without_result() == ()  # the result is still that of the log as it is now
    assert [result.session for result in store.results(trainee=instead)] == [session]
    assert not list(store.results(trainee=CODE))


def test_what_is_about_others_stays(store: Store) -> None:
    erase(store, CODE, wall=WALL)
    left = roster(store)
    assert [trainee.name for trainee in left.trainees] == ["Anna Zoë Berg-Olsen"]
    assert left.requirements
    assert [leave.reason for leave in left.leaves] == ["instead of [erased]"]
    (threat,) = threats(store)
    assert threat.words == "Told by [erased]"
    assert is_erased(threat.owner or "")
    (read,) = accesses(store, OTHER)
    assert is_erased(read.who)


def test_a_dry_run_tells_the_same_and_changes_nothing(store: Store) -> None:
    before = everything(store)
    trial = erase(store, CODE, wall=WALL, dry_run=True)
    assert everything(store) == before
    assert [words_left.words.split(" is ")[1] for words_left in trial.left] == [
        "[erased], whom everybody calls Anna."
    ]
    done = erase(store, CODE, wall=WALL)
    assert replace(done, left=()) == replace(trial, left=())


def test_each_session_gets_a_code_of_its_own(store: Store) -> None:
    second = shipped("term-not-breathing-first-try").events
    first_of = second[0]
    team = {"leader": [CODE]}
    chain: list[Event] = []
    for event in second:
        data = {**event.data, "team": team} if event is first_of else event.data
        chain.append(linked(replace(event, data=data), chain[-1].hash if chain else "0" * 64))
    store.add_log(chain)
    done = erase(store, CODE, wall=WALL)
    assert len(done.sessions) == 2
    logs = [store.events(session) for session in store.logs()]
    stand_ins = [
        {code for some in log[0].data["team"].values() for code in some if is_erased(code)}
        for log in logs
    ]
    assert len(set.union(*stand_ins)) == 2


def test_events_are_kept_from_change_again_afterwards(store: Store) -> None:
    erase(store, CODE, wall=WALL)
    for statement in ("UPDATE events SET at_ms = 5", "DELETE FROM events", "DELETE FROM tails"):
        with pytest.raises(StoreError, match=r"never|end of a log"), store.begin() as connection:
            connection.execute(text(statement))


def test_what_fails_half_way_changes_nothing(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    before = everything(store)

    def broken(*_: object, **__: object) -> None:
        raise OSError("on purpose")

    monkeypatch.setattr("simengine.store.erase.clear_texts", broken)
    with pytest.raises(OSError, match="on purpose"):
        erase(store, CODE, wall=WALL)
    assert everything(store) == before
    with pytest.raises(StoreError), store.begin() as connection:
        connection.execute(text("DELETE FROM events"))


def test_a_namesake_keeps_the_name_in_what_was_written(store: Store) -> None:
    whole = roster(store)
    namesake = Trainee("k9yz", "nurse", STAY, "anna zoë  berg")
    save_roster(store, replace(whole, trainees=(*whole.trainees, namesake)))
    erase(store, CODE, wall=WALL)
    assert CODE not in everything(store)
    (threat,) = threats(store)
    assert threat.words == f"Told by {NAME}"


def test_nobodys_code_is_refused(store: Store) -> None:
    with pytest.raises(StoreError, match="nobody in the roster or in a session has the code zzzz"):
        erase(store, "zzzz", wall=WALL)


def test_not_a_byte_is_left_in_the_files(tmp_path: Path) -> None:
    log = shipped().events
    with Store.open(tmp_path) as store:
        store.add_log(log, unit="north")
        store.put_result(*scored(log))
        save_roster(store, Roster((Trainee(CODE, "midwife", STAY, NAME),)))
        in_files = [file for file in tmp_path.iterdir() if CODE.encode() in file.read_bytes()]
        assert in_files
        erase(store, CODE, wall=WALL)
        for file in tmp_path.iterdir():
            assert CODE.encode() not in file.read_bytes(), file
            assert NAME.encode() not in file.read_bytes(), file
    for file in tmp_path.iterdir():
        assert CODE.encode() not in file.read_bytes(), file
    with Store.open(tmp_path) as store, store.reading() as connection:
        assert connection.execute(select(sessions)).all()
        assert connection.execute(select(events)).all()


def test_words_are_taken_out_of_one_session_alone_on_every_database(store: Store) -> None:
    session = str(shipped().events[0].data["session"])
    trial = erase_words(store, ["Anna"], [session], wall=WALL, dry_run=True)
    assert [passage.words for passage in trial.found] == [
        f"{CODE} is [erased] Zoë Berg, whom everybody calls [erased].",
        "[erased] Zoë Berg",
    ]
    assert any("Anna" in str(event.data) for event in store.events(session))
    assert erase_words(store, ["Anna"], [session], wall=WALL) == trial
    after = store.events(session)
    assert not any("Anna" in str(event.data) for event in after)
    assert list(chain_problems(after)) == []
    assert [trainee.name for trainee in roster(store).trainees if trainee.code == CODE] == [NAME]
