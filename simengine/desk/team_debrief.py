"""The team's debrief of a session that was run here, begun as soon as it ends."""

from __future__ import annotations

import asyncio
import logging

from simengine.desk.running import READ_ONLY, Running
from simengine.web.make_debriefs import DebriefError, Debriefs, Made

_LOG = logging.getLogger("simengine.console")


async def team_debrief(debriefs: Debriefs, running: Running) -> Made:
    """Return the debrief of a session as its log stands. Raises ``DebriefError``."""
    return await asyncio.shield(_begin(debriefs, running))


def begin_at_end(debriefs: Debriefs, running: Running) -> None:
    """Begin to make the debrief of a session that has just ended; whoever asks is told."""
    try:
        _begin(debriefs, running)
    except (OSError, LookupError) as error:
        _LOG.error("debrief of %s: %s", running.plan.session, error)


def _begin(debriefs: Debriefs, running: Running) -> asyncio.Task[Made]:
    live = running.live
    if live is None:
        raise DebriefError("The session has not been opened yet.")
    if running.changed:
        raise DebriefError(f"{READ_ONLY} {running.changed}.")
    return debriefs.begin(running.plan.session, live.events, running.plan.scenario)
