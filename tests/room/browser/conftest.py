"""A room in the system's own Chromium: a tablet that leads, a projector that follows.

Rules:
- The browser is that of all tests (``chromium``).
- A page that reports an error of its own fails its test.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simengine.desk.hub import Hub
from simengine.store import Store
from simengine.web.clock import Clock
from simengine.web.shelf import Shelf
from tests.desk.browser.facilitator import Facilitator
from tests.room.browser.leading import Leading
from tests.room.held import held


@pytest.fixture
def leading(chromium: Browser, tmp_path: Path) -> Iterator[Leading]:
    """A facilitator with a tablet in the room of a session that has ended."""
    data = tmp_path / "data"
    hub = Hub(Store.open(data, alone=True), Shelf((), data / "scenarios.index"), Clock())
    session = held(hub)
    hub.close()
    facilitator = Facilitator(chromium, data)
    yield Leading(facilitator, session)
    facilitator.leave()
    assert facilitator.errors == []
