"""A coordinator's browser at a console in this process, for measuring pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

from starlette.testclient import TestClient

from simengine.console.app import make_app
from simengine.desk.hub import Hub
from simengine.store import Store
from simengine.web.clock import Clock
from simengine.web.security import OneTimeLink
from simengine.web.shelf import Shelf

HOST = "127.0.0.1:8420"


class Standing(Clock):
    """A clock that stands at noon of a day."""

    def __init__(self, day: date) -> None:
        super().__init__()
        noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
        self._at_ms = round(noon.timestamp() * 1000)

    def now_ms(self) -> int:
        """Return the instant, in ms since 1970."""
        return self._at_ms


@contextmanager
def coordinator(folder: Path, today: date) -> Iterator[Callable[[str], None]]:
    """Open the coordinator's pages over a store; what it gives loads a page."""
    link = OneTimeLink()
    hub = Hub(Store.open(folder, alone=True), Shelf(()), Standing(today))
    app = make_app(
        hub,
        folder,
        hosts=[HOST],
        address=f"http://{HOST}",
        link=OneTimeLink(),
        coordinating=link,
    )
    with TestClient(app, base_url=f"http://{HOST}") as client:
        client.get(f"/coordinate/{link.token}").raise_for_status()

        def load(address: str) -> None:
            answer = client.get(address)
            if answer.status_code != 200:
                raise SystemExit(f"{address} was answered with {answer.status_code}")

        yield load
