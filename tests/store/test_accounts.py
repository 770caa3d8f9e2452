"""Accounts, invitations and places where somebody is signed in, on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.store import Planned, Store
from simengine.store.accounts import (
    Account,
    Invitation,
    NameTakenError,
    Rights,
    accept,
    account_named,
    account_of_trainee,
    account_with,
    all_accounts,
    any_teaches,
    close_account,
    invitation_of,
    invite,
    sign_in,
    sign_out,
    signed_in,
)
from simengine.store.shared_debriefs import share, shared_by, take_back
from tests.store.logs import WALL

EDUCATOR = Rights(educator=True)
MINUTE_MS = 60_000


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def made(store: Store, name: str = "Greta", rights: Rights = EDUCATOR) -> Account:
    invite(store, f"code of {name}", Invitation(rights, MINUTE_MS), 0)
    account = accept(store, f"code of {name}", name=name, password="hash", now_ms=1, wall=WALL)
    assert account is not None
    return account


def test_an_invitation_makes_one_account_and_is_spent(store: Store) -> None:
    account = made(store)
    assert account == Account(account.id, "Greta", EDUCATOR, "hash", WALL)
    assert account_with(store, account.id) == account_named(store, "  gReTa ") == account
    again = accept(store, "code of Greta", name="Nora", password="hash", now_ms=1, wall=WALL)
    assert again is None
    assert all_accounts(store) == (account,)


def test_an_invitation_ends_in_its_time(store: Store) -> None:
    invite(store, "code", Invitation(EDUCATOR, MINUTE_MS), 0)
    assert invitation_of(store, "code", MINUTE_MS - 1) == Invitation(EDUCATOR, MINUTE_MS)
    assert invitation_of(store, "code", MINUTE_MS) is None
    assert invitation_of(store, "cod", 0) is None
    late = accept(store, "code", name="Greta", password="hash", now_ms=MINUTE_MS, wall=WALL)
    assert late is None
    assert all_accounts(store) == ()


def test_a_new_invitation_of_a_trainee_ends_the_one_before(store: Store) -> None:
    for code in ("first", "second"):
        invite(store, code, Invitation(Rights(trainee="N-104"), MINUTE_MS), 0)
    assert invitation_of(store, "first", 1) is None
    assert invitation_of(store, "second", 1) is not None


@pytest.mark.parametrize("name", ["Greta", " GRETA", "Ｇreta"])
def test_a_name_is_one_account_s_however_it_is_typed(store: Store, name: str) -> None:
    account = made(store)
    invite(store, "code", Invitation(EDUCATOR, MINUTE_MS), 0)
    with pytest.raises(NameTakenError):
        accept(store, "code", name=name, password="hash", now_ms=1, wall=WALL)
    assert invitation_of(store, "code", 1) is not None, "nothing is spent"
    assert all_accounts(store) == (account,)


def test_a_trainee_has_one_account(store: Store) -> None:
    account = made(store, "Ada", Rights(trainee="N-104"))
    assert account_of_trainee(store, "N-104") == account
    invite(store, "code", Invitation(Rights(trainee="N-104"), MINUTE_MS), 0)
    with pytest.raises(NameTakenError):
        accept(store, "code", name="Another", password="hash", now_ms=1, wall=WALL)


def test_somebody_is_signed_in_until_they_sign_out_or_the_time_is_over(store: Store) -> None:
    account = made(store)
    for secret in ("tablet", "phone"):
        sign_in(store, secret, account.id, until_ms=MINUTE_MS, now_ms=0)
    assert signed_in(store, "tablet", MINUTE_MS - 1) == account
    assert signed_in(store, "tablet", MINUTE_MS) is None
    assert signed_in(store, "laptop", 1) is None
    sign_out(store, "tablet")
    assert signed_in(store, "tablet", 1) is None
    assert signed_in(store, "phone", 1) == account


def test_a_new_password_ends_every_place_in_which_the_account_was_signed_in(store: Store) -> None:
    account = made(store)
    other = made(store, "Nora")
    sign_in(store, "tablet", account.id, until_ms=MINUTE_MS, now_ms=0)
    sign_in(store, "phone", other.id, until_ms=MINUTE_MS, now_ms=0)
    invite(store, "anew", Invitation(EDUCATOR, MINUTE_MS, account.id), 0)
    changed = accept(store, "anew", name="ignored", password="other hash", now_ms=1, wall=WALL)
    assert changed is not None
    assert (changed.id, changed.name, changed.password) == (account.id, "Greta", "other hash")
    assert signed_in(store, "tablet", 1) is None
    assert signed_in(store, "phone", 1) == other


def test_a_closed_account_is_signed_in_nowhere(store: Store) -> None:
    account = made(store)
    sign_in(store, "tablet", account.id, until_ms=MINUTE_MS, now_ms=0)
    invite(store, "anew", Invitation(EDUCATOR, MINUTE_MS, account.id), 0)
    assert any_teaches(store)
    close_account(store, account.id)
    assert signed_in(store, "tablet", 1) is None
    assert invitation_of(store, "anew", 1) is None
    assert all_accounts(store) == ()
    assert not any_teaches(store)


def test_a_trainee_s_account_invites_nobody(store: Store) -> None:
    made(store, "Ada", Rights(trainee="N-104"))
    assert not any_teaches(store)


def test_a_debrief_is_shared_by_the_learner_alone_until_it_is_taken_back(store: Store) -> None:
    for session in ("s1", "s2"):
        store.create(Planned(session, WALL, {}))
    share(store, "N-104", "s1", WALL)
    share(store, "N-104", "s1", "later")
    share(store, "N-117", "s2", WALL)
    assert shared_by(store, "N-104") == {"s1": WALL}
    take_back(store, "N-104", "s1")
    take_back(store, "N-104", "s1")
    assert shared_by(store, "N-104") == {}
    assert shared_by(store, "N-117") == {"s2": WALL}
