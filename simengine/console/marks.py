"""The team's clock and its marks."""

from __future__ import annotations

from simengine.console.scene import Scene
from simengine.console.view import ClockView
from simengine.scenario.model import Scenario


def clock_of(scene: Scene) -> ClockView:
    """Return the clock, its last mark and those to come."""
    return ClockView(
        event=scene.scenario.start.clock,
        words=clock_words(scene.scenario),
        zero_ms=scene.fold.account.clock_ms,
        marks=(),
        silent=scene.scenario.silent_clock,
    )


def clock_words(scenario: Scenario) -> str:
    """Tell since when the clock runs: ``since birth``."""
    event = scenario.start.clock
    return f"since {event.replace('_', ' ')}" if event else ""
