"""What the templates of all pages are told, as plain data: `page`, and `site` beside it."""

from __future__ import annotations

from dataclasses import dataclass

from simengine.store.accounts import Rights
from simengine.web.lan import Lan


@dataclass(frozen=True, slots=True)
class Site:
    """What every page has: `csrf` goes into forms (`csrf_token`) and into a meta tag, from which
    scripts send it as the header `X-CSRF-Token`. ``nonce`` is not needed: no inline script.
    ``now_ms``: the server's clock. ``signed_in``: the visitor is the facilitator.
    ``coordinates``: the visitor is the coordinator. ``trainee``: the code of the trainee whose
    own pages the visitor may read, else empty. ``account``: the name of the account that is signed
    in, else empty. ``lan``: how the console is reached over a network, ``None`` where it is not.
    """

    version: str
    csrf: str
    now_ms: int
    signed_in: bool
    coordinates: bool
    trainee: str
    account: str
    lan: Lan | None


@dataclass(frozen=True, slots=True)
class MessagePage:
    """`message.html.j2`: one thing to say (not found, link used up, signed out …).

    ``way``: an address to go on to, with ``way_words``; both may be empty.
    """

    title: str
    words: tuple[str, ...]
    way: str
    way_words: str


@dataclass(frozen=True, slots=True)
class SignInPage:
    """`sign_in.html.j2` at `/sign-in`. Form: POST there with `name` and `password`.

    ``problem``: why the last try failed, else empty; ``name``: as it was typed then.
    """

    problem: str
    name: str


@dataclass(frozen=True, slots=True)
class OwnPasswordPage:
    """`password.html.j2` at `/password`. Form: POST there with `old`, `password` and `again`.

    ``problem``: why the last try failed, else empty; ``changed``: it has just been changed.
    """

    problem: str = ""
    changed: bool = False


@dataclass(frozen=True, slots=True)
class InvitationPage:
    """`invitation.html.j2` at `/invitation/CODE`. Form: POST /invitation with `code`, and once it
    opens something with `name`, `password` and the password `again`.

    ``rights``: what it opens, ``None`` until a right code is there. ``anew``: the account is there,
    and gets a new password.
    """

    problem: str = ""
    code: str = ""
    rights: Rights | None = None
    name: str = ""
    anew: bool = False


@dataclass(frozen=True, slots=True)
class AccountRow:
    """One account. ``made``: the day. ``own``: it is the visitor's."""

    id: str
    name: str
    whose: str
    made: str
    own: bool


@dataclass(frozen=True, slots=True)
class Invited:
    """An invitation that has just been made, to be handed to ``whom``. ``picture``: a QR code of
    ``link``; ``typed_at``: where the code is typed. ``anew``: it sets a new password.
    """

    whom: str
    code: str
    link: str
    typed_at: str
    picture: str
    days: int
    anew: bool


@dataclass(frozen=True, slots=True)
class AccountsPage:
    """`accounts.html.j2` at `/accounts`. Forms: POST there with `do` (`invite` with `role` and
    `trainee`; `renew` or `close` with `account`).
    """

    problem: str
    invited: Invited | None
    rows: tuple[AccountRow, ...]
    may_invite_all: bool


@dataclass(frozen=True, slots=True)
class TrustPage:
    """`trust.html.j2` at `/trust`. ``authority``: the fingerprint of what a device is to trust,
    empty where the hospital gave the certificate.
    """

    address: str
    fingerprint: str
    authority: str
