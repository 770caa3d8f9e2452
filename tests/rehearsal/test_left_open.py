"""A rehearsal that nobody touches hardly asks anything of the server, which sleeps meanwhile.

Counted over ten minutes of a clock that goes by at once, never by how long anything takes: how
often a view is made for the page, and how often the director looks for what is to be done.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from starlette.types import Message

from simengine.desk.event_stream import RENEW, EventStream
from simengine.desk.hub import Hub, opening_data
from simengine.desk.inputs import Input
from simengine.desk.running import Running
from simengine.desk.scene import Scene
from simengine.desk.session_plan import HERE, SessionPlan
from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.cot import LOOK
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.director import AloneDirector
from simengine.rehearsal.hands import has_baby
from simengine.rehearsal.play_pages import director_of
from simengine.rehearsal.touches import Touch, done_by
from simengine.scenario.model import Scenario
from simengine.session.live import LiveSession
from simengine.session.rights import Recorder
from simengine.store import Store
from simengine.web.clock import Clock
from simengine.web.shelf import Shelf
from tests import shipped
from tests.console.consoles import lay_store
from tests.console.own_time import in_own_time

OPEN_S = 600
AT_MOST = OPEN_S // 6
"""Once in six seconds on the average, where a gauge that moves may be told anew each two."""
BETWEEN_S = 10
ME = Recorder(HERE, "educator")
BEGUN = ("call_for_help", "oximeter", "ecg", "watch_chest", "listen_to_heart", "mask_ventilation")
"""What is begun where there is a baby: sensors that read curves, and breaths that move them."""
MOVES = ("oxygen_cylinder", "t_piece", "suction", "blender")
"""Parts of the cot whose gauges move by themselves."""


class Shipped(Shelf):
    """Scenarios as the other tests have read them."""

    def scenario(self, name: str, **_: str) -> Scenario:
        return shipped.scenario(name)


class Counted:
    """A director, with how often it was asked for a view and for what is to be done."""

    def __init__(self, director: AloneDirector) -> None:
        self.director = director
        self.views = self.looks = 0

    def due_ms(self, live: LiveSession) -> int | None:
        return self.director.due_ms(live)

    def next_entry(self, live: LiveSession, now_ms: int) -> Any:
        self.looks += 1
        return self.director.next_entry(live, now_ms)

    def view(self, scene: Scene) -> object:
        self.views += 1
        return self.director.view(scene)


class Page:
    """A page that watches a session, and opens its stream anew when it is asked to."""

    def __init__(self, running: Running, clock: Clock) -> None:
        self._running, self._clock = running, clock
        self._streams: list[asyncio.Task[None]] = []
        self.open()

    def open(self) -> None:
        self._streams.append(asyncio.create_task(self._listen()))

    async def _listen(self) -> None:
        left = asyncio.Event()

        async def send(message: Message) -> None:
            if message.get("body") == RENEW:
                self.open()
                left.set()

        async def receive() -> Message:
            await left.wait()
            return {"type": "http.disconnect"}

        screen = self._running.join("play")
        await EventStream(screen, self._clock.now_ms, self._running.leave)({}, receive, send)

    async def close(self) -> None:
        for stream in self._streams:
            stream.cancel()
        await asyncio.gather(*self._streams, return_exceptions=True)


def touch(running: Running, cot: CotAtHand, do: str, name: str = "", **chosen: Any) -> None:
    """Touch something, as the page sends it."""
    scene = running.scene()
    assert scene is not None
    done = done_by(Touch(str(uuid4()), do, name, chosen), scene, alone_rules(), cot, ME.key)
    entries = [
        Input(str(uuid4()), entry.kind, running.log_ms(), dict(entry.data))
        for entry in done.entries
    ]
    assert running.record(entries, ME) == []
    running.show_soon()


def left_open(folder: Path, name: str, part: str, *, guided: bool) -> Counted:
    """Begin a rehearsal, look at a part of the cot, and touch nothing for ten minutes."""
    lay_store(folder)
    directors: list[Counted] = []

    def directed(plan: SessionPlan, scenario: Scenario) -> Counted:
        director = director_of((), plan, scenario)
        assert director is not None
        directors.append(Counted(director))
        return directors[-1]

    async def played(clock: Clock) -> None:
        hub = Hub(Store.open(folder, alone=True), Shipped((), folder / "scenarios.index"), clock)
        hub.directed = directed
        scenario = shipped.scenario(name)
        plan = hub.plan(
            scenario,
            protocol="",
            gestation="",
            weight="",
            purpose="rehearsal",
            real_cot=False,
            team={},
            alone=HERE,
            guided=guided,
        )
        running = hub.running(plan.session)
        running.open(opening_data(running), ME)
        page, cot = Page(running, clock), directors[-1].director.cot
        assert cot is not None
        touch(running, cot, "begin")
        for action in BEGUN if has_baby(scenario) else ():
            touch(running, cot, "action", action)
            await asyncio.sleep(BETWEEN_S)
        touch(running, cot, "cot", part, control=LOOK)
        directors[-1].views = directors[-1].looks = 0
        await asyncio.sleep(OPEN_S)
        await page.close()
        hub.close()

    in_own_time(played)
    return directors[-1]


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_a_guided_rehearsal_left_open_is_looked_at_a_few_times_a_minute(
    tmp_path: Path, name: str
) -> None:
    counted = left_open(tmp_path, name, "oxygen_cylinder", guided=True)
    assert 0 < counted.views <= AT_MOST
    assert 0 < counted.looks <= AT_MOST


@pytest.mark.parametrize("name", ["cot-term", "term-not-breathing"])
def test_so_is_one_without_hints(tmp_path: Path, name: str) -> None:
    counted = left_open(tmp_path, name, "oxygen_cylinder", guided=False)
    assert 0 < counted.views <= AT_MOST
    assert 0 < counted.looks <= AT_MOST


@pytest.mark.parametrize("part", MOVES)
def test_so_it_is_whichever_part_is_open(tmp_path: Path, part: str) -> None:
    counted = left_open(tmp_path, "cot-term", part, guided=True)
    assert 0 < counted.views <= AT_MOST
    assert 0 < counted.looks <= AT_MOST
