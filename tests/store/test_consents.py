"""What people say of taking part, figures and research: the last answer holds, silence is told."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.people.consent import Said
from simengine.store import Store
from simengine.store.consents import counts, latest, of_people, of_person, say, who
from tests.store.logs import WALL

LATER = "2026-02-01T10:00:00Z"


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def test_what_was_said_last_holds_and_each_answer_is_kept_with_when(store: Store) -> None:
    given = Said("N-104", "research", True, WALL)
    taken_back = Said("N-104", "research", False, LATER)
    say(store, given)
    say(store, Said("N-104", "research", True, LATER))
    assert of_person(store, "N-104") == (given,), "the same answer again changes nothing"
    say(store, taken_back)
    say(store, Said("M-021", "research", True, LATER))
    assert of_person(store, "N-104") == (given, taken_back)
    assert who(store, "research", given=True) == {"M-021"}
    assert who(store, "research", given=False) == {"N-104"}
    assert who(store, "figures", given=False) == frozenset()
    standing = of_people(store, ["N-104", "D-009"])
    assert standing == {"N-104": {"research": taken_back}, "D-009": {}}
    assert [consent.code for consent in latest(store, limit=2)] == ["M-021", "N-104"]


def test_silence_counts_in_the_hospitals_figures_and_never_in_research(store: Store) -> None:
    # Regulation (EU) 2016/679, recital 32: silence or inactivity is no consent (from memory)
    assert counts(store)("N-104")
    assert not counts(store, research=True)("N-104")
    say(store, Said("N-104", "figures", False, WALL))
    say(store, Said("N-104", "research", True, WALL))
    assert not counts(store)("N-104")
    assert counts(store, research=True)("N-104")
    assert counts(store)("M-021")
