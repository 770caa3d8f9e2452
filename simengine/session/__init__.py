"""Sessions: the log, its fold into states and curves, live, replayed and at full speed."""

from simengine.session.events import Event, Kind
from simengine.session.fold import fold
from simengine.session.live import LiveSession, RefusedError
from simengine.session.play import Timed, opening, play
from simengine.session.record import Session

__all__ = [
    "Event",
    "Kind",
    "LiveSession",
    "RefusedError",
    "Session",
    "Timed",
    "fold",
    "opening",
    "play",
]
