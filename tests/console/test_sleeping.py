"""The server sleeps while nobody asks anything of it, and stops at once."""

from __future__ import annotations

import asyncio
import signal

import uvicorn
from starlette.types import Receive, Scope, Send

from simengine.console.sleeping import SleepingServer
from simengine.web.clock import Clock
from tests.console.own_time import in_own_time


async def _app(scope: Scope, receive: Receive, send: Send) -> None:
    raise AssertionError("nobody asks for anything")


class Counted(SleepingServer):
    """A server that counts how often it wakes."""

    def __init__(self) -> None:
        config = uvicorn.Config(_app, lifespan="off", log_config=None)
        config.load()
        super().__init__(config)
        self.woken = 0

    async def on_tick(self, counter: int) -> bool:
        self.woken += 1
        return await super().on_tick(counter)


def stopped_after(seconds: float) -> tuple[Counted, int]:
    """A server that was told to stop after a while, and the time at which it had stopped, in ms."""
    server = Counted()

    async def served(clock: Clock) -> int:
        began_ms = clock.now_ms()
        loop = asyncio.get_running_loop()
        loop.call_later(seconds, server.handle_exit, signal.SIGTERM, None)
        await server.main_loop()
        return clock.now_ms() - began_ms

    return server, in_own_time(served)


def test_a_server_that_nobody_asks_anything_wakes_once_a_second() -> None:
    server, _ = stopped_after(600.5)
    assert server.woken == 602, "at its start, each second, and when told to stop"


def test_a_server_that_is_told_to_stop_stops_at_once() -> None:
    _, at_ms = stopped_after(600.5)
    assert at_ms == 600_500


def test_its_answers_have_their_date() -> None:
    server, _ = stopped_after(0.5)
    assert b"date" in dict(server.server_state.default_headers)
