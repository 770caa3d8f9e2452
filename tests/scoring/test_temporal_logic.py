"""Time windows and ``respond`` against a general-purpose temporal-logic monitor.

rtamt 0.4.10, dense time: signals are right-continuous and piecewise constant; a pulse must have a
width (8 ms here); an obligation that is still open at the end of the trace counts as violated,
so each trace goes on until the last window has closed. Its times are doubles: all of ours are
eighths of a second, which doubles hold exactly, so that limits can be met exactly.
"""

from __future__ import annotations

import random
import warnings
from collections.abc import Iterable

import pytest

from tests.scoring.case import item

with warnings.catch_warnings():
    # its parser's runtime imports a module that Python 3.11 calls old
    warnings.simplefilter("ignore", DeprecationWarning)
    import rtamt

LASTING, LATEST = 30, 45
PULSE = 1 / 128
TICK = 1 / 8
TRACES = 500

Signal = list[list[float]]


def _eighths(seconds: float) -> float:
    return round(seconds / TICK) * TICK


def _monitor(formula: str) -> rtamt.StlDenseTimeSpecification:
    spec = rtamt.StlDenseTimeSpecification()
    for name in ("c", "p", "out"):
        spec.declare_var(name, "float")
    spec.spec = f"out = {formula}"
    spec.parse()
    return spec


def _value_at(signal: Iterable[list[float]], at: float) -> float:
    value = -1.0
    for time, robustness in signal:
        if time > at + 1e-9:
            break
        value = robustness
    return value


def _pulses(times: Iterable[float], end: float) -> Signal:
    out: Signal = [[0.0, 0.0]]
    for time in times:
        out += [[time, 1.0], [time + PULSE, 0.0]]
    return [*out, [end, 0.0]]


def _rises(signal: Iterable[list[float]]) -> list[float]:
    out = []
    before = -1.0
    for time, robustness in signal:
        if robustness > 0 > before:
            out.append(time)
        before = robustness
    return out


@pytest.mark.filterwarnings("ignore")
def test_respond_judges_as_the_monitor_does() -> None:
    """At each rise of H[0,lasting] c: F[0,latest] p, or p since c began."""
    chance = random.Random(20260131)
    key = f"""
    - respond: call
      whenever: {{observed: {{colour: pale}}}}
      lasting: {LASTING} s
      ideal: {LATEST} s
      latest: {LATEST} s
      unseen: true
      even_if_resolved: true
    """
    held = _monitor(f"historically[0,{LASTING}](c>=0.5)")
    served = _monitor(f"(eventually[0,{LATEST}](p>=0.5)) or ((c>=0.5) since (p>=0.5 and c>=0.5))")
    seen = {True: 0, False: 0}
    for _ in range(TRACES):
        spells, at = [], 50.0
        for _ in range(chance.randint(1, 3)):
            start = _eighths(at + chance.choice([60, 61.375, chance.uniform(60, 90)]))
            length = chance.choice(
                [LASTING, LASTING - TICK, LASTING + TICK, _eighths(chance.uniform(5, 90))]
            )
            spells.append((start, start + length))
            # windows of one item don't overlap, since one performance serves one occasion
            at = max(spells[-1][1], start + LASTING + LATEST)
        end = at + 100
        changes = {0.0, end} | {stop for _, stop in spells}
        edges = [start + LASTING + LATEST for start, _ in spells] + [
            start + offset for start, _ in spells for offset in (0.0, LASTING)
        ]
        done = sorted(
            {
                _eighths(chance.choice([chance.uniform(1, end - 1), chance.choice(edges)]))
                for _ in range(chance.randint(0, 4))
            }
            - changes
        )
        done = [
            time for number, time in enumerate(done) if not number or time > done[number - 1] + 1
        ]
        c: Signal = [[0.0, 0.0]]
        for start, stop in spells:
            c += [[start, 1.0], [stop, 0.0]]
        c.append([end, 0.0])
        p = _pulses(done, end)
        rises = _rises(held.evaluate(["c", c], ["p", p]))
        verdicts = served.evaluate(["c", c], ["p", p])
        expected = [(rise, _value_at(verdicts, rise) > 0) for rise in rises]
        record = [(start, "state low") for start, _ in spells]
        record += [(stop, "state idle") for _, stop in spells]
        record += [(time, "done call") for time in done]
        record.append((end, "closed finished"))
        lines = "\n".join(f"{time:.3f} {what}" for time, what in sorted(record))
        marked = item(key, lines)
        got = [(occasion.opened_ms / 1000, occasion.credit == 1.0) for occasion in marked.occasions]
        assert got == expected, lines
        for _, holds in got:
            seen[holds] += 1
    assert min(seen.values()) > 100


@pytest.mark.filterwarnings("ignore")
def test_a_window_from_an_anchor_judges_as_the_monitor_does() -> None:
    """At each entry of a state: F[0,latest] p, or p at most 10 s before it."""
    chance = random.Random(77)
    key = f"- {{expect: call, from: {{state: low}}, each: true, ideal: {LATEST} s}}"
    window = _monitor(f"(eventually[0,{LATEST}](p>=0.5)) or (once[0,10](p>=0.5))")
    seen = {True: 0, False: 0}
    for _ in range(TRACES):
        entries, at = [], 0.0
        for _ in range(chance.randint(1, 3)):
            entries.append(_eighths(at + chance.uniform(10, 60)))
            at = entries[-1] + LATEST + 1
        end = at + 60
        done = [
            _eighths(chance.choice([entry + LATEST, entry + chance.uniform(TICK, 2 * LATEST)]))
            for entry in entries
            if chance.random() < 0.8
        ]
        done = [time for time in done if time not in entries and time < end]
        c = _pulses(entries, end)
        verdicts = window.evaluate(["c", c], ["p", _pulses(sorted(set(done)), end)])
        expected = [_value_at(verdicts, entry) > 0 for entry in entries]
        record = [(entry, "state low") for entry in entries]
        record += [(entry + 5, "state idle") for entry in entries]
        record += [(time, "done call") for time in set(done)]
        record.append((end, "closed finished"))
        lines = "\n".join(f"{time:.3f} {what}" for time, what in sorted(record))
        got = [occasion.credit == 1.0 for occasion in item(key, lines).occasions]
        assert got == expected, lines
        for holds in got:
            seen[holds] += 1
    assert min(seen.values()) > 100
