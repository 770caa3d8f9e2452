"""Loads the program and shows a session once, for a process that consoles are forked from.

Rules of this file:
- Nothing of it stays but what a console keeps by itself for the next time that it is asked: what it
  has imported, the scenarios it has loaded, its templates.
"""

from __future__ import annotations

import gc
from pathlib import Path
from tempfile import TemporaryDirectory

import simengine.cli.console
import simengine.cli.main
import simengine.console.server  # noqa: F401 - loaded for the forks
from simengine.web.shelf import OnShelf, Shelf
from tests.console.consoles import Desk

_SCENARIOS = ("term-not-breathing", "cot-term")


class _Unchecked(Shelf):
    """Has no file checked: none is chosen here from the first page."""

    async def look_and_check(self, patience_s: float = 0.0) -> OnShelf:
        del patience_s
        return self.look()


def _show() -> None:
    with TemporaryDirectory() as folder:
        desk = Desk(Path(folder), shelf=_Unchecked((Path("scenarios"),)))
        with desk.client:
            desk.sign_in()
            for scenario in _SCENARIOS:
                desk.view(desk.start(scenario))


_show()
gc.collect()
gc.freeze()
