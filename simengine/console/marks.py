"""The team's clock and its marks.

Rules of this file:

- When marks come and what falls due at them stands in ``clock_marks.yaml``, not here.
- A view tells the last mark passed and those of the next half hour; it is sent anew at each mark.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from simengine.console.scene import Scene
from simengine.console.view import ClockView, Mark
from simengine.quantities import format_duration, parse_duration
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action

_AHEAD_MS = 30 * 60_000
_OTHERWISE = "otherwise"


@dataclass(frozen=True, slots=True)
class _Planned:
    """A mark on the team's clock; ``prompt``: an action due at it, or empty.

    It is due no more once what was last told with it is one of ``until_told``; ``if_not_told``
    are its words while nothing has been told.
    """

    at_ms: int
    prompt: str
    words: str
    if_not_told: str = ""
    until_told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Marks:
    """The first marks, and what comes every ``every_ms`` after the last of them."""

    first: tuple[_Planned, ...]
    every_ms: int
    then: _Planned

    def until(self, at_ms: int) -> Iterator[_Planned]:
        """All marks up to an instant of the team's clock."""
        for mark in self.first:
            if mark.at_ms <= at_ms:
                yield mark
        instant = self.first[-1].at_ms + self.every_ms
        while instant <= at_ms:
            yield replace(self.then, at_ms=instant)
            instant += self.every_ms


def clock_of(scene: Scene) -> ClockView:
    """Return the clock, its last mark and those to come."""
    scenario = scene.scenario
    zero = scene.fold.account.clock_ms
    marks: tuple[Mark, ...] = ()
    if zero is not None:
        told = [
            _told(scene, one, zero) for one in _marks(scenario).until(_AHEAD_MS + scene.now - zero)
        ]
        passed = [mark for mark in told if mark.at_ms <= scene.now]
        to_come = [mark for mark in told if mark.at_ms > scene.now]
        marks = (*passed[-1:], *to_come)
        scene.changes_at(to_come[0].at_ms if to_come else None)
    return ClockView(
        event=scenario.start.clock,
        words=clock_words(scenario),
        zero_ms=zero,
        marks=marks,
        silent=scenario.silent_clock,
    )


def clock_words(scenario: Scenario) -> str:
    """Tell since when the clock runs: ``since birth``."""
    event = scenario.start.clock
    return f"since {event.replace('_', ' ')}" if event else ""


def _told(scene: Scene, planned: _Planned, zero: int) -> Mark:
    minutes, rest = divmod(planned.at_ms, 60_000)
    words = format_duration(planned.at_ms) if rest else f"{minutes} min"
    mark = Mark(zero + planned.at_ms, words)
    action = scene.scenario.vocabulary.actions.get(planned.prompt)
    if action is None:
        return mark
    last = _last_told(scene, action)
    if last in planned.until_told:
        return mark
    due = planned.words if last is not None else planned.if_not_told or planned.words
    return replace(mark, prompts=action.name, prompt_words=due)


def _last_told(scene: Scene, action: Action) -> str | None:
    """Return what was last told with an action, if anything was."""
    if action.reads is None:
        return None
    for done in reversed(scene.session.record.performances):
        if done.action == action.name and action.reads in done.spoken:
            told = done.spoken[action.reads].value
            return told if isinstance(told, str) else f"{told:g}"
    return None


def _marks(scenario: Scenario) -> _Marks:
    read = _read()
    return read.get(scenario.start.clock or _OTHERWISE, read[_OTHERWISE])


@cache
def _read() -> dict[str, _Marks]:
    text = Path(__file__).with_name("clock_marks.yaml").read_text(encoding="utf-8")
    return {event: _marks_from(raw) for event, raw in yaml.safe_load(text).items()}


def _marks_from(raw: dict[str, Any]) -> _Marks:
    then = raw["then"]
    return _Marks(
        tuple(_planned(one, parse_duration(one["at"])) for one in raw["marks"]),
        parse_duration(then["every"]),
        _planned(then, 0),
    )


def _planned(raw: dict[str, Any], at_ms: int) -> _Planned:
    return _Planned(
        at_ms,
        raw.get("prompt", ""),
        raw.get("words", ""),
        raw.get("if_not_told", ""),
        tuple(raw.get("until_told", ())),
    )
