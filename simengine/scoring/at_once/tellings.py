"""What the team knew and said in every redraw: the array form of ``knowledge``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simengine.scenario.vocabulary import Observation
from simengine.scoring.at_once.resamples import Resamples, shown_by_hand
from simengine.scoring.at_once.runs import Runs, in_order
from simengine.scoring.at_once.stretches import Flags, Floats, Ints
from simengine.scoring.card import EQUAL
from simengine.scoring.knowledge import SAYING, band_of
from simengine.session.record import NEVER, Reading


@dataclass(frozen=True, eq=False)
class Tellings:
    """Each time that a value was said: ``near`` and ``far`` as runs at the instant that counts.

    ``said`` and ``wrong``: when each far one was said, in no order.
    """

    near: Runs
    far: Runs
    wrongly_said: Ints


def readings_of(redraws: Resamples, observation: str) -> Runs:
    """Return every reading of an observation: a snapshot as one instant, a stream as a stretch."""
    readings = redraws.known.get(observation)
    if readings is None:
        readings = redraws.known[observation] = _readings_now(redraws, observation)
    return readings


def tellings_of(redraws: Resamples, observation: str) -> Tellings:
    """Return each time that a value of an observation was said."""
    tellings = redraws.told.get(observation)
    if tellings is None:
        tellings = redraws.told[observation] = _tellings_now(redraws, observation)
    return tellings


def _readings_now(redraws: Resamples, observation: str) -> Runs:
    plan = redraws.plan
    sources: list[Any] = []
    seqs: list[int] = []
    starts: list[Ints] = []
    stops: list[Ints] = []
    for by in plan.observations[observation].revealed_by:
        runs = redraws.runs((by.action,))
        for known, start, stop in _by_source(redraws, runs):
            if known.way not in ("done", "simulated"):
                continue
            readable = start + by.delay_ms
            if known.momentary:
                reads = start < NEVER
                end = redraws.same(NEVER) if by.streams else readable
            else:
                reads = (start < NEVER) & (readable < stop)
                end = stop if by.streams else readable
            reads = reads & (readable <= plan.end)
            sources.append(known)
            seqs.append(known.seq)
            starts.append(np.where(reads, readable, NEVER))
            stops.append(end)
    for begin, stop_ms, place in shown_by_hand(plan, observation):
        hand = plan.shown[place]
        sources.append(hand)
        seqs.append(hand.seq)
        starts.append(redraws.same(begin if begin <= plan.end else NEVER))
        stops.append(redraws.same(stop_ms))
    return in_order(sources, seqs, redraws.rows(starts), redraws.rows(stops))


def _by_source(redraws: Resamples, runs: Runs) -> list[tuple[Any, Ints, Ints]]:
    """Return (source, start, stop) in the order of the sources."""
    start, stop = runs.start, runs.stop
    if runs.which is not None:
        back = np.argsort(runs.which, axis=0)
        start = np.take_along_axis(start, back, axis=0)
        stop = np.take_along_axis(stop, back, axis=0)
    return list(zip(runs.sources, start, stop, strict=True))


def _tellings_now(redraws: Resamples, observation: str) -> Tellings:
    plan = redraws.plan
    entry = plan.observations[observation]
    delays = {by.action: by.delay_ms for by in entry.revealed_by}
    sensed = redraws.readings(observation)
    sources: list[Any] = []
    at: list[Ints] = []
    near: list[Flags] = []
    wrongly: list[Ints] = []
    for action in plan.telling.get(observation, ()):
        for known, spoken_at, stop in _by_source(redraws, redraws.runs((action,))):
            value = known.performance.spoken.get(observation)
            if value is None or known.performance.way not in SAYING:
                continue
            there = spoken_at < NEVER
            read = sensed.last_reading(np.where(there, spoken_at, 0))
            if action in delays:
                readable = np.where(there, spoken_at + delays[action], 0)
                own = there if known.momentary else there & (readable < stop)
                read = np.where(own, readable, read)
            is_telling = there & (read >= 0)
            is_near = _is_near(
                redraws, entry, value, np.where(is_telling, spoken_at, 0), np.maximum(read, 0)
            )
            sources.append(known)
            at.append(np.where(is_telling, np.maximum(spoken_at, read), NEVER))
            near.append(is_near)
            wrongly.append(np.where(is_telling & ~is_near, spoken_at, NEVER))
    seqs = [known.seq for known in sources]
    counts = redraws.rows(at)
    nears = np.stack(near) if near else np.zeros((0, redraws.number), np.bool_)
    near_at = np.where(nears, counts, NEVER)
    far_at = np.where(nears, NEVER, counts)
    return Tellings(
        in_order(sources, seqs, near_at, near_at),
        in_order(sources, seqs, far_at, far_at),
        redraws.rows(wrongly),
    )


def _is_near(
    redraws: Resamples, entry: Observation, value: Reading, spoken_at: Ints, read: Ints
) -> Flags:
    """Whether a value was near the truth as it was said or as it was read."""
    session = redraws.plan.session
    if entry.name in session.curves:
        truths = [_curve_at(session.curves[entry.name], instant) for instant in (spoken_at, read)]
        known = [~np.isnan(true) for true in truths]
        if entry.told_within is None:
            return redraws.flags(value=True)
        band = band_of(value, entry.unit)
        if band is None:
            near = [redraws.flags(), redraws.flags()]
        else:
            near = [
                _distance(band.low, band.high, true) <= entry.told_within + EQUAL for true in truths
            ]
    else:
        words = session.words.get(entry.name, ())
        places = [_word_at(words, instant) for instant in (spoken_at, read)]
        known = [place >= 0 for place in places]
        same = np.array([str(value.value) == word for _, word in words] or [False])
        near = [same[np.maximum(place, 0)] for place in places]
    out: Flags = (known[0] & near[0]) | (known[1] & near[1]) | ~(known[0] | known[1])
    return out


def _distance(low: float, high: float, values: Floats) -> Floats:
    """How far values lie outside a range, see ``Range.distance``."""
    from simengine.quantities.ranges import CLOSE

    below, above = low - values, values - high
    short = np.where((below > 0) & (below > CLOSE * abs(low)), below, 0.0)
    over = np.where((above > 0) & (above > CLOSE * abs(high)), above, 0.0)
    return np.maximum(short, over)


def _word_at(words: Sequence[tuple[int, str]], at: Ints) -> Ints:
    starts = np.array([since for since, _ in words], dtype=np.int64)
    return np.searchsorted(starts, at, side="right") - 1


def _curve_at(segments: Sequence[Any], at: Ints) -> Floats:
    """The value of a curve at instants, see ``dynamics``; not a number before it starts."""
    starts = np.array([segment.start_ms for segment in segments], dtype=np.int64)
    place = np.searchsorted(starts, at, side="right") - 1
    number = np.maximum(place, 0)
    value = np.array([segment.value for segment in segments])[number]
    target = np.array([segment.target for segment in segments])[number]
    flat = np.array([segment.tau_ms is None for segment in segments])[number]
    tau = np.array([segment.tau_ms or 1.0 for segment in segments])[number]
    flat = flat | (value == target)
    with np.errstate(over="ignore"):
        gap = (value - target) * np.exp((starts[number] - at) / tau)
    now = np.where(flat, value, target + gap)
    now = np.where(~flat & (now == target), np.nextafter(target, value), now)
    return np.where(place >= 0, now, np.nan)
