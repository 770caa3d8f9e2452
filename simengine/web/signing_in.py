"""Signing in and out, taking up an invitation, a new password of one's own: over a network alone.

Rules of this file:

- Wrong passwords and codes are counted by browser, and by address for browsers in which nobody has
  signed in yet, so that no other device, and no browser that is known, is kept out by them.
- Which of name and password was wrong is not told.
- Whoever signs in gets a new secret and a new form token; a sign-in ends with the browser, with
  signing out, with a new password, and in its time.
- A right invitation opens whatever came before: its code is too long to be guessed.
"""

from __future__ import annotations

import asyncio
import secrets
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response

from simengine.store import accounts
from simengine.store.accounts import Account, Invitation, NameTakenError
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.page_contexts import InvitationPage, OwnPasswordPage, SignInPage
from simengine.web.pages import page, see
from simengine.web.passwords import problem_of
from simengine.web.refusal import RefusalError
from simengine.web.security import TRAINEE_STAY_MS, Visitor, as_code, new_visitor
from simengine.web.who_asks import (
    address_of,
    as_account,
    client_of,
    home_of,
    how_to_come_in,
    known_visitor,
    set_cookie,
)

TEACHER_STAY_MS = 12 * 60 * 60 * 1000
LONGEST_NAME = 60
_TOO_MANY = "Too many wrong tries from here. Wait a minute, then try again."
_WRONG = "Name and password do not fit together. Look at both again."
_NO_INVITATION = (
    "This code opens nothing. An invitation works once and ends in its time; ask an educator or "
    "the coordinator for a new one."
)


async def sign_in_page(request: Request) -> Response:
    """``GET /sign-in``; who is signed in goes on."""
    visitor = known_visitor(request)
    if visitor is not None and visitor.name:
        return see(home_of(visitor, state_of(request).clock.now_ms()))
    return page(request, "sign_in.html.j2", SignInPage("", ""))


async def sign_in(request: Request) -> Response:
    """``POST /sign-in``."""
    visitor = known_visitor(request)
    form = await form_of(request, visitor)
    assert visitor is not None
    state = state_of(request)
    name = form.get("name", "").strip()[:LONGEST_NAME]
    if _too_many(request, visitor):
        return page(request, "sign_in.html.j2", SignInPage(_TOO_MANY, name), status=429)
    account = accounts.account_named(state.store, name)
    kept = account.password if account is not None else None
    right = await state.passwords.is_right(form.get("password", ""), kept)
    if account is None or not right:
        _count_wrong(request, visitor)
        return page(request, "sign_in.html.j2", SignInPage(_WRONG, name), status=422)
    return _signed_in(request, visitor, account)


async def sign_out(request: Request) -> Response:
    """``POST /sign-out``; with ``forget`` the browser is asked to clear what pages keep in it."""
    visitor = known_visitor(request)
    form = await form_of(request, visitor)
    assert visitor is not None
    accounts.sign_out(state_of(request).store, visitor.sign_in)
    response = see("/sign-in")
    if form.get("forget") == "yes":
        response.headers["clear-site-data"] = '"storage"'
    set_cookie(request, response, replace(new_visitor(), sign_in=visitor.sign_in))
    return response


async def password_page(request: Request) -> Response:
    """``GET /password``."""
    _own_account(request)
    changed = "changed" in request.query_params
    return page(request, "password.html.j2", OwnPasswordPage(changed=changed))


async def change_password(request: Request) -> Response:
    """``POST /password``: the account goes on here alone, with a new secret and form token."""
    visitor = known_visitor(request)
    form = await form_of(request, visitor)
    account = _own_account(request)
    assert visitor is not None
    if _too_many(request, visitor):
        return page(request, "password.html.j2", OwnPasswordPage(_TOO_MANY), status=429)
    passwords = state_of(request).passwords
    old, new = form.get("old", ""), form.get("password", "")
    if not await passwords.is_right(old, account.password):
        _count_wrong(request, visitor)
        problem = "The password until now is not right. Nothing is changed."
    elif old == new:
        problem = "The new password is the old one."
    else:
        problem = await asyncio.to_thread(problem_of, new, form.get("again", ""), account.name)
    if problem:
        return page(request, "password.html.j2", OwnPasswordPage(problem), status=422)
    accounts.set_password(state_of(request).store, account.id, await passwords.hash_of(new))
    return _signed_in(request, visitor, account, "/password?changed=yes")


