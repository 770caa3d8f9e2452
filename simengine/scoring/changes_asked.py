"""A change of a setting, or a finding, that is asked: stretches in which it is so.

Rules of this file:

- A change counts at the instant at which the setting comes into the range; the setting is then
  in force, as a lasting action is, until it leaves it. One change serves every item it meets.
- ``lower`` and ``higher`` ask for a value beyond the one at the anchor (for ``respond``: when the
  condition began) by at least the setting's step; where that value was not known nothing counts.
- A start setting that nobody touched is "as found". Set again by hand to a value in the range,
  it counts at that instant.
- A fault is found when it is found or put right, and stays so until it is planted again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from simengine.quantities.ranges import CLOSE
from simengine.scenario.key import AskedFault, AskedSetting
from simengine.scenario.wanted import Value, Wanted
from simengine.scoring.asking import Asking
from simengine.scoring.draw import Draw, Run, Step
from simengine.scoring.parts import wanted_at
from simengine.session.record import NEVER
from simengine.session.truth import is_as_wanted


def setting_runs(draw: Draw, asking: Asking, asked: AskedSetting) -> list[Run]:
    """Return the stretches in which a setting is as an occasion asks."""
    steps = draw.steps(asked.setting)[1]
    wanted = asked.to
    if wanted is not None:
        inside = asking.plan.inside
        out: list[Run] = []
        before: Step | None = None
        for number, step in enumerate(steps):
            now = _is_in(draw, wanted, inside, step, step.at)
            if now and (
                before is None
                or not _is_in(draw, wanted, inside, before, step.at)
                or (step.change.touched and not before.change.touched)
            ):
                out.append(_run(steps, number, _leaves(draw, wanted, inside, steps, number)))
            before = step
        return out
    base = _base(draw, asking, asked.setting)
    if base is None or type(base) is str:
        return []
    step_size = asking.plan.guide.step or 0.0
    return list(_beyond(steps, float(base), step_size, asked.direction == "lower"))


def fault_runs(draw: Draw, asked: AskedFault) -> list[Run]:
    """Return the stretches in which a planted fault is found (or put right)."""
    out: list[Run] = []
    open_ = False
    for at, event in draw.faults():
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


def base_unknown(draw: Draw, asking: Asking, asked: AskedSetting) -> bool:
    """Whether ``lower`` or ``higher`` has no value to be compared with."""
    return asked.to is None and _base(draw, asking, asked.setting) is None


def _base(draw: Draw, asking: Asking, setting: str) -> Value | None:
    if asking.began is not None:
        step = draw.step_at(setting, asking.began)
    else:
        step = draw.step_before(setting, asking.at, asking.order)
    return None if step is None else step.value


def _is_in(
    draw: Draw, wanted: Wanted, inside: Mapping[int, bool], step: Step, instant: int
) -> bool:
    """Whether a value is as asked; by the clock where the range changes with it."""
    known = inside.get(step.seq)
    if known is not None:
        return known
    now = wanted_at(wanted, instant, draw.clock)
    return now is not None and is_as_wanted(step.value, now)


def _leaves(
    draw: Draw, wanted: Wanted, inside: Mapping[int, bool], steps: list[Step], number: int
) -> int:
    as_found = not steps[number].change.touched
    for step in steps[number + 1 :]:
        if not _is_in(draw, wanted, inside, step, step.at) or (as_found and step.change.touched):
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


def _run(steps: list[Step], number: int, stop: int) -> Run:
    step = steps[number]
    return Run(step.at, step.seq, stop, step.change, not step.change.touched)
