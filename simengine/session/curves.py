"""What the infant shows: a curve for each number, a word for the rest.

Rules of this file:

- A state begins what it mentions; what it does not mention goes on as it was, and goes on
  following the settings and conditions that its own state named.
- A word that care changes is followed as a curve is: what it turns to stands in its list ahead.
- A curve bends when a setting moves its target, or a condition of a shift turns, and only then; two
  turns at one ms are one. What arrives late moves it as it comes.
- A condition can turn by itself: a number crosses a threshold, the clock passes, a supply runs out,
  what was turned comes. Such bends are solved ahead, as everything is that is taken to go on, and
  stand in the curve as segments to come; what touches the curve before takes them away.
- What a condition comes to is kept until something touches a name that it reads.
- An observation bends after those that its conditions look at; a scenario in which they look at
  one another in a circle is refused.
- Instants never go back: a turn comes when it is noted.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from simengine.scenario.conditions import Name
from simengine.scenario.model import AnyAdjust, Course, Instead, Word
from simengine.scenario.wanted import Value
from simengine.session.arrival import Steps, value_of
from simengine.session.dynamics import bent, entered, target_of, value_at
from simengine.session.plan import CoursePlan, StatePlan, Watch, watch_of
from simengine.session.record import NEVER, Segment
from simengine.session.truth import Timeline, Truth, truth

Shown = tuple[Mapping[str, CoursePlan], Mapping[str, str]]
"""The course of each number and the word of each of the others, at one instant."""

_ALWAYS: Truth = [(0, NEVER)]
_Turns = list[tuple[int, Any]]
"""A target, or a word, from each instant on."""


class Curves:
    """The curves and words of one run, from the first state on."""

    __slots__ = (*("_courses", "_holds", "_watch", "_watches", "segments", "words"),)

    def __init__(self, watches: dict[tuple[int, ...], Watch]) -> None:
        """``watches``: the plan's, to which those that come up are added."""
        self.segments: dict[str, list[Segment]] = {}
        self.words: dict[str, list[tuple[int, str]]] = {}
        self._courses: dict[str, CoursePlan] = {}
        self._watches = watches
        self._watch = watch_of(())
        self._holds: dict[int, Truth] = {}

    def enter(
        self, plan: StatePlan, now: int, values: Mapping[str, Value], timeline: Timeline
    ) -> None:
        """Begin what a state shows. ``values``: the settings in force."""
        followed = False
        for observation, word in plan.words:
            self._tell(observation, now, [(now, word)])
            followed |= self._courses.pop(observation, None) is not None
        fresh = {course.observation for course in plan.courses}
        for course in plan.courses:
            self._courses[course.observation] = course
        if followed or (fresh and (plan.follows or self._watch.followed_by)):
            self._look_out()
        if not self._watch.followed_by:
            for course in plan.courses:
                self._begin(course, now, self._turns(course, now, values, timeline))
            return
        waiting: set[str] = set()
        for observation, _ in plan.words:
            self._touch(("curve", observation), waiting)
        for course in self._watch.order:
            if course.observation in fresh:
                self._begin(course, now, self._turns(course, now, values, timeline))
                self._touch(("curve", course.observation), waiting)
            elif course.observation in waiting:
                self._bend(course, now, values, timeline, waiting)

    def _touch(self, name: Name, waiting: set[str]) -> None:
        """Forget what conditions came to that read ``name``, and let wait what follows it."""
        followers = self._watch.followed_by.get(name)
        if followers:
            waiting.update(followers)
            for condition in self._watch.readers.get(name, ()):
                self._holds.pop(condition, None)

    def _tell(self, observation: str, now: int, turns: _Turns) -> bool:
        """Show words from now on; whether that is another course of them than before."""
        words = self.words.setdefault(observation, [])
        before = list(words)
        while len(words) > 1 and words[-1][0] > now:
            words.pop()
        for instant, word in turns:
            _say(words, instant, word)
        return words != before

    def _begin(self, course: CoursePlan, now: int, turns: _Turns) -> None:
        if isinstance(course.course, Word):
            self._tell(course.observation, now, turns)
            return
        curve = self.segments.get(course.observation)
        if curve is None:
            self.segments[course.observation] = [entered(course.course, now, None, turns[0][1])]
        else:
            _forget(curve, now)
            _turn(curve, entered(course.course, now, value_at(curve[-1], now), turns[0][1]))
        _go_on(self.segments[course.observation], turns[1:])

    def _look_out(self) -> None:
        """Note which observations follow which name, and in which order."""
        courses = self._courses.values()
        key = tuple(map(id, courses))
        watch = self._watches.get(key)
        if watch is None:
            watch = self._watches[key] = watch_of(courses)
        self._watch = watch
        # What nothing reads any longer would not be touched any longer.
        read = watch.conditions
        self._holds = {
            condition: holds for condition, holds in self._holds.items() if condition in read
        }

    def shown(self, now: int) -> Shown:
        """Return what is shown now, to come back to."""
        return dict(self._courses), {
            name: next((word for since, word in reversed(words) if since <= now), words[0][1])
            for name, words in self.words.items()
        }

    def go_back(
        self, shown: Shown, now: int, values: Mapping[str, Value], timeline: Timeline
    ) -> None:
        """Go on with what was shown before, from the present values.

        What was not shown before keeps its present value.
        """
        courses, words = shown
        changed = {
            name for name, course in self._courses.items() if courses.get(name) is not course
        }
        for name in changed - courses.keys() - self.words.keys():
            curve = self.segments[name]
            _forget(curve, now)
            value = value_at(curve[-1], now)
            _turn(curve, Segment(now, value, value, None))
        for observation, word in words.items():
            self._tell(observation, now, [(now, word)])
        self._courses = dict(courses)
        self._look_out()
        waiting = {course.observation for course in self._watch.order if course.conditional}
        for course in self._watch.order:
            if course.observation in changed:
                going_on = course
                if isinstance(course.course, Course):
                    going_on = course._replace(course=replace(course.course, start=None))
                self._begin(going_on, now, self._turns(course, now, values, timeline))
                self._touch(("curve", course.observation), waiting)
            elif course.observation in waiting:
                self._bend(course, now, values, timeline, waiting)

    def follow(
        self, names: Collection[Name], now: int, values: Mapping[str, Value], timeline: Timeline
    ) -> list[str]:
        """Bend what follows any of ``names``; return the observations whose curves turned."""
        waiting: set[str] = set()
        for name in names:
            self._touch(name, waiting)
        if not waiting:
            return []
        return [
            course.observation
            for course in self._watch.order
            if course.observation in waiting and self._bend(course, now, values, timeline, waiting)
        ]

    def follow_all(self, now: int, values: Mapping[str, Value], timeline: Timeline) -> None:
        """Bend what follows anything."""
        self.follow(list(self._watch.followed_by), now, values, timeline)

    def _bend(
        self,
        course: CoursePlan,
        now: int,
        values: Mapping[str, Value],
        timeline: Timeline,
        waiting: set[str],
    ) -> bool:
        """Bend a curve to the targets that it now has; whether that changed anything."""
        if isinstance(course.course, Word):
            changed = self._tell(
                course.observation, now, self._turns(course, now, values, timeline)
            )
            if changed:
                self._touch(("curve", course.observation), waiting)
            return changed
        curve = self.segments[course.observation]
        (_, target), *later = self._turns(course, now, values, timeline)
        ahead = _ahead(curve, now)
        bends = target != curve[-1 - len(ahead)].target
        if not bends and later == [(segment.start_ms, segment.target) for segment in ahead]:
            return False
        _forget(curve, now)
        if bends:
            _turn(curve, bent(curve[-1], now, target))
        _go_on(curve, later)
        self._touch(("curve", course.observation), waiting)
        return True

    def _turns(
        self, course: CoursePlan, now: int, values: Mapping[str, Value], timeline: Timeline
    ) -> _Turns:
        """Return the target now, and each that follows if nothing is touched."""
        adjusts = course.course.adjust
        if not course.conditional and not timeline.arriving:
            return [(now, _aim(course.course, values, adjusts))]
        arriving = {
            name: steps
            for name, steps in timeline.arriving.items()
            if ("setting", name) in course.follows
        }
        kept = self._holds
        holding: list[AnyAdjust] = []
        to_hold: list[tuple[AnyAdjust, Truth]] = []
        instants = {at for steps in arriving.values() for at, _ in steps if at > now}
        for adjust in adjusts:
            condition = adjust.condition
            if condition is None:
                stretches = _ALWAYS
            else:
                known = kept.get(id(condition))
                if known is None:
                    breathed = timeline.at_the_infant()
                    known = kept[id(condition)] = truth(condition, breathed, now, NEVER)
                stretches = known
            if not stretches:
                continue
            to_hold.append((adjust, stretches))
            for start, end in stretches:
                if start > now:
                    instants.add(start)
                elif now < end:
                    holding.append(adjust)
                if now < end < NEVER:
                    instants.add(end)
        out: _Turns = [(now, _aim(course.course, _come(values, arriving, now), holding))]
        for instant in sorted(instants):
            holding = [
                adjust
                for adjust, stretches in to_hold
                if any(start <= instant < end for start, end in stretches)
            ]
            target = _aim(course.course, _come(values, arriving, instant), holding)
            if target != out[-1][1]:
                out.append((instant, target))
        return out