def _own_account(request: Request) -> Account:
    """Return the account that is signed in here. Raises ``RefusalError``."""
    visitor = known_visitor(request)
    account = None
    if visitor is not None and visitor.name:
        account = accounts.account_with(state_of(request).store, visitor.person)
    if account is None:
        raise RefusalError(403, "Sign in first", *how_to_come_in(request))
    return account


async def invitation_page(request: Request) -> Response:
    """``GET /invitation/CODE``, or without a code to type it."""
    code = as_code(request.path_params.get("code", ""))
    if not code:
        return page(request, "invitation.html.j2", InvitationPage())
    invitation = _invitation(request, code)
    return _asked(request, code, invitation)


async def accept(request: Request) -> Response:
    """``POST /invitation``: with a code alone it is looked up, with a password it is taken up."""
    visitor = known_visitor(request)
    form = await form_of(request, visitor)
    assert visitor is not None
    state = state_of(request)
    code = as_code(form.get("code", ""))
    invitation = _invitation(request, code)
    if "password" not in form or isinstance(invitation, str):
        return _asked(request, code, invitation)
    name = _name_of(request, invitation) or " ".join(form.get("name", "").split())[:LONGEST_NAME]
    problem = "" if name else "Type a name to sign in with."
    problem = problem or await asyncio.to_thread(
        problem_of, form.get("password", ""), form.get("again", ""), name
    )
    if problem:
        return _asked(request, code, invitation, name, problem)
    hashed = await state.passwords.hash_of(form["password"])
    now_ms, now = state.clock.now_ms(), wall(state.clock.wall_ms())
    try:
        account = accounts.accept(
            state.store, code, name=name, password=hashed, now_ms=now_ms, wall=now
        )
    except NameTakenError:
        problem = "Somebody has this name here, or this trainee has an account. Take another name."
        return _asked(request, code, invitation, name, problem)
    if account is None:
        return _asked(request, code, _NO_INVITATION)
    return _signed_in(request, visitor, account)


def _signed_in(request: Request, visitor: Visitor, account: Account, way: str = "") -> Response:
    """Sign an account in here, and go on to ``way`` or to the account's first page."""
    state = state_of(request)
    now_ms = state.clock.now_ms()
    if visitor.name:
        accounts.sign_out(state.store, visitor.sign_in)
    secret = secrets.token_urlsafe(32)
    stay_ms = TEACHER_STAY_MS if account.rights.teaches else TRAINEE_STAY_MS
    accounts.sign_in(state.store, secret, account.id, until_ms=now_ms + stay_ms, now_ms=now_ms)
    fresh = replace(new_visitor(), joined=visitor.joined, sign_in=secret)
    response = see(way or home_of(as_account(fresh, account, now_ms), now_ms))
    set_cookie(request, response, fresh)
    return response


def _asked(
    request: Request,
    code: str,
    invitation: Invitation | str,
    name: str = "",
    problem: str = "",
) -> Response:
    """Draw the page of an invitation, or of why there is none."""
    if isinstance(invitation, str):
        status = 429 if invitation == _TOO_MANY else 422
        data = InvitationPage(problem=invitation, code=code)
        return page(request, "invitation.html.j2", data, status=status)
    known = _name_of(request, invitation)
    data = InvitationPage(
        problem=problem,
        code=code,
        rights=invitation.rights,
        name=known or name,
        anew=bool(known),
    )
    return page(request, "invitation.html.j2", data, status=422 if problem else 200)


def _name_of(request: Request, invitation: Invitation) -> str:
    """Return the name of the account whose password is set anew; empty for a new account."""
    account = accounts.account_with(state_of(request).store, invitation.account)
    return account.name if account is not None else ""


def _invitation(request: Request, code: str) -> Invitation | str:
    """Return what a code opens, else what to say; a wrong one is counted."""
    state = state_of(request)
    invitation = accounts.invitation_of(state.store, code, state.clock.now_ms())
    if invitation is not None:
        return invitation
    visitor = known_visitor(request)
    if _too_many(request, visitor):
        return _TOO_MANY
    _count_wrong(request, visitor)
    return _NO_INVITATION


def _too_many(request: Request, visitor: Visitor | None) -> bool:
    state = state_of(request)
    now_ms = state.clock.now_ms()
    if state.guesses.too_many(client_of(request), now_ms):
        return True
    known = visitor is not None and visitor.sign_in
    return not known and state.strangers.too_many(address_of(request), now_ms)


def _count_wrong(request: Request, visitor: Visitor | None) -> None:
    state = state_of(request)
    now_ms = state.clock.now_ms()
    state.guesses.wrong(client_of(request), now_ms)
    if visitor is None or not visitor.sign_in:
        state.strangers.wrong(address_of(request), now_ms)
