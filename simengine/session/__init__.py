"""Sessions: the log, its fold into states and curves, live, replayed and at full speed."""

from simengine.session.events import Event, Kind
from simengine.session.fold import fold
from simengine.session.full_speed import Timed, opening, play
from simengine.session.live import LiveSession, RefusedError
from simengine.session.log_file import LogWriter, read_log, read_log_file, write_log
from simengine.session.record import Session
from simengine.session.replay import Moment, curve_columns, curve_rows, state_at
from simengine.session.verify import verify_log

__all__ = [
    "Event",
    "Kind",
    "LiveSession",
    "LogWriter",
    "Moment",
    "RefusedError",
    "Session",
    "Timed",
    "curve_columns",
    "curve_rows",
    "fold",
    "opening",
    "play",
    "read_log",
    "read_log_file",
    "state_at",
    "verify_log",
    "write_log",
]
