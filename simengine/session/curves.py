"""What the infant shows: a curve for each number, a word for the rest.

Rules of this file:

- A state begins what it mentions; what it does not mention goes on as it was, and goes on
  following the settings that its own state named.
- A curve bends when a setting moves its target, and only then; two turns at one ms are one.
- Instants never go back: a turn comes when it is noted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from simengine.scenario.model import Course
from simengine.scenario.wanted import Value
from simengine.session.dynamics import bent, entered, target_of, value_at
from simengine.session.plan import Name, StatePlan
from simengine.session.record import Segment

Shown = tuple[Mapping[str, Course], Mapping[str, str]]
"""The course of each number and the word of each of the others, at one instant."""


class Curves:
    """The curves and words of one run, from the first state on."""

    __slots__ = ("_courses", "_followed_by", "segments", "words")

    def __init__(self) -> None:
        self.segments: dict[str, list[Segment]] = {}
        self.words: dict[str, list[tuple[int, str]]] = {}
        self._courses: dict[str, Course] = {}
        self._followed_by: dict[Name, list[str]] = {}

    def enter(self, plan: StatePlan, now: int, values: Mapping[str, Value]) -> None:
        """Begin what a state shows. ``values``: the settings in force."""
        for observation, word in plan.words:
            _say(self.words.setdefault(observation, []), now, word)
        if not plan.courses:
            return
        for observation, course in plan.courses:
            curve = self.segments.get(observation)
            if curve is None:
                self.segments[observation] = [entered(course, now, None, values)]
            else:
                _turn(curve, entered(course, now, value_at(curve[-1], now), values))
            self._courses[observation] = course
        if plan.adjusts or self._followed_by:
            self._watch()

    def _watch(self) -> None:
        """Note which observations follow which setting."""
        self._followed_by = {}
        for observation, course in self._courses.items():
            for adjust in course.adjust:
                followers = self._followed_by.setdefault(("setting", adjust.setting), [])
                followers.append(observation)

    def shown(self) -> Shown:
        """Return what is shown now, to come back to."""
        return dict(self._courses), {name: words[-1][1] for name, words in self.words.items()}

    def go_back(self, shown: Shown, now: int, values: Mapping[str, Value]) -> None:
        """Go on with what was shown before, from the present values.

        What was not shown before keeps its present value.
        """
        courses, words = shown
        for observation, course in self._courses.items():
            before = courses.get(observation)
            if before is course:
                continue
            curve = self.segments[observation]
            value = value_at(curve[-1], now)
            if before is None:
                _turn(curve, Segment(now, value, value, None))
            else:
                going_on = replace(before, start=None)
                _turn(curve, entered(going_on, now, value, values))
        for observation, word in words.items():
            if self.words[observation][-1][1] != word:
                _say(self.words[observation], now, word)
        self._courses = dict(courses)
        self._watch()

    def follow(self, name: Name, now: int, values: Mapping[str, Value]) -> list[str]:
        """Bend what follows ``name``; return the observations whose curves turned."""
        followers = self._followed_by.get(name)
        return self._bend(followers, now, values) if followers else []

    def follow_all(self, now: int, values: Mapping[str, Value]) -> None:
        """Bend what follows any setting."""
        self._bend({one for names in self._followed_by.values() for one in names}, now, values)

    def _bend(
        self, observations: Iterable[str], now: int, values: Mapping[str, Value]
    ) -> list[str]:
        out = []
        for observation in observations:
            curve = self.segments[observation]
            target = target_of(self._courses[observation], values)
            if target != curve[-1].target:
                _turn(curve, bent(curve[-1], now, target))
                out.append(observation)
        return out


def _say(words: list[tuple[int, str]], now: int, word: str) -> None:
    if words and words[-1][0] >= now:
        words[-1] = (now, word)
    elif not words or words[-1][1] != word:
        words.append((now, word))


def _turn(curve: list[Segment], segment: Segment) -> None:
    if curve[-1].start_ms >= segment.start_ms:
        curve[-1] = segment
    else:
        curve.append(segment)
