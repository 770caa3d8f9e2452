"""The accounts of a console on a network: who has one, inviting, a new password, closing.

Rules of this file:

- An educator invites trainees and gives them new passwords; the coordinator everybody.
- A lost password is never told or sent: an invitation sets a new one, which ends every place in
  which the account was signed in.
- Nobody closes their own account, so that whoever is last in is never locked out.
"""

from __future__ import annotations

import io

import segno
from starlette.requests import Request
from starlette.responses import Response

from simengine.store import accounts
from simengine.store.accounts import Account, Invitation, Rights
from simengine.store.lists import is_known
from simengine.store.store import Store
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.local_time import local_day
from simengine.web.page_contexts import AccountRow, AccountsPage, Invited
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor, new_code
from simengine.web.who_asks import how_to_come_in, known_visitor

INVITATION_MS = 7 * 24 * 60 * 60 * 1000
_CODE_LENGTH = 12
_ROLES = {
    "educator": Rights(educator=True),
    "coordinator": Rights(coordinator=True),
    "both": Rights(educator=True, coordinator=True),
}


async def accounts_page(request: Request) -> Response:
    """``GET /accounts``."""
    return _drawn(request, _teacher(request))


async def invite(request: Request) -> Response:
    """``POST /accounts``: ``do`` is ``invite``, ``renew`` or ``close``."""
    visitor = _teacher(request)
    form = await form_of(request, visitor)
    if form.get("do") == "invite":
        return _invite(request, visitor, form.get("role", ""), form.get("trainee", "").strip()[:40])
    account = accounts.account_with(state_of(request).store, form.get("account", ""))
    if account is None:
        raise RefusalError(404, "No such account", "It has been closed, perhaps by somebody else.")
    if not _may(visitor, account.rights):
        raise RefusalError(403, "For the coordinator", "An educator invites trainees alone.")
    if form.get("do") == "renew":
        return _drawn(request, visitor, _invited(request, account.rights, account.name, account.id))
    if account.id == visitor.person:
        problem = "Nobody closes their own account. Another coordinator can."
        return _drawn(request, visitor, problem=problem)
    accounts.close_account(state_of(request).store, account.id)
    return see("/accounts")


def _invite(request: Request, visitor: Visitor, role: str, trainee: str) -> Response:
    store = state_of(request).store
    rights = Rights(trainee=trainee) if role == "trainee" else _ROLES.get(role)
    problem = ""
    if rights is None:
        problem = "Choose whose account it is to be."
    elif not _may(visitor, rights):
        raise RefusalError(403, "For the coordinator", "An educator invites trainees alone.")
    elif role == "trainee" and not is_known(store, trainee):
        problem = (
            f"Nobody has the code '{trainee}': it is not on the roster, nor in any session kept "
            "here. Check it; capital and small letters matter."
        )
    elif role == "trainee" and accounts.account_of_trainee(store, trainee) is not None:
        problem = f"{trainee} has an account. If the password is lost, give a new one below."
    if problem or rights is None:
        return _drawn(request, visitor, problem=problem)
    return _drawn(request, visitor, _invited(request, rights, trainee, ""))


def _invited(request: Request, rights: Rights, whom: str, account: str) -> Invited:
    state = state_of(request)
    code = new_invitation(state.store, rights, state.clock.now_ms(), account)
    return Invited(
        whom=whom or rights_words(rights),
        code="-".join(code[start : start + 4] for start in range(0, _CODE_LENGTH, 4)),
        link=f"{state.address}/invitation/{code}",
        typed_at=f"{state.address}/invitation",
        picture=picture_of(f"{state.address}/invitation/{code}"),
        days=INVITATION_MS // (24 * 60 * 60 * 1000),
        anew=bool(account),
    )


def new_invitation(
    store: Store, rights: Rights, now_ms: int, account: str = "", lasts_ms: int = INVITATION_MS
) -> str:
    """Keep an invitation and return its code: 12 letters are 59 bits."""
    code = new_code(_CODE_LENGTH)
    accounts.invite(store, code, Invitation(rights, now_ms + lasts_ms, account), now_ms)
    return code


def picture_of(address: str) -> str:
    """Return a QR code of an address as a ``data:`` address, so that no other page has it."""
    return segno.make(address, error="m", micro=False).svg_data_uri(
        scale=4, border=2, light="#ffffff", dark="#1b2733", svgclass=None, lineclass=None
    )


def rights_words(rights: Rights) -> str:
    """Return whose account it is, in words."""
    if rights.trainee:
        return f"the trainee {rights.trainee}"
    held = [("an educator", rights.educator), ("a coordinator", rights.coordinator)]
    return " and ".join(words for words, has in held if has)


def _drawn(
    request: Request, visitor: Visitor, invited: Invited | None = None, problem: str = ""
) -> Response:
    all_accounts = accounts.all_accounts(state_of(request).store)
    data = AccountsPage(
        problem=problem,
        invited=invited,
        rows=tuple(
            _row(account, visitor) for account in all_accounts if _may(visitor, account.rights)
        ),
        may_invite_all=visitor.coordinator,
    )
    return page(request, "accounts.html.j2", data, status=422 if problem else 200)


def _row(account: Account, visitor: Visitor) -> AccountRow:
    made = local_day(account.wall)
    own = account.id == visitor.person
    return AccountRow(account.id, account.name, rights_words(account.rights), made, own)


def _may(visitor: Visitor, rights: Rights) -> bool:
    """Whether a visitor may invite to an account with these rights, renew or close it."""
    return visitor.coordinator or not rights.teaches


def _teacher(request: Request) -> Visitor:
    visitor = known_visitor(request)
    if visitor is None or not visitor.teaches:
        raise RefusalError(403, "For educators and the coordinator", *how_to_come_in(request))
    return visitor


async def address_picture(request: Request) -> Response:
    """``GET /address.svg``: a QR code of where a tablet or phone signs in."""
    picture = io.BytesIO()
    address = f"{state_of(request).address}/sign-in"
    segno.make(address, error="m", micro=False).save(
        picture, kind="svg", scale=4, border=2, light="#ffffff", dark="#1b2733", svgclass=None,
        lineclass=None,
    )  # fmt: skip
    return Response(picture.getvalue(), media_type="image/svg+xml")
