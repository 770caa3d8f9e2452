"""A change of a setting, or a finding, that is asked: stretches in which it is so.

Rules of this file:

- A change counts at the instant at which the setting comes into the range; the setting is then
  in force, as a lasting action is, until it leaves it. One change serves every item it meets.
- ``lower`` and ``higher`` ask for a value beyond the one at the anchor (for ``respond``: when the
  condition began) by a meaningful change at least; such a change in the 60 s before, still in
  force, counts at *a*. Where that value was not known and a change was recorded, the occasion is
  not recorded and in no sum; where none was recorded it is missed.
- A start setting is nobody's change: where it alone meets an occasion, and nobody touched it by the
  end of the window, the occasion is as found. Set again by hand to a value in the range, it counts
  at that instant.
- A fault is found when it is found or put right, and stays so until it is planted again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from simengine.quantities.ranges import CLOSE
from simengine.scenario.key import Asked, AskedFault, AskedSetting, Windowed
from simengine.scenario.wanted import Value, Wanted
from simengine.scoring.card import EQUAL
from simengine.scoring.occasion import (
    Match,
    Occasion,
    candidates,
    last_before,
    met_as_found,
)
from simengine.scoring.parts import wanted_at
from simengine.scoring.resample import Resample, Run, Step
from simengine.session.record import NEVER
from simengine.session.truth import is_as_wanted

RECENT_MS = 60_000
"""How long before *a* a meaningful change that is still in force may have been made."""


def match_changes(resample: Resample, occasions: Sequence[Occasion], asked: Asked) -> None:
    """Match occasions that ask for a setting or a fault: one change serves all that it meets."""
    for occasion in occasions:
        if not occasion.reached:
            continue
        if isinstance(asked, AskedSetting):
            runs = setting_runs(resample, occasion, asked)
        else:
            assert isinstance(asked, AskedFault)
            runs = fault_runs(resample, asked)
        best: Match | None = None
        for _, match in candidates(resample, occasion, runs):
            if best is None or match.credit > best.credit + EQUAL:
                best = match
        free = occasion.free
        if free is not None and (best is None or free.credit >= best.credit - EQUAL):
            best = free
        left_out = ""
        if isinstance(asked, AskedSetting) and (best is None or best.credit == 0.0):
            left_out = _left_out(resample, occasion, asked, runs)
        if left_out:
            occasion.reached, occasion.why = False, left_out
            continue
        occasion.match = best
        if best is None:
            occasion.before = last_before(occasion, runs, set())


def _left_out(
    resample: Resample, occasion: Occasion, change: AskedSetting, runs: Sequence[Run]
) -> str:
    """Why an occasion that no change earned anything in is in no sum; empty if it is in one."""
    if _is_as_found(resample, occasion, change, runs):
        return "as found"
    unknown = base_unknown(resample, occasion, change)
    return "no value" if unknown and _changed(resample, occasion, change) else ""


def _is_as_found(
    resample: Resample, occasion: Occasion, change: AskedSetting, runs: Sequence[Run]
) -> bool:
    """Whether the start setting meets an occasion, and nobody touched it within the window."""
    if not met_as_found(resample, occasion, runs):
        return False
    item = occasion.plan.item
    assert isinstance(item, Windowed)
    last = min(occasion.close, occasion.at + item.latest_ms)
    return not any(
        step.change.touched and step.at <= last for step in resample.steps(change.setting)[1]
    )


def _changed(resample: Resample, occasion: Occasion, change: AskedSetting) -> bool:
    """Whether somebody set what is asked between *a* and the occasion's close."""
    return any(
        step.change.touched and occasion.at <= step.at <= occasion.close
        for step in resample.steps(change.setting)[1]
    )


