"""An event loop with a time of its own: while nothing is to be done, it goes by at once.

Ten minutes in which a server waits take as long as what it does in them. Nothing in such a loop may
wait for a thread, a process or a socket: the time would have gone by before it answers.
"""

from __future__ import annotations

import asyncio
import selectors
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

from simengine.web.clock import Clock

_T = TypeVar("_T")
_NS = 1_000_000_000
_EPOCH_NS = 1_800_000_000 * _NS


class _Selector(selectors.SelectSelector):
    """Lets the time go by that the loop would have waited."""

    now_s = 0.0

    def select(self, timeout: float | None = None) -> list[Any]:
        ready = super().select(0)
        if not ready:
            assert timeout is not None, "the loop waits for nothing that could come"
            self.now_s += max(0.0, timeout)
        return ready


class OwnTime(asyncio.SelectorEventLoop):
    """The loop. ``clock``: a server's clock that goes by its time."""

    def __init__(self) -> None:
        self._waits = _Selector()
        super().__init__(self._waits)
        self.clock = Clock(lambda: _EPOCH_NS + self._ns(), self._ns)

    def time(self) -> float:
        return self._waits.now_s

    def _ns(self) -> int:
        return int(self._waits.now_s * _NS)


def in_own_time(run: Callable[[Clock], Coroutine[Any, Any, _T]]) -> _T:
    """Run something in such a loop, by its clock, in a thread in which no browser's loop runs."""

    def result() -> _T:
        with asyncio.Runner(loop_factory=OwnTime) as runner:
            loop = runner.get_loop()
            assert isinstance(loop, OwnTime)
            return runner.run(run(loop.clock))

    with ThreadPoolExecutor(max_workers=1) as beside_a_loop:
        return beside_a_loop.submit(result).result()
