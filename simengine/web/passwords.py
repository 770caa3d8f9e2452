"""Passwords: what is asked of them, and their Argon2id hashes.

Rules of this file:

- Hashes are made with the parameters that RFC 9106, section 4, recommends second (3 passes over
  64 MiB, 4 lanes): the first would take 2 GiB. One is made at a time, in a thread, so that nobody
  can fill the memory or keep a running session waiting.
- A name that nobody has takes as long as a wrong password.
- A password is long rather than odd: no kind of character is asked for. 12 characters, where NIST
  SP 800-63B and OWASP ASVS 5.0 (6.2.1) ask for 8 at least.
- One that is guessed early is refused: zxcvbn estimates how many tries it takes who begins with the
  commonest passwords (30,000 of them, from leaks), words, names, keys that stand beside each other,
  years, and what people make of those with digits and signs. Whose password it is, and this
  program's name, come first of all.
"""

from __future__ import annotations

import asyncio
import unicodedata
from typing import Any

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

SHORTEST = 12
LONGEST = 200
EARLIEST_GUESS = 10**8
"""What tries that nobody stops get through, by the scale of zxcvbn's authors."""
_LOOKED_AT = 32
"""Characters; of 72 odd ones the estimate takes seconds."""


def problem_of(password: str, again: str, name: str) -> str:
    """Return in words why a password can't be taken; empty if it can."""
    if password != again:
        return "The two passwords differ. Type the same one twice."
    if len(password) < SHORTEST:
        return f"The password is too short: it needs {SHORTEST} characters; four words will do."
    if len(password) > LONGEST:
        return f"The password is too long: {LONGEST} characters at most."
    if _guess_of(password, name) < EARLIEST_GUESS:
        return "This password is guessed early. Take four words that say nothing together."
    return ""


def _guess_of(password: str, name: str) -> int:
    """Return at which try a password is guessed."""
    from zxcvbn import zxcvbn  # its lists take 14 MB: only who chooses a password needs them

    known = [name, *name.split(), "simengine"]
    estimate: dict[str, Any] = zxcvbn(_plain(password)[:_LOOKED_AT], user_inputs=known)
    return int(estimate["guesses"])


class Passwords:
    """Makes hashes and holds passwords against them. ``hasher``: Argon2id's parameters."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)
        self._one_at_a_time = asyncio.Semaphore(1)
        self._nobodys = ""

    async def hash_of(self, password: str) -> str:
        """Return a password's hash, with its salt and parameters."""
        async with self._one_at_a_time:
            return await asyncio.to_thread(self._hasher.hash, _plain(password))

    async def is_right(self, password: str, kept: str | None) -> bool:
        """Whether a password is the one of a hash; of nobody's (``None``) it never is.

        It is held against the hash whole, never cut to what fits.
        """
        if not self._nobodys:
            self._nobodys = await self.hash_of("nobody's password")
        async with self._one_at_a_time:
            right = await asyncio.to_thread(self._verify, kept or self._nobodys, password)
        return right and kept is not None and len(password) <= LONGEST

    def _verify(self, kept: str, password: str) -> bool:
        try:
            return self._hasher.verify(kept, _plain(password))
        except VerificationError:
            return False


def _plain(password: str) -> str:
    """Return a password as keyboards that compose letters differently agree on it."""
    return unicodedata.normalize("NFKC", password)
