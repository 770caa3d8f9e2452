"""What each device would take back next, or bring back, in words.

Rules of this file:

- A step is told as the entry stands now; a correction by what it corrects.
- Somebody is asked before a named event or a state is taken back: the baby goes back with it.
- Each device is told its last ``MOST`` steps.
"""

from __future__ import annotations

from simengine.desk.scene import Scene
from simengine.desk.view import StepsView, StepView
from simengine.session.entry_words import entry_words, plain
from simengine.session.undo import StepBack, steps_back

MOST = 12
_ASKS = frozenset(("event", "state"))


def steps_of(scene: Scene) -> dict[str, StepsView]:
    """Return the steps of each device, by its key."""
    standing = {event.id: event for event in scene.session.effective}
    known = {event.id: event for event in scene.fold.events} | standing

    def told(step: StepBack) -> StepView:
        entry = known.get(step.of)
        words = entry_words(scene.scenario, entry) if entry is not None else ""
        if step.kind == "amend":
            words = f"The correction of {plain(words)}" if words else "A correction"
        return StepView(
            way=step.way,
            id=step.id,
            kind=step.kind,
            again=step.again,
            at_ms=step.at_ms,
            data=step.data,
            until_ms=step.until_ms,
            taken_by=step.taken_by,
            words=words,
            asks=step.kind in _ASKS,
        )

    return {
        device: StepsView(
            undo=tuple(told(step) for step in steps.undo[-MOST:]),
            redo=tuple(told(step) for step in steps.redo[-MOST:]),
        )
        for device, steps in steps_back(scene.fold.events).items()
    }
