"""The bedside display: dated sentences of what has been looked for, and nothing else.

Rules of this file:

- No names, no marking guide, no score, and no truth that nobody has looked for.
- Once the session is over nothing of the baby is shown: the display's code then opens only that,
  and what is to be said of a cot that has not been returned.
- A sensor that reads all the time is told as it is now; anything else with its age.
- What everybody at the cot can see has its line once somebody has told it, if the vocabulary has an
  action that tells it, and is then shown as it is now, never as it was.
- Nothing prompts: what nobody has looked for has no line. What is largest comes first, and what is
  no longer fresh is old.
"""

from __future__ import annotations

from simengine.desk.baby_sentences import reader_at, told_value, trend_words, with_word
from simengine.desk.cot import cot_after_the_end
from simengine.desk.desk_sentences import say
from simengine.desk.marks import clock_of, clock_words
from simengine.desk.scene import (
    Scene,
    curve_of,
    now_of,
    numeric_at,
    stretch_of,
    word_at,
)
from simengine.desk.view import BedsideLine, BedsideView, ClockView, Now, Words
from simengine.quantities import format_quantity
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Observation
from simengine.session.entry_words import opened
from simengine.session.readings import COUNTS
from simengine.session.record import Performance


def bedside_of(scene: Scene, *, equipment: bool) -> BedsideView:
    """Return what a display shows. ``equipment``: there is no real cot to read settings from."""
    fold = scene.fold
    closed = scene.session.closed
    return BedsideView(
        session=scene.session.session_id,
        version=len(fold.events),
        now=now_of(scene),
        clock=clock_of(scene),
        lines=() if closed else _lines(scene),
        equipment=_equipment(scene) if equipment and not closed else (),
        started=True,
        closed=closed,
        cot=cot_after_the_end(scene),
    )


def waiting_bedside(scenario: Scenario, session: str) -> BedsideView:
    """Return what a display shows before the session is opened."""
    event = scenario.start.clock
    return BedsideView(
        session=session,
        version=0,
        now=Now(0, 0, 0, runs=False, paused=False, held=False, paused_ms=0),
        clock=ClockView(event, clock_words(scenario), None, (), scenario.silent_clock),
        lines=(),
        equipment=(),
        started=False,
        closed=None,
        cot=None,
    )


def _lines(scene: Scene) -> tuple[BedsideLine, ...]:
    """The largest first, then what was read, then what a sensor will read."""
    lines = [
        _line(scene, observation) for observation in scene.scenario.vocabulary.observations.values()
    ]
    shown = [line for line in lines if line is not None]
    return tuple(sorted(shown, key=lambda line: (not line.large, not line.taken)))


def _line(scene: Scene, observation: Observation) -> BedsideLine | None:
    """One line; ``None`` for what no state has shown, and for what nobody has looked for."""
    if not _has_value(scene, observation):
        return None
    if not observation.revealed_by:
        return _told_line(scene, observation)
    senses = scene.sensing[observation.name]
    coming = senses.next_reading(scene.now)
    scene.changes_at(coming)
    read = senses.last_reading(scene.now)
    if senses.streams_at(scene.now):
        scene.changes_at(next((e for s, e in senses.streams if s <= scene.now < e), None))
        source = _sensor(scene, observation)
        when = Words("known", say("bedside_from" if source else "bedside_now", source=source))
        return _taken(observation, _now_words(scene, observation), when)
    if read is not None and (value := told_value(scene, observation, read)) is not None:
        reader = reader_at(scene, observation, read)
        source = _label(scene, reader)
        scene.changes_at(read + observation.fresh_ms + 1)
        return _taken(
            observation,
            Words("known", _valued(observation, value)),
            Words(
                "known",
                say("bedside_from_age" if source else "bedside_age", source=source),
                age_from_ms=read,
            ),
            old=scene.now > read + observation.fresh_ms,
        )
    if coming is None:
        return None
    what = Words(
        "unknown", say("bedside_coming", label=opened(observation.label)), left_to_ms=coming
    )
    return BedsideLine(
        observation.name, what, None, taken=False, large=observation.largest, old=False
    )


def _taken(
    observation: Observation, what: Words, when: Words | None, *, old: bool = False
) -> BedsideLine:
    return BedsideLine(observation.name, what, when, taken=True, large=observation.largest, old=old)


def _told_line(scene: Scene, observation: Observation) -> BedsideLine | None:
    telling = {
        action.name
        for action in scene.scenario.vocabulary.actions.values()
        if action.reads == observation.name
    }
    record = scene.session.record
    is_told = (
        not telling
        or any(
            performance.action in telling and performance.way in COUNTS
            for performance in record.performances
        )
        or any(hand.observation == observation.name and hand.shown for hand in record.shown)
    )
    return _taken(observation, _now_words(scene, observation), None) if is_told else None


def _has_value(scene: Scene, observation: Observation) -> bool:
    session, name, now = scene.session, observation.name, scene.now
    return numeric_at(session, name, now) is not None or word_at(session, name, now) is not None


def _valued(observation: Observation, value: str) -> str:
    label = opened(observation.label)
    return with_word(label, value) if observation.words else f"{label} {value}"


def _now_words(scene: Scene, observation: Observation) -> Words:
    label = opened(observation.label)
    segment = stretch_of(scene, observation.name)
    if segment is None:
        word = word_at(scene.session, observation.name, scene.now) or ""
        return Words("known", with_word(label, word))
    trend = trend_words(scene, segment, observation)
    text = f"{label} {{value}}, {trend}" if trend else f"{label} {{value}}"
    return Words("known", text, curve_of(segment, observation))


def _sensor(scene: Scene, observation: Observation) -> str:
    """The sensor that reads now, by its action's label; nothing where it is shown by hand."""
    streaming = {by.action for by in observation.revealed_by if by.streams}
    for name in scene.fold.account.running:
        if name in streaming:
            return scene.scenario.vocabulary.actions[name].label
    return ""


def _label(scene: Scene, performance: Performance | None) -> str:
    if performance is None:
        return ""
    return scene.scenario.vocabulary.actions[performance.action].label


def _equipment(scene: Scene) -> tuple[str, ...]:
    settings = scene.scenario.vocabulary.settings
    out = []
    for name, value in scene.fold.account.values.items():
        setting = settings[name]
        amount = value if isinstance(value, str) else format_quantity(value, setting.unit or "")
        out.append(f"{setting.label} {amount}")
    return tuple(out)
