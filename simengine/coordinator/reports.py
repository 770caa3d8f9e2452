"""Cohort reports, made on demand in a process of their own, and kept until they are made anew.

Rules of this file:

- A page that shows a report reads files that are there; no page waits for one to be made.
- A report for the coordinator holds trainee codes; one for others (``published``) does not. Which
  of them a report is goes with it.
- All go once a person is erased.
"""

from __future__ import annotations

import asyncio
import hashlib
import logging
import shutil
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal

import orjson

from simengine.store import Store
from simengine.web.own_process import EndedBadlyError, ran

MADE, WEB_PAGE, PDF = "made.json", "report.html", "report.pdf"

_LOG = logging.getLogger("simengine.console")
_COMMAND = "from simengine.coordinator.make_report import main; main()"

State = Literal["none", "making", "made", "failed"]


@dataclass(frozen=True, slots=True)
class Asked:
    """Which report: of a unit (``None``: all), both days counted. ``published``: without codes."""

    unit: str | None
    since: date
    until: date
    published: bool

    @property
    def key(self) -> str:
        """The name of its folder, which tells nothing."""
        chosen = orjson.dumps([self.unit, self.since, self.until, self.published])
        return hashlib.sha256(chosen).hexdigest()[:24]


class Reports:
    """Makes reports of ``store`` below ``folder``, one at a time."""

    def __init__(self, folder: Path, store: Store) -> None:
        self._folder = folder
        self._store = store
        self._making: dict[str, asyncio.Task[None]] = {}
        self._one_at_a_time = asyncio.Semaphore(1)

    def state(self, key: str) -> State:
        """Return how far a report is."""
        task = self._making.get(key)
        if task is not None and not task.done():
            return "making"
        if task is not None and (task.cancelled() or task.exception() is not None):
            return "failed"
        return "made" if (self._folder / key / MADE).is_file() else "none"

    def made(self, key: str) -> dict[str, Any] | None:
        """Return what a report says on its first page, ``None`` where it has not been made."""
        file = self._folder / key / MADE
        if len(key) != len(Asked(None, date.min, date.min, False).key) or not key.isalnum():
            return None
        return orjson.loads(file.read_bytes()) if file.is_file() else None

    def file(self, key: str, name: str) -> Path | None:
        """Return a file of a report that has been made: page, PDF or one of its pictures."""
        made = self.made(key)
        known = (
            ()
            if made is None
            else (WEB_PAGE, PDF, *(f"{picture}.svg" for picture in made["pictures"]))
        )
        return self._folder / key / name if name in known else None

    def begin(self, asked: Asked, *, today: date, when: str) -> None:
        """Begin to make a report anew, unless it is being made."""
        if self.state(asked.key) == "making":
            return
        order = {
            "where": self._where(),
            "title": asked.unit or "all units",
            "unit": asked.unit,
            "since": asked.since,
            "until": asked.until,
            "today": today,
            "when": when,
            "published": asked.published,
            "folder": str(self._folder / asked.key),
        }
        self._making[asked.key] = asyncio.create_task(self._make(orjson.dumps(order)))

    async def finished(self, key: str) -> None:
        """Wait until a report that is being made is there, or has failed."""
        if key in self._making:
            await asyncio.wait([self._making[key]])

    def forget(self) -> None:
        """Remove every report."""
        for task in self._making.values():
            task.cancel()
        self._making.clear()
        shutil.rmtree(self._folder, ignore_errors=True)

    async def stop(self) -> None:
        """Give up what is still being made."""
        tasks = list(self._making.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    def _where(self) -> str:
        url = self._store.engine.url
        if url.drivername == "sqlite":
            return str(Path(str(url.database)).parent)
        return url.set(drivername="postgresql").render_as_string(hide_password=False)

    async def _make(self, order: bytes) -> None:
        async with self._one_at_a_time:
            try:
                await ran(_COMMAND, told=order)
            except EndedBadlyError as error:
                _LOG.error("cohort report: %s", error)
                raise RuntimeError("the report could not be made") from error
