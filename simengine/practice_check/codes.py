"""Codes that open the practice check of a unit, kept in a file of the data folder.

Rules of this file:

- A code opens the list and nothing else: who has it reads nobody's record. It holds no name.
- It lasts until it is ended, or ``LASTS_DAYS``: it may hang on the wall by the cot.
- There are at most ``MOST`` at a time; the oldest gives way.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path

import orjson

from simengine.private_files import private_folder, write_private
from simengine.web.security import new_code

FILE = "practice-checks.json"
LASTS_DAYS = 31
MOST = 50
CODE_LENGTH = 8
_DAY_MS = 24 * 60 * 60 * 1_000


@dataclass(frozen=True, slots=True)
class OpenCheck:
    """A practice check that a code opens. ``made_ms``: wall time, ms since 1970."""

    code: str
    unit: str
    protocol: str
    gestation_days: float
    weight_g: float
    made_ms: int


class Codes:
    """The codes in force, read from and written to a folder."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / FILE
        self._open: dict[str, OpenCheck] = {}
        if self._file.is_file():
            kept = orjson.loads(self._file.read_bytes())
            self._open = {entry["code"]: OpenCheck(**entry) for entry in kept}

    def all(self, now_ms: int) -> tuple[OpenCheck, ...]:
        """Return those in force, newest first."""
        last = now_ms - LASTS_DAYS * _DAY_MS
        return tuple(check for check in reversed(self._open.values()) if check.made_ms > last)

    def get(self, code: str, now_ms: int) -> OpenCheck | None:
        """Return what a code opens."""
        check = self._open.get(code)
        return check if check in self.all(now_ms) else None

    def make(
        self, *, unit: str, protocol: str, gestation_days: float, weight_g: float, now_ms: int
    ) -> OpenCheck:
        """Make a code and keep it."""
        code = new_code(CODE_LENGTH)
        made = OpenCheck(code, unit, protocol, gestation_days, weight_g, now_ms)
        kept = [*reversed(self.all(now_ms)), made][-MOST:]
        self._keep({check.code: check for check in kept})
        return made

    def end(self, code: str) -> None:
        """Let a code open nothing any more."""
        self._keep({name: check for name, check in self._open.items() if name != code})

    def _keep(self, open_: dict[str, OpenCheck]) -> None:
        private_folder(self._file.parent)
        write_private(self._file, orjson.dumps([asdict(check) for check in open_.values()]))
        self._open = open_
