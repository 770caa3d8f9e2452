"""Accounts of people who come in over the network, invitations to them, and who is signed in.

Rules of this file:

- Of a password its hash alone is kept, of a code or of a browser's secret its SHA-256 alone.
- A name belongs to one account, however its capitals and spaces are typed; a trainee has one
  account at most.
- An invitation works once. One for an account that there is sets its password anew.
- A new password ends every place in which the account was signed in.
- Instants in ms since 1970 are the server's clock, which a step of the wall clock does not move.
"""

from __future__ import annotations

import hashlib
import secrets
import unicodedata
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, or_, select, update
from sqlalchemy.exc import IntegrityError

from simengine.store.store import Store
from simengine.store.tables import accounts, invitations, sign_ins


@dataclass(frozen=True, slots=True)
class Rights:
    """What an account opens: the desk, the coordinator's pages, or one trainee's own (a code)."""

    educator: bool = False
    coordinator: bool = False
    trainee: str = ""

    @property
    def teaches(self) -> bool:
        """Whether it is an educator's or a coordinator's."""
        return self.educator or self.coordinator


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody's account. ``password``: its hash. ``wall``: when it was made, UTC, ISO 8601."""

    id: str
    name: str
    rights: Rights
    password: str
    wall: str


@dataclass(frozen=True, slots=True)
class Invitation:
    """Leave to make an account with these rights, or to set the password of ``account`` anew."""

    rights: Rights
    until_ms: int
    account: str = ""


class NameTakenError(Exception):
    """Another account has this name, or the trainee has an account already."""


def folded(name: str) -> str:
    """Return a name as names are compared."""
    return " ".join(unicodedata.normalize("NFKC", name).split()).casefold()


def digest_of(secret: str) -> str:
    """Return what is kept of a code or of a browser's secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


def invite(store: Store, secret: str, invitation: Invitation, now_ms: int) -> None:
    """Keep an invitation. One made before for the same trainee or account ends, and so do old ones.

    ``secret``: the code that opens it.
    """
    rights, c = invitation.rights, invitations.c
    gone: list[Any] = [c.until_ms <= now_ms]
    gone += [c.account == invitation.account] if invitation.account else []
    gone += [c.trainee == rights.trainee] if rights.trainee else []
    with store.begin() as connection:
        connection.execute(delete(invitations).where(or_(*gone)))
        connection.execute(
            insert(invitations).values(
                digest=digest_of(secret),
                educator=rights.educator,
                coordinator=rights.coordinator,
                trainee=rights.trainee or None,
                account=invitation.account or None,
                until_ms=invitation.until_ms,
            )
        )


def invitation_of(store: Store, secret: str, now_ms: int) -> Invitation | None:
    """Return the invitation that a code opens, ``None`` if it opens none (any more)."""
    with store.reading() as connection:
        return _invitation(connection, secret, now_ms)


def accept(
    store: Store, secret: str, *, name: str, password: str, now_ms: int, wall: str
) -> Account | None:
    """Spend an invitation: return the account that was made, or whose password was set.

    ``name``: counts for a new account alone. ``password``: its hash. Returns ``None`` if the code
    opens nothing any more; raises ``NameTakenError``.
    """
    with store.begin() as connection:
        invitation = _invitation(connection, secret, now_ms)
        if invitation is None:
            return None
        spent = invitations.c.digest == digest_of(secret)
        connection.execute(delete(invitations).where(spent))
        id_ = invitation.account
        if id_:
            _set_password(connection, id_, password)
        else:
            id_ = f"p-{secrets.token_hex(8)}"
            _add(connection, Account(id_, name, invitation.rights, password, wall))
        return _account(connection, accounts.c.id == id_)


def set_password(store: Store, id_: str, password: str) -> None:
    """Set an account's password (its hash) anew; wherever it is signed in, it is no more."""
    with store.begin() as connection:
        _set_password(connection, id_, password)


def account_named(store: Store, name: str) -> Account | None:
    """Return the account of a name."""
    with store.reading() as connection:
        return _account(connection, accounts.c.folded == folded(name))


