"""A process of its own ends with whoever waits for it, and leaves nothing open."""

from __future__ import annotations

import asyncio
import gc
import sys

import pytest

from simengine.web.own_process import EndedBadlyError, ran

WAITS_FOR_EVER = "import sys, threading; threading.Event().wait()"


def test_what_a_process_writes_is_returned() -> None:
    echo = "import sys; sys.stdout.write(sys.stdin.read().upper() + sys.argv[1])"
    assert asyncio.run(ran(echo, "!", told=b"heard")) == b"HEARD!"


def test_a_process_that_ends_badly_says_why() -> None:
    with pytest.raises(EndedBadlyError, match="no such day"):
        asyncio.run(ran("raise SystemExit('no such day')"))


def test_who_gives_up_waiting_leaves_no_pipe_open(monkeypatch: pytest.MonkeyPatch) -> None:
    unclosed: list[str] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda left: unclosed.append(str(left.exc_value)))

    async def given_up() -> None:
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(ran(WAITS_FOR_EVER), timeout=0.2)

    asyncio.run(given_up())
    gc.collect()
    assert unclosed == []
