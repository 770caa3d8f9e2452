"""The team's clock and its marks.

Rules of this file:

- When marks come and what falls due at them stands in ``clock_marks.yaml``, not here.
- A view tells the last mark passed and those of the next half hour; it is sent anew at each mark.
"""

from __future__ import annotations

from dataclasses import replace

from simengine.desk.clock_marks import PlannedMark, marks_of
from simengine.desk.scene import Scene
from simengine.desk.view import ClockView, Mark
from simengine.quantities import format_duration
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action

_AHEAD_MS = 30 * 60_000


def clock_of(scene: Scene) -> ClockView:
    """Return the clock, its last mark and those to come."""
    scenario = scene.scenario
    zero = scene.fold.account.clock_ms
    marks: tuple[Mark, ...] = ()
    if zero is not None:
        every = [
            _told(scene, mark, zero)
            for mark in marks_of(scenario.start.clock).until(_AHEAD_MS + scene.now - zero)
        ]
        passed = [mark for mark in every if mark.at_ms <= scene.now]
        to_come = [mark for mark in every if mark.at_ms > scene.now]
        marks = (*passed[-1:], *to_come)
        scene.changes_at(to_come[0].at_ms if to_come else None)
    return ClockView(
        event=scenario.start.clock,
        words=clock_words(scenario),
        zero_ms=zero,
        marks=marks,
        silent=scenario.silent_clock,
    )


def clock_words(scenario: Scenario) -> str:
    """Tell since when the clock runs: ``since birth``."""
    event = scenario.start.clock
    return f"since {event.replace('_', ' ')}" if event else ""


def _told(scene: Scene, planned: PlannedMark, zero: int) -> Mark:
    minutes, rest = divmod(planned.at_ms, 60_000)
    words = format_duration(planned.at_ms) if rest else f"{minutes} min"
    mark = Mark(zero + planned.at_ms, words)
    action = scene.scenario.vocabulary.actions.get(planned.prompt)
    if action is None:
        return mark
    last = _last_told(scene, action)
    if last in planned.until_told:
        return mark
    due = planned.words if last is not None else planned.if_not_told or planned.words
    return replace(mark, prompts=action.name, prompt_words=due)


def _last_told(scene: Scene, action: Action) -> str | None:
    """Return what was last told with an action, if anything was."""
    if action.reads is None:
        return None
    for done in reversed(scene.session.record.performances):
        if done.action == action.name and action.reads in done.spoken:
            spoken = done.spoken[action.reads].value
            return spoken if isinstance(spoken, str) else f"{spoken:g}"
    return None
