"""What the pages of both houses share: the parts of the running program that each of them needs.

Rules of this file:

- A house names here only what it asks of the other (``LiveSessions``, ``BeingScored``); who does it
  is put in where the app is made.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from jinja2 import Environment
from starlette.requests import Request

from simengine.store import Store
from simengine.web.clock import Clock
from simengine.web.lan import Lan
from simengine.web.make_debriefs import Debriefs
from simengine.web.passwords import Passwords
from simengine.web.security import Guesses, Keys, OneTimeLink
from simengine.web.shelf import Shelf
from simengine.web.trainee_codes import TraineeCodes


class LiveSessions(Protocol):
    """The sessions that are held in memory, as far as others than the desk ask for them."""

    def any_runs(self) -> bool:
        """Whether any session has been opened here and not ended."""

    def let_go(self) -> None:
        """Hold no session in memory any longer, until ``take_up``; their streams end."""

    def take_up(self) -> None:
        """Read all plans from the store, and let sessions come to life again."""

    def read_again(self, session: str) -> None:
        """Take over what was added to a session's log by others than its engine."""


class BeingScored(Protocol):
    """The results of ended sessions that are being made."""

    async def made(self) -> None:
        """Wait until every result that was asked for has been made."""


@dataclass(frozen=True, slots=True)
class AppState:
    """The parts that pages share. ``address``: how this server is reached from outside.

    ``link`` opens the console, ``coordinating`` the coordinator's pages, ``tickets`` trainees'.
    ``guesses`` counts wrong codes by client, ``strangers`` those by address, of browsers in which
    nobody has signed in yet. ``lan``: how it is reached over a network, where it is: then there are
    accounts, and neither ``link`` nor ``coordinating`` opens anything.
    """

    store: Store
    clock: Clock
    shelf: Shelf
    sessions: LiveSessions
    results: BeingScored
    debriefs: Debriefs
    keys: Keys
    link: OneTimeLink
    coordinating: OneTimeLink
    tickets: TraineeCodes
    guesses: Guesses
    strangers: Guesses
    passwords: Passwords
    lan: Lan | None
    templates: Environment
    address: str


def state_of(request: Request) -> AppState:
    """Return the shared parts."""
    state = request.app.state.web
    assert isinstance(state, AppState)
    return state
