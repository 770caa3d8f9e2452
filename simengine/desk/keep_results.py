"""What the store knows of each ended session: scored in the background, kept as its result.

Rules of this file:

- A session is scored once it has ended, and again after whatever is recorded later (a correction,
  a confirmation, a signature), so that the cohort's pages always show the record as it stands.
- Scoring takes half a second with its thousand redraws: it is done in a thread, one session at a
  time, and no running session waits for it.
- A result is a cache: one that could not be made is told in the log file, and made when next asked.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Sequence
from pathlib import Path

from simengine.desk.hub import Hub, NoSessionError
from simengine.desk.running import Running
from simengine.desk.scene import Scene
from simengine.exchange.as_run import remember
from simengine.exchange.scoring_jobs import kept_of
from simengine.scoring import ScoreCard, score
from simengine.session.record import Session
from simengine.store import Store, StoreError

_MOST_LATE = 50
_LOG = logging.getLogger("simengine.console")


class Results:
    """Keeps the results of ended sessions in ``store``, and the files of what they ran.

    ``folders``: where scenarios are, before the shipped ones. ``kept`` is given each session with
    its card, from the thread that scored it.
    """

    def __init__(
        self,
        store: Store,
        folders: Sequence[Path],
        kept: Callable[[Session, ScoreCard], None],
    ) -> None:
        self._store = store
        self._card_kept = kept
        self._folders = folders
        self._waiting: dict[str, Running] = {}
        self._task: asyncio.Task[None] | None = None

    async def catch_up(self, hub: Hub) -> None:
        """Make the results that the server was ended before; of sessions that were run here."""
        for session in (await asyncio.to_thread(self._store.without_result))[:_MOST_LATE]:
            try:
                running = hub.running(session)
            except NoSessionError:
                continue
            if running.closed and not running.changed:
                self.renew(running)
                await self.made()

    def renew(self, running: Running) -> None:
        """Have a session's result made from its record as it stands now."""
        self._waiting[running.plan.session] = running
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._make())

    async def made(self) -> None:
        """Wait until every result that was asked for has been made."""
        while self._task is not None and not self._task.done():
            await asyncio.shield(self._task)

    async def stop(self) -> None:
        """Let the one that is being made be finished, and give up the others."""
        self._waiting.clear()
        await self.made()

    async def _make(self) -> None:
        while self._waiting:
            _, running = self._waiting.popitem()
            live = running.live
            if live is None or running.changed:
                continue
            # what is scored is frozen; the live engine may go on meanwhile
            session = Scene(live.fold, running.log_ms(), running.opened_at_ms).session
            try:
                await asyncio.to_thread(self._keep, session, running.plan.unit or None)
            except StoreError as error:
                _LOG.error("result of %s: %s", running.plan.session, error)

    def _keep(self, session: Session, unit: str | None) -> None:
        card = score(session)
        self._card_kept(session, card)
        kept = kept_of(session, card, unit=unit)
        self._store.put_result(kept.result, kept.card)
        remember(self._store, session.events[0].data, self._folders)