def _come(
    values: Mapping[str, Value], arriving: Mapping[str, Steps], at_ms: int
) -> Mapping[str, Value]:
    """Return the settings as they have come to the infant at an instant."""
    if not arriving:
        return values
    come = {name: value_of(steps, at_ms) for name, steps in arriving.items()}
    return {**values, **{name: value for name, value in come.items() if value is not None}}


def _aim(
    course: Course | Word, values: Mapping[str, Value], holding: Sequence[AnyAdjust]
) -> float | str:
    """Return the target of a number, or the word that is shown; ``holding``: the shifts that do."""
    if isinstance(course, Course):
        return target_of(course, values, holding)
    return next((shift.word for shift in holding if isinstance(shift, Instead)), course.to)


def _go_on(curve: list[Segment], turns: _Turns) -> None:
    for instant, target in turns:
        curve.append(bent(curve[-1], instant, target))


def _ahead(curve: list[Segment], now: int) -> list[Segment]:
    """Return what was solved ahead for after ``now``."""
    return [segment for segment in curve[1:] if segment.start_ms > now]


def _forget(curve: list[Segment], now: int) -> None:
    """Take away what was solved ahead for after ``now``."""
    while len(curve) > 1 and curve[-1].start_ms > now:
        curve.pop()


def until(curve: Iterable[Segment], end_ms: int) -> tuple[Segment, ...]:
    """Return a curve without what was solved ahead for after ``end_ms``."""
    return tuple(
        segment for number, segment in enumerate(curve) if not number or segment.start_ms <= end_ms
    )


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
