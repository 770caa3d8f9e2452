import json
from collections.abc import Iterator
from datetime import date
from functools import partial
from pathlib import Path

import pytest

from simengine.exchange.person import person_as_json
from simengine.exchange.scored import score_sessions, waiting
from simengine.people.bookings import Booking, NamedTeam
from simengine.people.roster import Leave, Posting, Roster, Trainee
from simengine.problems import InputError
from simengine.scoring import score
from simengine.store import Store
from simengine.store.bookings import book
from simengine.store.people import save_roster
from simengine.store.read_log import log_accesses
from simengine.store.teams import keep_team
from tests.exchange.shipped_results import FEW, result
from tests.exchange.stores import as_if_a_panel_had_set_it, id_of, log_of, said, with_sessions


@pytest.fixture
def store(where: Path | str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setattr("simengine.exchange.scoring_jobs.score", partial(score, redraws=10))
    with with_sessions(where) as opened:
        log = log_of(FEW[1])
        signed = said(log, "signed", name="A. Person", credentials="RN", outcome="achieved")
        opened.append(id_of(FEW[1]), [signed])
        score_sessions(opened, waiting(opened))
        as_if_a_panel_had_set_it(opened, FEW[1])
        yield opened


def people() -> list[str]:
    return [person for held in result(FEW[1]).team.values() for person in held]


def test_it_tells_sessions_roles_items_outcomes_leave_and_who_read_them(store: Store) -> None:
    me, other, *_ = people()
    stay = Posting("North", date(2025, 1, 1))
    save_roster(
        store,
        Roster(
            (Trainee(me, "nurse", (stay,), "Me Myself"), Trainee(other, "nurse", (stay,), "Else")),
            leaves=(
                Leave(me, date(2026, 1, 1), date(2026, 2, 1), "study"),
                Leave(other, date(2026, 1, 1), date(2026, 2, 1), "private"),
            ),
        ),
    )
    log_accesses(store, "office", "coordinator", "trainee", [me], "2026-03-01T09:00:00Z")
    book(store, [Booking("b1", date(2026, 12, 1), "term", "09:00", team={"airway": (other, me)})])
    keep_team(store, NamedTeam("Red", {"airway": (me,)}))
    record = person_as_json(store, me)
    assert [planned["roles"] for planned in record["sessions to come"]] == [["airway"]]
    assert record["kept teams"] == ["Red"]
    assert record["person"]["name"] == "Me Myself"
    assert record["person"]["postings"] == [{"unit": "North", "since": "2025-01-01", "until": None}]
    assert [leave["reason"] for leave in record["leaves"]] == ["study"]
    (session,) = [part for part in record["sessions"] if part["session"] == id_of(FEW[1])]
    assert session["roles"] == [role for role, held in result(FEW[1]).team.items() if me in held]
    assert session["items"]
    (outcome,) = [part for part in record["outcomes"] if part["session"] == id_of(FEW[1])]
    assert outcome["decisions"][0]["outcome"] == "achieved"
    assert record["read by"] == [
        {
            "wall": "2026-03-01T09:00:00Z",
            "who": "office",
            "role": "coordinator",
            "page": "trainee",
        }
    ]


def test_nobody_else_is_in_it(store: Store) -> None:
    me, *others = people()
    stay = Posting("North", date(2025, 1, 1))
    save_roster(
        store,
        Roster(tuple(Trainee(person, "nurse", (stay,), f"Name {person}") for person in people())),
    )
    text = json.dumps(person_as_json(store, me))
    assert me in text
    for other in others:
        if other != me:
            assert other not in text


def test_an_unknown_code_is_told(store: Store) -> None:
    with pytest.raises(InputError) as refused:
        person_as_json(store, "nobody")
    assert "found 'nobody'" in str(refused.value)
