"""The baby as a sentence: what is true, beside what the team knows and how old that is.

Rules of this file:

- An observation has its place as soon as a state has shown it.
- A trend is told while the figure still moves: until half of its last digit is left to go.
- What the team knows is what a person told with the action, else what could be read then.
- What everybody at the cot can see is not told twice.
"""

from __future__ import annotations

from math import ceil, log

from simengine.desk.desk_sentences import say
from simengine.desk.scene import Scene, curve_of, stretch_of, value_words, word_at
from simengine.desk.view import Told, Words
from simengine.scenario.vocabulary import Observation
from simengine.session.entry_words import plain, reading_words
from simengine.session.readings import true_value
from simengine.session.record import Performance, Reading, Segment


def baby_of(scene: Scene) -> tuple[Told, ...]:
    """Return the sentence, one part for each observation that has been shown."""
    observations = scene.scenario.vocabulary.observations.values()
    out = []
    # What everybody sees opens the sentence, as a person would say it.
    for observation in sorted(observations, key=lambda observation: bool(observation.revealed_by)):
        true = _true(scene, observation)
        if true is not None:
            known = _known(scene, observation) if observation.revealed_by else None
            out.append(Told(observation.name, observation.label, observation.largest, true, known))
    return tuple(out)


def trend_words(scene: Scene, segment: Segment, observation: Observation) -> str:
    """Return ``rising``, ``falling`` or nothing, and have the view sent anew when it ends."""
    rest = abs(segment.target - segment.value)
    small = 0.5 * 10.0**-observation.decimals
    if segment.tau_ms is None or rest <= small:
        return ""
    ends = segment.start_ms + ceil(segment.tau_ms * log(rest / small))
    if scene.now >= ends:
        return ""
    scene.changes_at(ends)
    return say("rising" if segment.target > segment.value else "falling")


def _true(scene: Scene, observation: Observation) -> Words | None:
    segment = stretch_of(scene, observation.name)
    if segment is not None:
        trend = trend_words(scene, segment, observation)
        text = say(
            "true_value_moving" if trend else "true_value",
            label=plain(observation.label),
            trend=trend,
        )
        return Words("true", text, curve_of(segment, observation))
    word = word_at(scene.session, observation.name, scene.now)
    return None if word is None else Words("true", with_word(plain(observation.label), word))


def with_word(label: str, word: str) -> str:
    """Tell an observation in words: ``tone floppy``, but ``reflex response: none``."""
    return say("true_word_after" if " " in label else "true_word", label=label, word=word)


def _known(scene: Scene, observation: Observation) -> Words:
    senses = scene.sensing[observation.name]
    coming = senses.next_reading(scene.now)
    scene.changes_at(coming)
    if senses.streams_at(scene.now):
        scene.changes_at(next((e for s, e in senses.streams if s <= scene.now < e), None))
        return Words("known", say("known_streaming"))
    read = senses.last_reading(scene.now)
    if read is not None:
        value = told_value(scene, observation, read)
        if value is not None:
            return Words(
                "known",
                say("known_read" if coming is None else "known_read_next", value=value),
                age_from_ms=read,
                left_to_ms=coming,
            )
    if coming is not None:
        return Words("unknown", say("known_coming"), left_to_ms=coming)
    return Words("unknown", say("known_not"))


def told_value(scene: Scene, observation: Observation, read_ms: int) -> str | None:
    """Return in words what a reading gave: as a person told it, else as it was."""
    spoken = spoken_at(scene, observation, read_ms)
    if spoken is not None:
        if isinstance(spoken.value, float) and spoken.unit is None and observation.unit:
            return value_words(spoken.value, observation)
        return reading_words(spoken)
    session = scene.session
    value = true_value(observation.name, session.curves, session.words, read_ms)
    return None if value is None else value_words(value, observation)


def reader_at(scene: Scene, observation: Observation, read_ms: int) -> Performance | None:
    """Return the performance that gave the reading of an instant, if an action did."""
    if any(
        hand.observation == observation.name and hand.shown and hand.at_ms == read_ms
        for hand in scene.session.record.shown
    ):
        return None
    delays = {by.action: by.delay_ms for by in observation.revealed_by}
    for performance in reversed(scene.session.record.performances):
        delay = delays.get(performance.action)
        if delay is not None and performance.start_ms + delay <= read_ms:
            return performance
    return None


def spoken_at(scene: Scene, observation: Observation, read_ms: int) -> Reading | None:
    """Return what was told with the action that gave the reading of an instant."""
    performance = reader_at(scene, observation, read_ms)
    return performance.spoken.get(observation.name) if performance is not None else None
