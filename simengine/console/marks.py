"""The team's clock and its marks."""

from __future__ import annotations

from simengine.console.scene import Scene
from simengine.console.view import ClockView


def clock_of(scene: Scene) -> ClockView:
    """Return the clock, its last mark and those to come."""
    event = scene.scenario.start.clock
    return ClockView(
        event=event,
        words=f"since {event.replace('_', ' ')}" if event else "",
        zero_ms=scene.fold.account.clock_ms,
        marks=(),
        silent=scene.scenario.silent_clock,
    )
