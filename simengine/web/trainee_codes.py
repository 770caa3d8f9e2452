"""Codes that open one trainee's own pages, each once and for a few minutes.

Rules of this file:

- They are kept in memory alone: a server started again knows none of them.
- A new code of a trainee ends the one before. Codes are compared in constant time.
"""

from __future__ import annotations

import hmac

from simengine.web.security import new_code

TRAINEE_CODE_MS = 15 * 60 * 1000
_MOST_CODES = 200


class TraineeCodes:
    """Codes that open one trainee's own pages, once, within ``TRAINEE_CODE_MS``.

    They are kept in memory alone: a server started again knows none of them.
    """

    def __init__(self) -> None:
        self._open: dict[str, tuple[str, int]] = {}

    def make(self, trainee: str, now_ms: int) -> str:
        """Return a new code for a trainee; one made for them before opens nothing any more."""
        self._open = {
            code: (whose, until)
            for code, (whose, until) in list(self._open.items())[-_MOST_CODES:]
            if now_ms < until and whose != trainee
        }
        code = new_code(8)
        self._open[code] = (trainee, now_ms + TRAINEE_CODE_MS)
        return code

    def spend(self, code: str, now_ms: int) -> str | None:
        """Return whose pages a code opens, and let it open nothing more."""
        match = None
        for known in self._open:
            if hmac.compare_digest(known.encode(), code.encode()):
                match = known
        if match is None:
            return None
        trainee, until = self._open.pop(match)
        return trainee if now_ms < until else None

    def forget(self, trainee: str) -> None:
        """Let no code open this trainee's pages any more."""
        self._open = {
            code: (whose, until) for code, (whose, until) in self._open.items() if whose != trainee
        }
