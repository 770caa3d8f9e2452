"""What a part of the cot shows to whoever looks at it: lines, figures and needles.

Rules of this file:

- What is seen is told as it is, never what it means: a fault is found by whoever sees it.
- A fault that the cot's catalogue does not have is told in the scenario's words for what is met,
  unless it shows by itself: on a dial, on the gauge of a cylinder, by what runs.
- A needle is a figure on a scale from ``least`` to ``most``, in one unit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from string import Formatter

from simengine.rehearsal.bench.bench_sentences import say
from simengine.rehearsal.bench.dial_figures import (
    Figure,
    figure_of,
    gauge_scale,
    needle_figure,
)
from simengine.rehearsal.bench.parts import Part, row_of
from simengine.rehearsal.bench.read import NEEDLE
from simengine.rehearsal.bench.stand import Cot, effect_of
from simengine.scenario.model import Fault


@dataclass(frozen=True, slots=True)
class Swing:
    """How a needle goes with breaths: to ``figure``, ``held_ms`` long, ``every_ms`` from since."""

    figure: float
    since_ms: int
    every_ms: float
    held_ms: float


@dataclass(frozen=True, slots=True)
class Needle:
    """A pointer on a scale. ``figure`` lies within ``least`` to ``most``; ``words`` tell it.

    ``swing``: where else it goes, over and over; ``figure`` is where it stands in between. The
    words tell both, and so change with dials and not with each breath.
    """

    label: str
    figure: float
    least: float
    most: float
    unit: str
    words: str
    swing: Swing | None = None


@dataclass(frozen=True, slots=True)
class Stand:
    """How a control stands that shows it: a dial's figure, a switch's word, a hold."""

    control: str
    value: float | str | bool
    words: str


@dataclass(frozen=True, slots=True)
class Reading:
    """What is met of a part. ``words``: all of it, in sentences."""

    words: str
    needles: tuple[Needle, ...] = ()
    stands: tuple[Stand, ...] = ()


def manometer(cot: Cot, at_ms: int) -> Needle:
    """Return the manometer at an instant; with breaths that are given, between what it goes."""
    scale = cot.bench.file.t_piece.manometer

    def within(figure: Figure) -> float:
        return min(max(float(figure.value), scale.least), scale.most)

    words, breaths = needle_words(cot, at_ms), cot.breaths
    if breaths is None or breaths.rate <= 0.0:
        stands = needle_figure(cot, at_ms)
        return Needle("", within(stands), scale.least, scale.most, stands.unit, words)
    between, held = _between_and_held(cot, at_ms)
    swing = Swing(within(held), breaths.since_ms, breaths.every_ms, 1_000.0 * breaths.inflation_s)
    return Needle("", within(between), scale.least, scale.most, between.unit, words, swing)


def needle_words(cot: Cot, at_ms: int) -> str:
    """Return what the manometer shows, in words: with breaths, what it goes between."""
    if cot.breaths is None or cot.breaths.rate <= 0.0:
        return needle_figure(cot, at_ms).words
    between, held = _between_and_held(cot, at_ms)
    if between == held:
        return held.words
    return say("needle_breathing", least=between.words, most=held.words)


def _between_and_held(cot: Cot, at_ms: int) -> tuple[Figure, Figure]:
    """Return what the manometer shows between breaths and while one is held."""
    assert cot.breaths is not None
    held = tuple(hold for hold in cot.held if hold != "cap")
    always = replace(cot.breaths, inflation_s=cot.breaths.every_ms / 1_000.0)
    never = replace(cot.breaths, inflation_s=0.0)
    return (
        needle_figure(replace(cot, held=held, breaths=never), at_ms),
        needle_figure(replace(cot, held=held, breaths=always), at_ms),
    )


def shown(cot: Cot, part: Part, at_ms: int) -> Reading:
    """Return what a part shows at an instant."""
    lines = _lines(cot, part)
    places = {name for line in lines for name in _places(line)}
    figures = {name: _told(cot, name, at_ms) for name in places}
    words = " ".join(line.format(**figures) for line in lines)
    needles: list[Needle] = []
    if NEEDLE in places:
        needles.append(manometer(cot, at_ms))
    vocabulary = cot.bench.scenario.vocabulary
    for name in places & vocabulary.settings.keys():
        setting = vocabulary.settings[name]
        scale, figure = gauge_scale(cot, setting), figure_of(cot, setting, at_ms)
        if scale is not None and not isinstance(figure.value, str):
            within = min(max(figure.value, scale[0]), scale[1])
            needles.append(Needle(setting.label, within, *scale, figure.unit, figure.words))
    return Reading(words, tuple(needles), _stands(cot, part, at_ms))


def heard(cot: Cot) -> tuple[str, ...]:
    """Return what anybody at the cot hears now, without looking.

    What comes over a cot while it is in use, and is the scenario's own, nobody can miss.
    """
    hears, faults = cot.bench.file.hears, cot.bench.scenario.start.faults
    running = [words for name, words in hears.items() if name in cot.fold.account.running]
    own = [fault for name, fault in faults.items() if name in cot.faults and not fault.row]
    late = [_sentence(fault.shows) for fault in own if not fault.planted_at_start]
    return (*running, *late)


def _sentence(words: str) -> str:
    return f"{words.replace('{', '').replace('}', '')}."


def _lines(cot: Cot, part: Part) -> list[str]:
    scenario = cot.bench.scenario
    known = cot.bench.file.parts[part.name]
    lines = dict(known.looks)
    for control in known.controls.values():
        if control.holds in cot.held:
            lines |= control.looks
    for name in cot.faults:
        fault = scenario.start.faults[name]
        if row_of(cot.bench, fault) != part.name:
            continue
        if not fault.row and not _shows_by_itself(cot, fault):
            lines[name] = _sentence(fault.shows)
        lines |= effect_of(cot.bench, name).looks
    return list(lines.values())


def _shows_by_itself(cot: Cot, fault: Fault) -> bool:
    supplies = cot.bench.scenario.vocabulary.supplies.values()
    refills = any(fault.mended_by == each.refilled_by for each in supplies if each.gauge)
    return refills or bool(fault.settings or fault.supplies or fault.doing)


def _places(line: str) -> list[str]:
    return [field for _, field, _, _ in Formatter().parse(line) if field]


def _told(cot: Cot, name: str, at_ms: int) -> str:
    if name == NEEDLE:
        return needle_words(cot, at_ms)
    setting = cot.bench.scenario.vocabulary.settings.get(name)
    if setting is not None:
        return figure_of(cot, setting, at_ms).words
    return say("on" if name in cot.fold.account.running else "off")


def _stands(cot: Cot, part: Part, at_ms: int) -> tuple[Stand, ...]:
    """How the controls of a part stand. What has no marks shows nothing but by its gauge."""
    settings, stands = cot.bench.scenario.vocabulary.settings, []
    for control in cot.bench.file.parts[part.name].controls.values():
        handle = next(each for each in part.handles if each.name == control.name)
        if handle.kind == "hold":
            closed = control.holds in cot.held
            stands.append(Stand(control.name, closed, ""))
        elif control.runs:
            on = control.runs in cot.fold.account.running
            word = handle.words[0 if on else 1]
            stands.append(Stand(control.name, word, word))
        elif handle.kind in ("dial", "switch"):
            figure = figure_of(cot, settings[control.turns], at_ms)
            stands.append(Stand(control.name, figure.value, figure.words))
    return tuple(stands)
