"""The picture in words: the sentences above it, and the text in its place.

Rules of this file:

- Made from the same scene that is drawn, so that it can't say something else.
- It says what is seen, with instants and numbers, and does not explain.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.debrief.debrief_sentences import say
from simengine.debrief.scene import Curve, Row, Scene
from simengine.debrief.words import protocol_lines
from simengine.quantities import Range, format_quantity
from simengine.quantities.formatting import clock, count, format_range
from simengine.session.arrival import Arrival
from simengine.session.read_arrivals import read_arrivals
from simengine.session.record import Change, Session


def _clock(seconds: float) -> str:
    return clock(round(1000 * seconds))


def picture_sentences(session: Session, scene: Scene) -> tuple[str, ...]:
    """Return up to three sentences that open the picture."""
    sentences = []
    if scene.curves:
        sentences.append(_course(scene.curves[0]))
        unseen = [curve.label for curve in scene.curves if not any(p.known for p in curve.pieces)]
        if len(scene.curves) > 1 and scene.curves[1].label not in unseen:
            sentences.append(_course(scene.curves[1]))
        elif unseen:
            sentences.append(say("picture_no_sensor", label=unseen[0]))
    faults = [event for event in session.record.faults if event.status != "planted"]
    planted = len(session.scenario.start.faults)
    if planted:
        known = len({event.fault for event in faults})
        right = len({event.fault for event in faults if event.status == "mended"})
        sentences.append(
            say(
                "picture_faults",
                planted_faults=count(planted, "planted fault"),
                known=known,
                right=right,
            )
        )
    return tuple(sentences[:3])


def picture_note(session: Session, scene: Scene, other: Session | None = None) -> str:
    """Return what stands below the picture: its caution, and what is turned that comes late.

    ``other``: another course that the picture shows too.
    """
    protocol = " ".join(protocol_lines(session.scenario.protocol)[::2])
    sentences = [say("picture_note", protocol=protocol)]
    settings = session.scenario.vocabulary.settings
    records = [course.record for course in (session, other) if course is not None]
    arrivals, _ = read_arrivals(session.events[0], settings) if session.events else ({}, ())
    for arrival in arrivals.values() if scene.curves else ():
        if any(_was_turned(arrival, record.changes.get(arrival.setting, ())) for record in records):
            spans = [delay_ms / 1000 for _, delay_ms in arrival.delays]
            span = format_range(Range(min(spans), max(spans)), "s")
            sentences.append(
                say("picture_arrives", setting=settings[arrival.setting].noun, span=span)
            )
    return " ".join(sentences)


def _was_turned(arrival: Arrival, changes: Sequence[Change]) -> bool:
    stands = (arrival.found, *(change.value for change in changes))
    return any(
        change.touched and change.value != before
        for before, change in zip(stands, changes, strict=False)
    )


def _course(curve: Curve) -> str:
    points = [
        (time, value)
        for piece in curve.pieces
        for time, value in zip(piece.times, piece.values, strict=True)
    ]
    if not points:
        return say("course_no_values", label=curve.label)
    low = min(points, key=lambda point: point[1])
    last = points[-1]
    lowest = _number(low[1], curve.unit, curve.decimals)
    ended = _number(last[1], curve.unit, curve.decimals)
    return say(
        "course",
        label=curve.label,
        lowest=lowest,
        low=_clock(low[0]),
        ended=ended,
        last=_clock(last[0]),
    )


def _number(value: float, unit: str, decimals: int = 0) -> str:
    return format_quantity(value, unit, decimals)


def picture_alt(scene: Scene) -> str:
    """Return the text that stands in the picture's place."""
    parts = [
        say("alt_timeline", start=_clock(scene.start), end=_clock(scene.end)),
        say("alt_states")
        + ", ".join(
            say("alt_from", words=band.words, start=_clock(band.start))
            for band in scene.states.bands
        )
        + ".",
    ]
    parts += [
        f"{strip.label}: "
        + ", ".join(
            say("alt_from", words=band.words, start=_clock(band.start)) for band in strip.bands
        )
        + "."
        for strip in scene.strips
    ]
    parts += [_curve_alt(curve) for curve in scene.curves]
    for panel in scene.settings:
        for line in panel.lines:
            steps = ", ".join(
                say("alt_setting_from", words=words, time=_clock(time))
                for time, _, words in line.points
            )
            parts.append(f"{line.label}, {panel.unit}: {steps}.")
    if scene.unchanged:
        parts.append(say("alt_unchanged", unchanged=scene.unchanged))
    parts += [_row_alt(row) for row in scene.rows]
    return " ".join(parts)


def _curve_alt(curve: Curve) -> str:
    text = _course(curve)
    known = [piece for piece in curve.pieces if piece.known]
    if known:
        text += say("alt_sensor_from", start=_clock(known[0].times[0]))
    if curve.readings:
        readings = ", ".join(
            say("alt_reading", value=_number(value, curve.unit, curve.decimals), time=_clock(time))
            for time, value in curve.readings
        )
        text += f" {count(len(curve.readings), 'single reading')}: {readings}."
    if not known and not curve.readings:
        text += say("alt_never_known")
    for threshold in curve.thresholds:
        text += say("alt_threshold", words=threshold.words)
    if curve.target:
        rows = ", ".join(
            say(
                "alt_target_from",
                target=_target_words(step.low, step.high, curve.unit),
                start=_clock(step.start),
            )
            for step in curve.target.steps
        )
        text += f" {curve.target.words[:1].upper()}{curve.target.words[1:]}: {rows}."
    return text


def _target_words(low: float | None, high: float | None, unit: str) -> str:
    if low is None:
        return say("alt_at_most", high=_number(high or 0.0, unit))
    if high is None:
        return say("alt_at_least", low=_number(low, unit))
    return say("alt_between", low=_number(low, ""), high=_number(high, unit))


def _row_alt(row: Row) -> str:
    marks = []
    for entry in row.entries:
        when = ", ".join(_clock(instant) for instant in (entry.start, *entry.again))
        if entry.bar and entry.end is not None:
            when = say("alt_lasting", when=when, end=_clock(entry.end))
        words = (
            entry.words if entry.sign.word in entry.words else f"{entry.words} ({entry.sign.word})"
        )
        marks.append(f"{words} {when}")
    return f"{row.label}: {', '.join(marks)}."
