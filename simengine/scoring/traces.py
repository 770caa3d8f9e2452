"""What the record holds of what is asked where nothing of it served, and why it does not count.

Rules of this file:

- No sentence denies the record: whatever was written down of what is asked is told with its time,
  at another time, in another way, too short, with another value, or counted for something else.
- What the scenario itself starts with is nobody's doing, and is not told.
- A lasting action that was stopped before the vocabulary's shortest time is no performance; here
  it is told as what it was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Literal, NamedTuple

from simengine.scenario.key import AskedAction, AskedFault, AskedKnowledge, Windowed
from simengine.scoring.changes_asked import fault_runs
from simengine.scoring.knowledge import SAYING, readings_of, tellings_of
from simengine.scoring.occasion import Occasion, serving
from simengine.scoring.plan import KnownPerformance
from simengine.scoring.resample import Resample, Run
from simengine.session.record import NEVER

WhyNot = Literal[
    "other_way",
    "other_time",
    "untold",
    "guess",
    "no_reading",
    "other_value",
    "part_of_dose",
    "counts_elsewhere",
    "too_short",
]
"""Why something does not count."""


class Trace(NamedTuple):
    """Something in the record of what is asked, and why it does not count."""

    run: Run
    why: WhyNot


def too_short(resample: Resample, actions: Iterable[str]) -> list[Run]:
    """Return what was begun of some actions and stopped before it counts, in order."""
    plan, marks = resample.plan, resample.marks
    out = []
    for action in actions:
        for known in plan.performances.get(action, ()):
            if known.momentary or known.start_mark is None:
                continue
            start = marks[known.start_mark]
            stop = known.stop if known.stop_mark is None else marks[known.stop_mark]
            if start <= plan.end and stop - start < known.shortest:
                out.append(Run(start, known.seq, stop, known))
    return sorted(out, key=lambda run: (run.start, run.seq))


def traces_of(resample: Resample, occasion: Occasion) -> list[Trace]:
    """Return what the record holds of what an occasion asks that nothing served."""
    item = occasion.plan.item
    assert isinstance(item, Windowed)
    subject = item.asked
    if isinstance(subject, AskedAction):

        def why(run: Run) -> WhyNot:
            if not run.is_in(item.accepts):
                return "other_way"
            if run.seq in occasion.plan.followers:
                return "part_of_dose"
            served = serving(resample, occasion, run) is not None
            return "counts_elsewhere" if served else "other_time"

        return done_traces(resample, subject.actions, why)
    if isinstance(subject, AskedKnowledge):
        return known_traces(resample, subject)
    if isinstance(subject, AskedFault):
        return [Trace(run, "other_time") for run in fault_runs(resample, subject)]
    return [
        Trace(
            Run(step.at, step.seq, NEVER, step.change),
            "other_value" if occasion.at <= step.at <= occasion.close else "other_time",
        )
        for step in resample.steps(subject.setting)[1]
        if step.change.touched
    ]


def done_traces(
    resample: Resample, actions: Sequence[str], why: Callable[[Run], WhyNot]
) -> list[Trace]:
    """Return every performance of some actions with why it does not count, the short ones last."""
    done = [Trace(run, why(run)) for run in resample.runs_of(tuple(actions)) if not run.as_found]
    return done + [Trace(run, "too_short") for run in too_short(resample, actions)]


def known_traces(resample: Resample, asked: AskedKnowledge) -> list[Trace]:
    """Return what was read and said of an observation, and what was done that revealed nothing."""
    observation = asked.observation
    entry = resample.plan.observations[observation]
    readings = readings_of(resample, observation)
    out: list[Trace] = []
    if asked.told:
        tellings = tellings_of(resample, observation)
        out += [Trace(telling.run, "other_time") for telling in tellings]
        out += [
            Trace(reading, "untold")
            for reading in readings
            if not any(reading.start <= telling.read <= reading.stop for telling in tellings)
        ]
        counted = {telling.run.seq for telling in tellings}
        out += [
            Trace(run, "guess")
            for action in resample.plan.telling.get(observation, ())
            for run in resample.runs(action)
            if run.is_in(SAYING) and run.seq not in counted and _says(run, observation)
        ]
    else:
        out += [Trace(reading, "other_time") for reading in readings]
    revealed = {run.seq for run in readings}
    revealing = tuple(by.action for by in entry.revealed_by)
    out += [
        trace
        for trace in done_traces(
            resample,
            revealing,
            lambda run: "no_reading" if run.is_in(("done", "simulated")) else "other_way",
        )
        if trace.run.seq not in revealed
    ]
    first_of = {trace.run.seq: trace for trace in reversed(out)}
    return [trace for trace in out if first_of[trace.run.seq] is trace]


def _says(run: Run, observation: str) -> bool:
    source = run.source
    return isinstance(source, KnownPerformance) and observation in source.performance.spoken
