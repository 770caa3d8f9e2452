"""Somebody who rehearses alone at a console, as benchmarks play them."""

from __future__ import annotations

import asyncio
import json
import re
import uuid
from typing import Any

from benchmarks.console import Display, Target, send_form
from benchmarks.many_sessions import processor_s
from simengine.desk.event_stream import RENEW_MS

_BUSY_S = 0.1
_LOOK_AGAIN_S = 3.0


class Rehearsal:
    """A rehearsal at a console, with the screen of who plays it."""

    def __init__(self, target: Target) -> None:
        self.target = target

    async def begin(self, scenario: str, way: str = "guided") -> Display:
        """Begin one, and open its screen."""
        target = self.target
        self.at = await send_form(
            target.device, "/rehearse", target.token, scenario=scenario, way=way
        )
        screen = await self.screen()
        await self.touch("begin")
        return screen

    async def screen(self) -> Display:
        """Open its screen, and wait for what it shows."""
        screen = Display(self.target.device.port, f"{self.at}/stream", self.target.device.cookie)
        await screen.open()
        await screen.has(0)
        return screen

    async def touch(self, do: str, name: str = "", **chosen: Any) -> bool:
        """Touch something; return whether anything came of it."""
        body = {"id": str(uuid.uuid4()), "do": do, "name": name, "chosen": chosen}
        device, headers = self.target.device, self.target.headers
        head, _ = await device.ask("POST", f"{self.at}/do", json.dumps(body).encode(), headers)
        return " 200 " in head.splitlines()[0]

    async def watch(self, screen: Display, seconds: float) -> None:
        """Keep its screen open, by a new stream as often as its page opens one; then close it."""
        left_s, renewed_s = seconds, RENEW_MS / 1000
        while left_s > renewed_s:
            await asyncio.sleep(renewed_s)
            left_s -= renewed_s
            before, screen = screen, await self.screen()
            await before.close()
        await asyncio.sleep(left_s)
        await screen.close()


async def settled(target: Target) -> None:
    """Wait until what follows an end (its marking) is over: it is no part of the next rehearsal."""
    before = -1.0
    while (now := processor_s(target)) > before + _BUSY_S:
        before = now
        await asyncio.sleep(_LOOK_AGAIN_S)


async def checked(target: Target) -> None:
    """Wait until the console has checked its scenario files: that is no part of any rehearsal."""
    while True:
        _, page = await target.device.ask("GET", "/rehearse")
        if re.search(rb'value="cot-term"', page) and b"data-waiting" not in page:
            return
        await asyncio.sleep(0.5)