def account_with(store: Store, id_: str) -> Account | None:
    """Return an account by its id."""
    with store.reading() as connection:
        return _account(connection, accounts.c.id == id_)


def account_of_trainee(store: Store, code: str) -> Account | None:
    """Return a trainee's account."""
    with store.reading() as connection:
        return _account(connection, accounts.c.trainee == code)


def all_accounts(store: Store) -> tuple[Account, ...]:
    """Return every account, by name."""
    with store.reading() as connection:
        rows = connection.execute(select(accounts).order_by(accounts.c.folded))
        return tuple(_as_account(row) for row in rows)


def any_teaches(store: Store) -> bool:
    """Whether there is an account that can invite others."""
    c = accounts.c
    query = select(c.id).where(or_(c.educator, c.coordinator)).limit(1)
    with store.reading() as connection:
        return connection.execute(query).first() is not None


def close_account(store: Store, id_: str) -> None:
    """Remove an account; wherever it is signed in, it is no more."""
    with store.begin() as connection:
        remove_accounts(connection, accounts.c.id == id_)


def remove_accounts(connection: Connection, which: Any) -> int:
    """Remove accounts with all that hangs on them, within a transaction; return how many."""
    these = list(connection.execute(select(accounts.c.id).where(which)).scalars())
    for table in (sign_ins, invitations):
        connection.execute(delete(table).where(table.c.account.in_(these)))
    connection.execute(delete(accounts).where(accounts.c.id.in_(these)))
    return len(these)


def sign_in(store: Store, secret: str, account: str, *, until_ms: int, now_ms: int) -> None:
    """Keep that a browser is signed in. ``secret``: what its cookie holds."""
    with store.begin() as connection:
        connection.execute(delete(sign_ins).where(sign_ins.c.until_ms <= now_ms))
        row = {"digest": digest_of(secret), "account": account, "until_ms": until_ms}
        connection.execute(insert(sign_ins).values(row))


def sign_out(store: Store, secret: str) -> None:
    """End that a browser is signed in."""
    with store.begin() as connection:
        connection.execute(delete(sign_ins).where(sign_ins.c.digest == digest_of(secret)))


def signed_in(store: Store, secret: str, now_ms: int) -> Account | None:
    """Return whose account a browser is signed in with."""
    here = select(sign_ins.c.account).where(
        sign_ins.c.digest == digest_of(secret), sign_ins.c.until_ms > now_ms
    )
    with store.reading() as connection:
        return _account(connection, accounts.c.id == here.scalar_subquery())


def _add(connection: Connection, account: Account) -> None:
    row = {
        "id": account.id,
        "name": " ".join(account.name.split()),
        "folded": folded(account.name),
        "educator": account.rights.educator,
        "coordinator": account.rights.coordinator,
        "trainee": account.rights.trainee or None,
        "password": account.password,
        "wall": account.wall,
    }
    try:
        connection.execute(insert(accounts).values(row))
    except IntegrityError as error:
        raise NameTakenError(account.name) from error


def _set_password(connection: Connection, id_: str, password: str) -> None:
    connection.execute(delete(sign_ins).where(sign_ins.c.account == id_))
    connection.execute(update(accounts).where(accounts.c.id == id_).values(password=password))


def _invitation(connection: Connection, secret: str, now_ms: int) -> Invitation | None:
    c = invitations.c
    query = select(invitations).where(c.digest == digest_of(secret), c.until_ms > now_ms)
    row = connection.execute(query).first()
    if row is None:
        return None
    rights = Rights(row.educator, row.coordinator, row.trainee or "")
    return Invitation(rights, row.until_ms, row.account or "")


def _account(connection: Connection, which: Any) -> Account | None:
    row = connection.execute(select(accounts).where(which)).first()
    return None if row is None else _as_account(row)


def _as_account(row: Any) -> Account:
    rights = Rights(row.educator, row.coordinator, row.trainee or "")
    return Account(row.id, row.name, rights, row.password, row.wall)
