"""Who is who: the one-time link, the signed cookie, form tokens, and limits on guessing.

Rules of this file:

- The links that open the console and the coordinator's pages work once each. The cookie makes
  that browser the facilitator's or the coordinator's until it ends; the key that signs cookies
  stays in the data folder, so that a server started again knows who they are. A key that is not
  whole is never used.
- A trainee's code (``trainee_codes``) opens that trainee's own pages in that browser, for a while,
  and nothing else.
- A visitor has a random id, new whenever their rights grow. A form token is that id, signed for
  another purpose: who can't read the page can't know it.
- Codes and links are compared in constant time, and wrong guesses are counted by client.
- On a network nobody is an educator or the coordinator by a cookie's word: the cookie holds a
  secret, and the store says which account is signed in with it. Its cookies are signed for that
  alone, so that none from this machine's own console counts there.
"""

from __future__ import annotations

import hashlib
import hmac
import logging
import re
import secrets
from collections import deque
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from itsdangerous import BadSignature, URLSafeSerializer

from simengine.private_files import make_private, private_folder, write_private
from simengine.session.rights import Recorder

COOKIE = "simengine"
COOKIE_OF_THE_NETWORK = "__Host-simengine"
"""Browsers take a cookie of such a name over TLS alone, for this host and all its pages."""
COOKIE_AGE_S = 24 * 60 * 60

# No 0/O, 1/I/L: a code is read aloud and typed.
_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

_SECRET_BYTES = 32
_WHOLE_SECRET = re.compile(rb"[0-9a-f]{%d}" % (2 * _SECRET_BYTES))
_LOG = logging.getLogger("simengine.console")

TRAINEE_STAY_MS = 2 * 60 * 60 * 1000


Role = Literal["coordinator", "educator", "trainee"]


@dataclass(frozen=True, slots=True)
class Visitor:
    """A browser. ``facilitator``, ``coordinator``: came by that one-time link. ``joined``: sessions
    that it may record in. ``person``: the random key under which it records. ``trainee``: whose
    own pages it may read, until the server's clock reads ``until_ms``. ``sign_in``: the secret by
    which the store knows that an account is signed in here, kept after it is not, since a browser
    in which somebody signed in before is no stranger. ``name``: that account's, else empty.
    """

    id: str
    person: str
    facilitator: bool = False
    joined: tuple[str, ...] = ()
    coordinator: bool = False
    trainee: str = ""
    until_ms: int = 0
    sign_in: str = ""
    name: str = ""

    @property
    def teaches(self) -> bool:
        """Whether this browser is an educator's or a coordinator's."""
        return self.facilitator or self.coordinator

    @property
    def reads_as(self) -> Role:
        """In which role this browser reads, for the access log."""
        if self.coordinator:
            return "coordinator"
        return "educator" if self.facilitator else "trainee"

    def is_trainee(self, now_ms: int) -> str:
        """Return the code of the trainee whose browser this is now; empty for anybody else."""
        return self.trainee if now_ms < self.until_ms and not self.teaches else ""

    @property
    def recorder(self) -> Recorder:
        """Who records in a session that this browser is let into."""
        return Recorder(self.person, "educator" if self.facilitator else "observer")

    def is_let_into(self, session: str) -> bool:
        """Whether this browser may see a session under way, and record what its role may."""
        return self.facilitator or session in self.joined


def new_visitor() -> Visitor:
    """Return somebody whom nobody knows yet."""
    return Visitor(secrets.token_hex(16), new_person())


def new_person() -> str:
    """Return a random key for somebody who records."""
    return f"p-{new_code(6).lower()}"


def new_code(length: int) -> str:
    """Return a random code that can be read aloud; 10 letters are 49 bits."""
    return "".join(secrets.choice(_LETTERS) for _ in range(length))


def as_code(typed: str) -> str:
    """Return a code as it was meant, however it was typed."""
    return "".join(letter for letter in typed.upper() if letter.isalnum())[:40]


