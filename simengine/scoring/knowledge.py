"""That the team knows an observation, and what it said of it.

Rules of this file:

- It is known from any action or sensor that reveals it: a snapshot counts at its reading, a sensor
  that streams all the time that it reads; at its end it leaves a last reading. Knowing uses
  nothing up.
- A snapshot at most ``fresh`` old at *a* (or at *a* + ``not_before``, if that is later) has d =
  that instant less *a*; an older one is for a verdict alone.
- Said aloud, a value counts at the later of reading and saying. It rests on the reading of the very
  action that it was told with, else on the last reading; without any it is a guess and does not
  count.
- It is near if it is within the observation's ``told_within`` of the truth at the saying or at the
  reading; a word if it is the same. Where the vocabulary gives no ``told_within`` no number is
  far. A band ("below 60", "60 to 100") is near if it holds either, or ends within that of it. Where
  there is no true value nothing is far.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from simengine.quantities import Range
from simengine.quantities.units import convert, known_unit
from simengine.scenario.key import AskedKnowledge
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Value
from simengine.scoring.card import EQUAL
from simengine.scoring.occasion import RECORDED_BEFORE_MS, Match, Occasion, give_credit
from simengine.scoring.plan import KnownPerformance
from simengine.scoring.resample import Resample, Run
from simengine.session.readings import true_value
from simengine.session.record import NEVER, Reading, Session

SAYING = ("done", "simulated", "said")
"""The ways of doing an action in which a value recorded with it was said aloud."""

_BAND = re.compile(
    r"(?:(?P<side>below|under|above|over|at least|at most)\s+)?(?P<low>\d+(?:\.\d+)?)"
    r"(?:\s*(?:to|-|–)\s*(?P<high>\d+(?:\.\d+)?))?\D*"
)


@dataclass(frozen=True, slots=True)
class Telling:
    """A value said aloud: ``at`` it counts, ``said`` at, resting on the reading at ``read``."""

    at: int
    said: int
    read: int
    value: Reading
    near: bool
    truth: Value | None
    run: Run


def readings_of(resample: Resample, observation: str) -> list[Run]:
    """Return every reading of an observation: a snapshot as one instant, a stream as a stretch."""
    readings = resample.known.get(observation)
    if readings is None:
        readings = resample.known[observation] = _readings_now(resample, observation)
    return readings


def tellings_of(resample: Resample, observation: str) -> list[Telling]:
    """Return each time that a value of an observation was said, in order of when it counts."""
    tellings: list[Telling] | None = resample.told.get(observation)
    if tellings is None:
        tellings = resample.told[observation] = _tellings_now(resample, observation)
    return tellings


def _readings_now(resample: Resample, observation: str) -> list[Run]:
    entry = resample.plan.observations[observation]
    out: list[Run] = []
    for by in entry.revealed_by:
        for run in resample.counting(by.action):
            source = run.source
            assert isinstance(source, KnownPerformance)
            readable = run.start + by.delay_ms
            lasting = not source.momentary
            if lasting and readable >= run.stop:
                continue
            stop = run.stop if by.streams and lasting else NEVER if by.streams else readable
            out.append(Run(readable, run.seq, stop, source))
    since = None
    for hand in resample.plan.shown:
        if hand.observation != observation:
            continue
        if hand.shown and since is None:
            since = hand
        elif not hand.shown and since is not None:
            out.append(Run(since.at_ms, since.seq, hand.at_ms, since))
            since = None
    if since is not None:
        out.append(Run(since.at_ms, since.seq, NEVER, since))
    out.sort(key=lambda run: (run.start, run.seq))
    return [run for run in out if run.start <= resample.plan.end]


def _tellings_now(resample: Resample, observation: str) -> list[Telling]:
    plan = resample.plan
    entry = plan.observations[observation]
    delays = {by.action: by.delay_ms for by in entry.revealed_by}
    out: list[Telling] = []
    for action in plan.telling.get(observation, ()):
        for run in resample.runs(action):
            source = run.source
            assert isinstance(source, KnownPerformance)
            value = source.performance.spoken.get(observation)
            if value is None or source.performance.way not in SAYING:
                continue
            spoken_at = run.start
            read: int | None = resample.readings(observation).last_reading(spoken_at)
            if action in delays:
                readable = spoken_at + delays[action]
                if source.momentary or readable < run.stop:
                    read = readable
            if read is None:
                continue
            near, truth = _judged(plan.session, entry, value, spoken_at, read)
            out.append(Telling(max(spoken_at, read), spoken_at, read, value, near, truth, run))
    out.sort(key=lambda telling: (telling.at, telling.run.seq))
    return out


def match_knowledge(
    resample: Resample, occasions: Sequence[Occasion], asked: AskedKnowledge
) -> None:
    """Match occasions that ask that something is known, or known and told."""
    fresh = resample.plan.observations[asked.observation].fresh_ms
    if asked.told:
        tellings = tellings_of(resample, asked.observation)
        near = [_told(telling) for telling in tellings if telling.near]
        far = [_told(telling) for telling in tellings if not telling.near]
    else:
        near, far = readings_of(resample, asked.observation), []
    for occasion in occasions:
        if not occasion.reached:
            continue
        best = _best(resample, occasion, near, fresh)
        if best is None or best.credit == 0.0:
            wrong = _best(resample, occasion, far, fresh)
            if wrong is not None and (best is None or wrong.credit > 0.0):
                wrong.wrong, wrong.credit = True, 0.0
                best = wrong
        occasion.match = best
        if best is None:
            before = [run for run in near if run.start < occasion.at]
            occasion.before = before[-1] if before else None


def is_near(entry: Observation, value: Reading, truth: Value) -> bool:
    """Whether a value said aloud is near the truth."""
    if isinstance(truth, str):
        return str(value.value) == truth
    if entry.told_within is None:
        return True
    band = band_of(value, entry.unit)
    return band is not None and band.distance(truth) <= entry.told_within + EQUAL


def _told(telling: Telling) -> Run:
    return Run(telling.at, telling.run.seq, telling.at, telling.run.source)


def _judged(
    session: Session, entry: Observation, value: Reading, spoken_at: int, read: int
) -> tuple[bool, Value | None]:
    """Whether a value was near, and the truth that it is held against in words."""
    truths = [
        value_there
        for instant in (spoken_at, read)
        if (value_there := true_value(entry.name, session.curves, session.words, instant))
        is not None
    ]
    if not truths:
        return True, None
    return any(is_near(entry, value, truth) for truth in truths), truths[-1]


def _best(resample: Resample, occasion: Occasion, runs: Sequence[Run], fresh: int) -> Match | None:
    best: Match | None = None
    for run in runs:
        match = _serving(occasion, run, fresh)
        if match is None:
            continue
        give_credit(resample, occasion, match)
        if best is None or match.credit > best.credit + EQUAL:
            best = match
    return best


def _serving(occasion: Occasion, run: Run, fresh: int) -> Match | None:
    instant = occasion.instant
    if occasion.at_entry:
        fresh = max(fresh, RECORDED_BEFORE_MS)
    if instant <= occasion.close:
        if run.start <= instant < run.stop:
            return Match(run, instant, instant - occasion.at, in_force=True)
        last = run.stop if run.stop > run.start else run.start
        if last <= instant <= last + fresh:
            return Match(run, last, instant - occasion.at, free=True)
    if occasion.began is not None and occasion.began <= run.start < occasion.at:
        return Match(run, run.start, 0, free=True)
    if occasion.at <= run.start <= occasion.close:
        return Match(run, run.start, run.start - occasion.at, free=True)
    return None


def band_of(value: Reading, unit: str | None) -> Range | None:
    """Return a value or band as a range in the observation's unit; ``None`` if not to be read."""
    if not isinstance(value.value, str):
        number = _in(value.value, value.unit, unit)
        return None if number is None else Range(number, number)
    match = _BAND.fullmatch(value.value.strip().lower())
    if match is None:
        return None
    low, high = float(match["low"]), match["high"]
    if high is not None:
        return Range(low, float(high))
    match match["side"]:
        case "below" | "under":
            return Range(high=low, high_open=True)
        case "at most":
            return Range(high=low)
        case "above" | "over":
            return Range(low, inf, low_open=True)
        case "at least":
            return Range(low)
    return Range(low, low)


def _in(value: float, unit: str | None, to: str | None) -> float | None:
    if unit is None or to is None or unit == to:
        return value
    spelt = known_unit(unit)
    if spelt is None:
        return None
    try:
        return convert(value, spelt, to)
    except ValueError:
        return None
