"""The team's debrief of a session that was run here, begun as soon as it ends, and its what-ifs."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Sequence
from pathlib import Path

from simengine.desk.running import READ_ONLY, Running
from simengine.session.events import Event
from simengine.web.make_debriefs import DebriefError, Debriefs, Made

_LOG = logging.getLogger("simengine.console")


async def team_debrief(debriefs: Debriefs, running: Running) -> Made:
    """Return the debrief of a session as its log stands. Raises ``DebriefError``."""
    return await asyncio.shield(_begin(debriefs, running))


async def team_what_if(debriefs: Debriefs, running: Running, item: str) -> Path:
    """Return the page that answers "what if?" for an item.

    Raises ``DebriefError``, and ``RefusalError`` where the scenario has no such item.
    """
    plan, scenario = running.plan, running.scenario
    guide = {known.id for known in (*scenario.key, *scenario.never)}
    return await debriefs.what_if(plan.session, _log(running), plan.scenario, item, guide)


def begin_at_end(debriefs: Debriefs, running: Running) -> None:
    """Begin to make the debrief of a session that has just ended; whoever asks is told."""
    try:
        _begin(debriefs, running)
    except (OSError, LookupError) as error:
        _LOG.error("debrief of %s: %s", running.plan.session, error)


def _begin(debriefs: Debriefs, running: Running) -> asyncio.Task[Made]:
    return debriefs.begin(running.plan.session, _log(running), running.plan.scenario)


def _log(running: Running) -> Sequence[Event]:
    live = running.live
    if live is None:
        raise DebriefError("The session has not been opened yet.")
    if running.changed:
        raise DebriefError(f"{READ_ONLY} {running.changed}.")
    return live.events
