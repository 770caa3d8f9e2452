"""The shipped sessions, opened once for a benchmark."""

from simengine.resources import scenarios_dir
from simengine.session.from_file import open_session
from simengine.session.record import Session


def sessions() -> dict[str, Session]:
    """Return each shipped session by the name of its file."""
    logs = sorted((scenarios_dir() / "sessions").glob("*.session.jsonl"))
    return {log.name.removesuffix(".session.jsonl"): open_session(log).session for log in logs}
