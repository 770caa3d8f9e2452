"""What a session asks of whoever directs it where it has no facilitator."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from simengine.desk.scene import Scene
from simengine.session.events import Kind
from simengine.session.live import LiveSession


class Director(Protocol):
    """Does what a facilitator would, and shows the session to who plays it alone."""

    def due_ms(self, live: LiveSession) -> int | None:
        """Return the log time at which there may be something to do next; ``None`` for never."""

    def next_entry(self, live: LiveSession, now_ms: int) -> tuple[Kind, Mapping[str, Any]] | None:
        """Return what is to be written down at ``now_ms`` (log time); ``None`` for nothing."""

    def view(self, scene: Scene) -> object:
        """Return what is shown to who plays it, as data."""
