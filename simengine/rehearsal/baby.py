"""The baby as who plays alone finds it: by looking, listening, feeling and sensors, in words.

Rules of this file:

- It is what the bedside display shows, and no more; what is in plain sight has its line once
  somebody has looked, and is then told as it is now.
- Beats that were counted are told as they were called out: until then only that they were heard.
- Beats come when the heart beats: their instants follow the true rate while they are listened to.
"""

from __future__ import annotations

from dataclasses import replace

from simengine.desk.baby_sentences import reader_at, spoken_at
from simengine.desk.bedside_view import bedside_of
from simengine.desk.scene import Scene
from simengine.desk.view import BedsideLine, Words
from simengine.quantities.formatting import count, format_duration, format_range
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.play_view import Counting
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.vocabulary import Observation
from simengine.session.dynamics import curve_at
from simengine.session.record import Performance, Segment

_STEP_MS = 10
_MS_PER_MINUTE = 60_000
_ASKED_FOR_MS = 60_000
"""How long after the beats their rate can be called out; later it says nothing of the baby."""


def found_lines(scene: Scene, rules: AloneRules) -> tuple[BedsideLine, ...]:
    """Return a line for all that was found so far, the largest first."""
    looked = {
        name
        for done in scene.session.record.performances
        if done.acts and done.start_ms <= scene.now
        for name in rules.looks.get(done.action, ())
    }
    observations = scene.scenario.vocabulary.observations
    out = []
    for line in bedside_of(scene, equipment=False).lines:
        observation = observations[line.observation]
        if observation.revealed_by or observation.name in looked:
            out.append(_uncounted(scene, line, observation) or line)
    return tuple(out)


def _uncounted(scene: Scene, line: BedsideLine, observation: Observation) -> BedsideLine | None:
    """A line without its figure, where beats were heard and no rate was called out."""
    senses = scene.sensing[observation.name]
    if not observation.bands or senses.streams_at(scene.now):
        return None
    read = senses.last_reading(scene.now)
    if read is None or spoken_at(scene, observation, read) is not None:
        return None
    if not is_counted(observation, reader_at(scene, observation, read)):
        return None
    return replace(line, what=Words("known", say("beats_heard", label=observation.label)))


def is_counted(observation: Observation, done: Performance | None) -> bool:
    """Whether an observation was come by as beats to count."""
    return done is not None and any(
        by.action == done.action and not by.streams for by in observation.revealed_by
    )


def counting_of(scene: Scene) -> Counting | None:
    """Return the beats that are being counted, or whose rate has not been called out yet."""
    counted = [
        (observation, performance)
        for performance in reversed(scene.session.record.performances)
        for observation in scene.scenario.vocabulary.observations.values()
        if observation.bands and is_counted(observation, performance)
    ]
    if not counted:
        return None
    observation, listened = counted[0]
    delay = next(by.delay_ms for by in observation.revealed_by if by.action == listened.action)
    until = listened.start_ms + delay
    if observation.name in listened.spoken or scene.now > until + _ASKED_FOR_MS:
        return None
    scene.changes_at(until + _ASKED_FOR_MS + 1)
    beats = beats_between(scene.session.curves.get(observation.name, ()), listened.start_ms, until)
    scene.changes_at(until)
    return Counting(
        id=listened.event_id,
        observation=observation.name,
        asks=say("called_out", noun=observation.noun or observation.label),
        counted=say("counted", beats=count(len(beats), "beat"), span=format_duration(delay)),
        from_ms=listened.start_ms,
        until_ms=until,
        beats=beats,
        bands=tuple(format_range(band, observation.unit or "") for band in observation.bands),
        unit=observation.unit or "",
    )


def beats_between(segments: tuple[Segment, ...], start_ms: int, end_ms: int) -> tuple[int, ...]:
    """Return when the heart beats between two instants, its rate (/min) being on a curve."""
    beats = []
    phase = 0.5
    for at in range(start_ms, end_ms, _STEP_MS):
        rate = curve_at(segments, at) or 0.0
        phase += max(0.0, rate) * _STEP_MS / _MS_PER_MINUTE
        if phase >= 1.0:
            phase -= 1.0
            beats.append(at)
    return tuple(beats)
