"""What comes next: each way out of the present state, and what it still waits for.

Rules of this file:

- Conditions are judged by the engine's own evaluator, over the record as known now.
- The parts that all must hold are told one by one, each with whether it holds.
- A step that comes by itself and leads to a deteriorating state is announced ``WARNING_MS``
  before, so that a recorder who is behind can hold it.
"""

from __future__ import annotations

from simengine.desk.desk_sentences import say
from simengine.desk.scene import Scene
from simengine.desk.view import Coming, StateView, Wait
from simengine.quantities import format_duration
from simengine.scenario.conditions import All, ClockIs, Condition
from simengine.scenario.model import Transition
from simengine.scenario.words import condition_words, transition_words
from simengine.session.record import NEVER
from simengine.session.truth import truth

WARNING_MS = 10_000


def coming_of(scene: Scene) -> tuple[Coming, ...]:
    """Return the ways out of the present state, in the order listed there."""
    if scene.fold.closed is not None or scene.fold.stay is None:
        return ()
    state = scene.scenario.states[scene.fold.state]
    return tuple(_coming(scene, transition) for transition in state.next)


def states_of(scene: Scene) -> tuple[StateView, ...]:
    """Return all states, for a facilitator who goes to one."""
    here = scene.fold.state
    return tuple(
        StateView(state.name, state.title, state.ends, state.name == here)
        for state in scene.scenario.states.values()
    )


def _coming(scene: Scene, transition: Transition) -> Coming:
    stay = scene.fold.stay
    assert stay is not None
    vocabulary = scene.scenario.vocabulary
    to = scene.scenario.states[transition.to]
    earliest = stay.entry_ms + (transition.after_ms or 0)
    since, due = _due(scene, transition, stay.entry_ms, earliest)
    worsens = to.trend == "deteriorating"
    warns = max(due - WARNING_MS, stay.entry_ms) if due is not None and worsens else None
    for instant in (since, due, warns):
        scene.changes_at(instant)
    return Coming(
        index=transition.index,
        to=transition.to,
        to_title=to.title,
        words=transition.words or transition_words(transition, vocabulary),
        waits=_waits(scene, transition, earliest),
        due_ms=due,
        holds_since_ms=since if since is not None and since <= scene.now else None,
        lasting_ms=transition.lasting_ms,
        worsens=worsens,
        warns_from_ms=warns,
        on=transition.on,
    )


def _due(
    scene: Scene, transition: Transition, entry: int, earliest: int
) -> tuple[int | None, int | None]:
    """Since when (or from when) the condition holds, and when the step is due by itself."""
    if transition.when is None:
        return None, (earliest if transition.on is None else None)
    for start, end in truth(transition.when, scene.fold.timeline, entry, NEVER):
        if end <= scene.now:
            continue
        due = max(start + transition.lasting_ms, earliest)
        if due >= end or transition.on is not None:
            return start, None
        return start, max(due, scene.now)
    return None, None


def _waits(scene: Scene, transition: Transition, earliest: int) -> tuple[Wait, ...]:
    waits = []
    if transition.on is not None:
        waits.append(Wait(transition.on.replace("_", " "), False))
    when = transition.when
    if when is not None:
        parts = when.parts if isinstance(when, All) else (when,)
        for part in parts:
            words = condition_words(part, scene.scenario.vocabulary)
            if isinstance(part, ClockIs) and _is_over(scene, part):
                words = say("waits_passed", condition=words)
            waits.append(Wait(words, _holds(scene, part)))
    if transition.after_ms is not None:
        words = say("waits_after", span=format_duration(transition.after_ms))
        waits.append(Wait(words, scene.now >= earliest))
    return tuple(waits)


def _is_over(scene: Scene, condition: ClockIs) -> bool:
    """Whether the clock, which never runs back, has left the wanted range."""
    stay = scene.fold.stay
    assert stay is not None
    timeline = scene.fold.timeline
    stretches = truth(condition, timeline, stay.entry_ms, NEVER)
    return timeline.clock_ms is not None and all(end <= scene.now for _, end in stretches)


def _holds(scene: Scene, condition: Condition) -> bool:
    """Whether a condition holds now; when it turns by itself, the view is sent anew."""
    stay = scene.fold.stay
    assert stay is not None
    stretches = truth(condition, scene.fold.timeline, stay.entry_ms, NEVER)
    for start, end in stretches:
        if start > scene.now:
            scene.changes_at(start)
            return False
        if end > scene.now:
            scene.changes_at(end)
            return True
    return False
