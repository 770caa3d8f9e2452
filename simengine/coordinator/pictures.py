"""Pictures for the pages, drawn in a process of their own and kept for a while.

Rules of this file:

- What draws is slow to load and large: it runs beside the server and ends when it has drawn.
- A picture is kept by what it was drawn from, so the same points are drawn once.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import asdict

import orjson

from simengine.debrief.trend import Held
from simengine.web.own_process import EndedBadlyError, ran

_MOST = 100
_COMMAND = "from simengine.coordinator.draw_trend import main; main()"


class PictureError(Exception):
    """A picture could not be drawn."""


class Pictures:
    """Draws trends as SVG, and keeps the latest."""

    def __init__(self) -> None:
        self._kept: OrderedDict[bytes, bytes] = OrderedDict()
        self._one_at_a_time = asyncio.Semaphore(1)

    async def trend(self, points: Sequence[Held]) -> bytes:
        """Return one person's sessions side by side. Raises ``PictureError``."""
        points_json = orjson.dumps([asdict(point) for point in points])
        async with self._one_at_a_time:
            if points_json not in self._kept:
                self._kept[points_json] = await _drawn(points_json)
                while len(self._kept) > _MOST:
                    self._kept.popitem(last=False)
            self._kept.move_to_end(points_json)
            return self._kept[points_json]


async def _drawn(points_json: bytes) -> bytes:
    try:
        return await ran(_COMMAND, told=points_json)
    except EndedBadlyError as error:
        raise PictureError(str(error)) from error