class Keys:
    """Signs cookies and form tokens with the key kept in ``folder``.

    ``network``: those of a console that others than this machine reach.
    """

    def __init__(self, folder: Path, *, network: bool = False) -> None:
        secret = _secret(folder / "cookie.key")
        self.cookie_name = COOKIE_OF_THE_NETWORK if network else COOKIE
        salt = "visitor over the network" if network else "visitor"
        sha256 = {"digest_method": hashlib.sha256}
        self._cookies = URLSafeSerializer(secret, salt=salt, signer_kwargs=sha256)
        self._secret = secret.encode()

    def cookie(self, visitor: Visitor, now_ms: int) -> str:
        """Return the cookie's text, as of the server's clock."""
        return str(
            self._cookies.dumps(
                [
                    now_ms,
                    visitor.id,
                    visitor.person,
                    visitor.facilitator,
                    list(visitor.joined),
                    visitor.coordinator,
                    visitor.trainee,
                    visitor.until_ms,
                    visitor.sign_in,
                ]
            )
        )

    def visitor(self, cookie: str | None, now_ms: int) -> Visitor | None:
        """Return who a cookie stands for; ``None`` if it is missing, forged or too old.

        One from ahead of the clock is good: the machine's clock has been set back since.
        """
        if not cookie:
            return None
        try:
            content: Any = self._cookies.loads(cookie)
        except BadSignature:
            return None
        made_ms, id_, person, facilitator, joined, *rest = content
        if now_ms - made_ms > COOKIE_AGE_S * 1000:
            return None
        return Visitor(id_, person, facilitator, tuple(joined), *rest)

    def form_token(self, visitor: Visitor) -> str:
        """Return the token that this visitor's forms and scripts must send."""
        return hmac.new(self._secret, b"form:" + visitor.id.encode(), "sha256").hexdigest()

    def wall_code(self, session: str) -> str:
        """Return the code that opens the debriefing room's wall of a session.

        It follows from the session, so that it holds after the server has been started again.
        """
        digest = hmac.new(self._secret, b"wall:" + session.encode(), "sha256").digest()
        return "".join(_LETTERS[byte % len(_LETTERS)] for byte in digest[:8])

    def is_form_token(self, visitor: Visitor, token: str) -> bool:
        """Whether ``token`` is this visitor's."""
        return hmac.compare_digest(self.form_token(visitor).encode(), token.encode())


def raised(
    visitor: Visitor,
    *,
    facilitator: bool = False,
    coordinator: bool = False,
    session: str | None = None,
) -> Visitor:
    """Return a visitor with more rights, under a new id."""
    joined = visitor.joined
    if session is not None and session not in joined:
        joined = (*joined[-9:], session)
    return replace(
        visitor,
        id=secrets.token_hex(16),
        facilitator=visitor.facilitator or facilitator,
        coordinator=visitor.coordinator or coordinator,
        joined=joined,
    )


def as_trainee(visitor: Visitor, code: str, now_ms: int) -> Visitor:
    """Return a visitor who reads one trainee's own pages from now on, under a new id."""
    return replace(
        visitor, id=secrets.token_hex(16), trainee=code, until_ms=now_ms + TRAINEE_STAY_MS
    )


class OneTimeLink:
    """A link that opens the console or the coordinator's pages, once.

    ``renew`` makes another for whoever started the console; the one before opens nothing more.
    """

    def __init__(self) -> None:
        self.token = secrets.token_urlsafe(32)
        self._spent = False

    def renew(self) -> None:
        """Make a new link in place of the old one, spent or not."""
        self.token = secrets.token_urlsafe(32)
        self._spent = False

    def spend(self, token: str) -> bool:
        """Whether ``token`` opens the console; it does so once."""
        if self._spent or not hmac.compare_digest(self.token.encode(), token.encode()):
            return False
        self._spent = True
        return True


class Guesses:
    """Counts wrong codes by client: ``most`` within ``window_ms``, and then no more for now.

    A client is a browser (its signed cookie), or the address of who sends none: nobody is kept out
    by what another browser tried.
    """

    def __init__(self, most: int = 10, window_ms: int = 60_000) -> None:
        self._most = most
        self._window_ms = window_ms
        self._wrong: dict[str, deque[int]] = {}

    def too_many(self, address: str, now_ms: int) -> bool:
        """Whether this address has guessed too often of late."""
        return len(self._of_late(address, now_ms)) >= self._most

    def wrong(self, address: str, now_ms: int) -> None:
        """Count a wrong code."""
        if len(self._wrong) > 1000:
            since = now_ms - self._window_ms
            self._wrong = {
                who: when for who, when in self._wrong.items() if when and when[-1] > since
            }
        self._of_late(address, now_ms).append(now_ms)

    def _of_late(self, address: str, now_ms: int) -> deque[int]:
        wrong = self._wrong.setdefault(address, deque(maxlen=self._most))
        while wrong and wrong[0] <= now_ms - self._window_ms:
            wrong.popleft()
        return wrong


def _secret(file: Path) -> str:
    private_folder(file.parent)
    make_private(file)
    kept = file.read_bytes().strip() if file.exists() else None
    if kept is not None and _WHOLE_SECRET.fullmatch(kept):
        return kept.decode("ascii")
    if kept is not None:
        _LOG.warning(
            "%s was no whole key, with which anybody could have made cookies: a new one is in its "
            "place, and every browser has to be let in anew",
            file,
        )
    secret = secrets.token_hex(_SECRET_BYTES)
    write_private(file, secret)
    return secret
