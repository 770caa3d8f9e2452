"""What the desk's pages share beside what all pages do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from starlette.requests import Request

from simengine.desk.hub import Hub
from simengine.desk.keep_results import Results
from simengine.desk.running import Running
from simengine.desk.stream_limits import StreamLimits


@dataclass(frozen=True, slots=True)
class DeskState:
    """The live sessions, their results, and how many streams may be open.

    ``by_wall``: finds the session that the code of a debriefing room's wall opens.
    """

    hub: Hub
    results: Results
    stream_limits: StreamLimits
    by_wall: Callable[[str], Running | None]


def desk_of(request: Request) -> DeskState:
    """Return the desk's parts."""
    desk = request.app.state.desk
    assert isinstance(desk, DeskState)
    return desk