def setting_runs(resample: Resample, occasion: Occasion, asked: AskedSetting) -> list[Run]:
    """Return the stretches in which a setting is as an occasion asks."""
    steps = resample.steps(asked.setting)[1]
    wanted = asked.to
    if wanted is not None:
        inside = occasion.plan.inside
        out: list[Run] = []
        before: Step | None = None
        for number, step in enumerate(steps):
            now = _is_in(resample, wanted, inside, step, step.at)
            if now and (
                before is None
                or not _is_in(resample, wanted, inside, before, step.at)
                or (step.change.touched and not before.change.touched)
            ):
                out.append(_run(steps, number, _leaves(resample, wanted, inside, steps, number)))
            before = step
        return out
    base = _base(resample, occasion, asked.setting)
    if base is None or type(base) is str:
        return []
    least, lower = occasion.plan.guide.least_change, asked.direction == "lower"
    out = list(_beyond(steps, float(base), least, lower))
    recent = _just_before(resample, occasion, asked.setting, float(base), least, lower)
    return out if recent is None else [recent, *out]


def fault_runs(resample: Resample, asked: AskedFault) -> list[Run]:
    """Return the stretches in which a planted fault is found (or put right)."""
    out: list[Run] = []
    open_ = False
    for at, event in resample.faults():
        if event.fault != asked.fault:
            continue
        if event.status == "planted":
            if open_:
                out[-1] = out[-1]._replace(stop=at)
            open_ = False
        elif not open_ and (event.status == "mended" or asked.status == "found"):
            out.append(Run(at, event.seq, NEVER, event))
            open_ = True
    return out


def base_unknown(resample: Resample, occasion: Occasion, asked: AskedSetting) -> bool:
    """Whether ``lower`` or ``higher`` has no value to be compared with."""
    return asked.to is None and _base(resample, occasion, asked.setting) is None


def _base(resample: Resample, occasion: Occasion, setting: str) -> Value | None:
    if occasion.began is not None:
        step = resample.step_at(setting, occasion.began)
    else:
        step = resample.step_before(setting, occasion.at, occasion.order)
    return None if step is None else step.value


def _is_in(
    resample: Resample, wanted: Wanted, inside: Mapping[int, bool], step: Step, instant: int
) -> bool:
    """Whether a value is as asked; by the clock where the range changes with it."""
    known = inside.get(step.seq)
    if known is not None:
        return known
    now = wanted_at(wanted, instant, resample.clock)
    return now is not None and is_as_wanted(step.value, now)


def _leaves(
    resample: Resample, wanted: Wanted, inside: Mapping[int, bool], steps: list[Step], number: int
) -> int:
    as_found = not steps[number].change.touched
    for step in steps[number + 1 :]:
        if not _is_in(resample, wanted, inside, step, step.at) or (
            as_found and step.change.touched
        ):
            return step.at
    return NEVER


def _beyond(steps: list[Step], base: float, size: float, lower: bool) -> Iterable[Run]:
    inside = False
    for number, step in enumerate(steps):
        now = type(step.value) is not str and _is_beyond(float(step.value), base, size, lower)
        if now and not inside:
            stop = next(
                (
                    later.at
                    for later in steps[number + 1 :]
                    if type(later.value) is str
                    or not _is_beyond(float(later.value), base, size, lower)
                ),
                NEVER,
            )
            yield _run(steps, number, stop)
        inside = now


def _is_beyond(value: float, base: float, size: float, lower: bool) -> bool:
    by = base - value if lower else value - base
    # A step of 0.1 from 0.3 must not miss 0.2 by the last digit of a double.
    return by > 0.0 and by >= size - CLOSE * max(abs(base), abs(value))


def _just_before(
    resample: Resample, occasion: Occasion, setting: str, base: float, least: float, lower: bool
) -> Run | None:
    """The meaningful change that way in the 60 s before *a* that is still in force at it."""
    steps = resample.steps(setting)[1]
    since = occasion.at - RECENT_MS
    before = [step for step in steps if occasion.came_before(_run(steps, 0, NEVER, step))]
    latest: Step | None = None
    for number, step in enumerate(before):
        if not step.change.touched or step.at < since or number == 0:
            continue
        was = before[number - 1].value
        if type(was) is str or type(step.value) is str:
            continue
        if latest is None and _is_beyond(base, float(was), least, lower):
            latest = step
    if latest is None:
        return None
    return Run(latest.at, latest.seq, max(occasion.at + 1, latest.at + 1), latest.change)


def _run(steps: list[Step], number: int, stop: int, step: Step | None = None) -> Run:
    step = step or steps[number]
    return Run(step.at, step.seq, stop, step.change, not step.change.touched)
