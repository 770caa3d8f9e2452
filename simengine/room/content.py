"""What the debriefing room has to show of a session, as plain data.

Rules of this file:

- Nothing here names a person, and no verdict stands in what happened: the picture, what was known
  and what was done are told as they were.
- The facilitator's notes and marks are stops on the way. Their words are for the tablet alone
  (``for_the_wall`` leaves them out).
- Moments are those that the debrief tells, what was unsafe first; each with what was seen, what was
  done and what care asks for. What would have come of another act stands with it where it can be
  told.
- Instants are ms on the team's clock (before time zero negative); until it has started they count
  from the start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from simengine.debrief.debrief_page import Point
from simengine.debrief.first_try import retry
from simengine.debrief.highlights import summary_lines, went_well, work_on
from simengine.debrief.interest import curves_by_interest, words_by_interest
from simengine.debrief.picture_in_words import picture_sentences
from simengine.debrief.scene import Curve, Piece, Scene
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.story import story
from simengine.debrief.what_if import WhatIf
from simengine.debrief.words import SIGNS, protocol_lines, team_clock
from simengine.desk.baby_sentences import told_value
from simengine.desk.scene import Scene as DeskScene
from simengine.desk.scene import value_words
from simengine.quantities.formatting import capitalised, clock, percent
from simengine.room.room_sentences import say
from simengine.scenario.key import Item, Windowed
from simengine.scenario.vocabulary import Observation
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.scoring.kinds import item_asked
from simengine.session.entry_words import entry_words
from simengine.session.fold import Fold
from simengine.session.readings import known_at
from simengine.session.record import Session, Stay
from simengine.store.prebriefs import AGREED

_SAMPLE_MS = 2_000
_MOST_CURVES = 2
_MOST_WORDS = 2
_ACTS = frozenset({"action", "set", "event", "fault"})

MomentKind = Literal["unsafe", "work_on", "well"]
_HEADINGS: dict[MomentKind, str] = {
    "unsafe": say("moment_unsafe"),
    "work_on": say("moment_work_on"),
    "well": say("moment_well"),
}


@dataclass(frozen=True, slots=True)
class Told:
    """Words at an instant."""

    at_ms: int
    words: str


@dataclass(frozen=True, slots=True)
class Known:
    """What the team knew from an instant on, a line for each observation."""

    at_ms: int
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """A state from an instant to another; ``trend`` as the scenario has it."""

    at_ms: int
    until_ms: int
    title: str
    trend: str


@dataclass(frozen=True, slots=True)
class Lasting:
    """What lasted, in words, from an instant to another."""

    at_ms: int
    until_ms: int
    words: str


@dataclass(frozen=True, slots=True)
class Line:
    """A curve: pieces of (instant, value), solid where the team could read it; single readings.

    ``levels``: where the marking guide asks for something.
    """

    label: str
    unit: str
    pieces: tuple[tuple[bool, tuple[tuple[int, float], ...]], ...]
    readings: tuple[tuple[int, float], ...]
    levels: tuple[float, ...]
    other: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Retryable:
    """A state that can be gone on from again: the event that entered it."""

    event: str
    at_ms: int
    words: str


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment to ask about. ``id``: of its item. ``others``: the curves had it gone otherwise."""

    id: str
    kind: MomentKind
    heading: str
    title: str
    at_ms: int
    seen: tuple[str, ...]
    done: str
    asked: str
    why: str
    what_if: str
    others: tuple[tuple[tuple[int, float], ...], ...]
    again: Retryable | None


@dataclass(frozen=True, slots=True)
class Content:
    """All that the room shows of a session."""

    title: str
    caution: str
    protocol: str
    start_ms: int
    end_ms: int
    zero: str
    alt: str
    sentences: tuple[str, ...]
    story: tuple[str, ...]
    states: tuple[Shown, ...]
    lines: tuple[Line, ...]
    lasting: tuple[Lasting, ...]
    acts: tuple[Told, ...]
    known: tuple[Known, ...]
    stops: tuple[Told, ...]
    moments: tuple[Moment, ...]
    retries: tuple[Retryable, ...]
    score: tuple[str, ...]


def content_of(session: Session, card: ScoreCard, what_if: Sequence[WhatIf] = ()) -> Content:
    """Return what the room shows of a session that has ended."""
    return _Content(session, card, what_if).made()


def for_the_wall(content: Content) -> Content:
    """Return what may stand on the wall: without the facilitator's own words."""
    stops = tuple(replace(stop, words="") for stop in content.stops)
    return replace(content, stops=stops, retries=())


class _Content:
    def __init__(self, session: Session, card: ScoreCard, what_if: Sequence[WhatIf]) -> None:
        self.session = session
        self.card = card
        self.what_if = {answer.item: answer for answer in what_if}
        self.scene = scene_of(session, card)
        fold = Fold(session.scenario)
        for event in session.events:
            fold.feed(event)
        self.desk = DeskScene(fold, 0, 0)
        observations = session.scenario.vocabulary.observations
        names = [*curves_by_interest(session)[:_MOST_CURVES]]
        names += words_by_interest(session)[:_MOST_WORDS]
        self.looked_at = [observations[name] for name in observations if name in names]

    def made(self) -> Content:
        session, scenario = self.session, self.session.scenario
        states = self._states()
        return Content(
            title=scenario.title,
            caution=scenario.vocabulary.caution,
            protocol=" ".join(protocol_lines(scenario.protocol)),
            start_ms=self._at(0),
            end_ms=self._at(session.end_ms),
            zero=self.scene.zero or "",
            alt=self._alt(states),
            sentences=picture_sentences(session, self.scene),
            story=story(session, self.card),
            states=states,
            lines=_lines(self.scene),
            lasting=self._lasting(),
            acts=self._acts(),
            known=self._known(),
            stops=self._stops(),
            moments=self._moments(),
            retries=tuple(self._retryable(stay) for stay in self._passed()),
            score=self._score(),
        )

    def _at(self, at_ms: int) -> int:
        return team_clock(self.session, at_ms)

    # --- what happened --------------------------------------------------------------------------

    def _states(self) -> tuple[Shown, ...]:
        states = self.session.scenario.states
        return tuple(
            Shown(
                self._at(stay.entry_ms),
                self._at(min(stay.exit_ms, self.session.end_ms)),
                states[stay.state].title,
                states[stay.state].trend or "",
            )
            for stay in self.session.stays
            if stay.entry_ms < self.session.end_ms
        )

    def _alt(self, states: Sequence[Shown]) -> str:
        sentences = "; ".join(
            say("picture_state", title=state.title, when=clock(state.at_ms)) for state in states
        )
        start, end = clock(self._at(0)), clock(self._at(self.session.end_ms))
        return say("picture_alt", start=start, end=end, states=sentences)

    def _acts(self) -> tuple[Told, ...]:
        """Return what was done, in order; a planted fault is no act of the team."""
        acts = [
            Told(self._entry_at(event.at_ms, event.seq), entry_words(self.session.scenario, event))
            for event in self.session.effective
            if event.kind in _ACTS and event.data.get("status") != "planted"
        ]
        return tuple(sorted(acts, key=lambda act: act.at_ms))

    def _lasting(self) -> tuple[Lasting, ...]:
        actions, end = self.session.scenario.vocabulary.actions, self.session.end_ms
        return tuple(
            Lasting(
                self._at(performance.start_ms),
                self._at(min(performance.stop_ms, end)),
                actions[performance.action].label,
            )
            for performance in self.session.record.performances
            if performance.stop_ms is not None
            and performance.acts
            and 0 <= performance.start_ms < min(performance.stop_ms, end)
        )

    def _entry_at(self, at_ms: int, seq: int) -> int:
        return self._at(self.session.times.scenario(at_ms, seq))

    def _known(self) -> tuple[Known, ...]:
        out: list[Known] = []
        end = self.session.end_ms
        for at_ms in [*range(0, end, _SAMPLE_MS), end]:
            lines = self._known_lines(at_ms)
            if not out or out[-1].lines != lines:
                out.append(Known(self._at(at_ms), lines))
        return tuple(out)

    def _known_lines(self, at_ms: int) -> tuple[str, ...]:
        return tuple(self._known_line(observation, at_ms) for observation in self.looked_at)

    def _known_line(self, observation: Observation, at_ms: int) -> str:
        label = capitalised(observation.label)
        known = known_at(self.session, observation.name, at_ms)
        if known is None:
            return say("known_not", label=label)
        if known.streams:
            return say("known_now", label=label, value=value_words(known.value, observation))
        shown = told_value(self.desk, observation, known.at_ms)
        value = shown or value_words(known.value, observation)
        when = clock(self._at(known.at_ms))
        return say("known_read", label=label, value=value, when=when)

    def _stops(self) -> tuple[Told, ...]:
        """Return the facilitator's notes and marks, at the time at which they were begun."""
        stops = [
            Told(self._entry_at(event.at_ms, event.seq), str(event.data.get("text", "")))
            for event in self.session.effective
            if event.kind == "note" and event.data.get("text") != AGREED
        ]
        end = self._at(self.session.end_ms)
        return tuple(sorted((stop for stop in stops if stop.at_ms <= end), key=lambda s: s.at_ms))

    # --- why --------------------------------------------------------------------------------------

    def _moments(self) -> tuple[Moment, ...]:
        """Return what to ask about: two worth another look and one that went well first."""
        card, session = self.card, self.session
        again = retry(session)
        since = 0 if again is None else again.from_ms
        scores = {score.id: score for score in (*card.items, *card.unsafe)}
        opened = [score for score in card.items if _opened(score, since)]
        sentences = {name: score.sentence for name, score in scores.items()}
        deductions = () if again is not None else card.deductions
        unsafe = {item.id for item in session.scenario.never}
        look: list[Moment] = []
        for point in work_on(session, opened, deductions, sentences).points:
            kind: MomentKind = "unsafe" if point.item in unsafe else "work_on"
            look.append(self._moment(point, kind, scores.get(point.item)))
        good = [
            self._moment(point, "well", scores.get(point.item))
            for point in went_well(session, opened).points
        ]
        moments = {moment.id for moment in (*look, *good)}
        for name in self.what_if:  # what can be asked "what if?" is always a touch away
            score = scores.get(name)
            if score is not None and name not in moments:
                point = Point(name, score.title, score.sentence, score.why)
                look.append(self._moment(point, "work_on", score))
        first = [*[moment for moment in look if moment.kind == "unsafe"], *look]
        chosen = list({moment.id: moment for moment in [*first[:2], *good[:1]]}.values())
        rest = [moment for moment in (*look, *good) if moment.id not in {two.id for two in chosen}]
        return (*sorted(chosen, key=lambda moment: moment.at_ms), *rest)

    def _moment(self, point: Point, kind: MomentKind, score: ItemScore | None) -> Moment:
        scenario = self.session.scenario
        items = {item.id: item for item in scenario.key}
        at_ms = self._instant(score)
        stays = [stay for stay in self.session.stays if stay.entry_ms <= at_ms]
        title = scenario.states[stays[-1].state].title if stays else ""
        seen = [say("seen_in_state", title=title)] if title else []
        answer = self.what_if.get(point.item)
        passed = [stay for stay in self._passed() if stay.entry_ms <= at_ms]
        return Moment(
            id=point.item,
            kind=kind,
            heading=_HEADINGS[kind],
            title=point.title,
            at_ms=self._at(at_ms),
            seen=(*seen, *self._known_lines(at_ms)),
            done=point.evidence,
            asked=item_asked(scenario, _in_short(items[point.item]))
            if point.item in items
            else say("asked_never"),
            why=point.why,
            what_if=answer.words if answer is not None else "",
            others=tuple(
                line.other for line in _lines(scene_of(self.session, self.card, answer.other))
            )
            if answer is not None
            else (),
            again=self._retryable(passed[-1]) if passed else None,
        )

    def _instant(self, score: ItemScore | None) -> int:
        """Return when an item was asked, the time at which least of it was met; else when done."""
        if score is None:
            return 0
        reached = [occasion for occasion in score.occasions if occasion.verdict != "not reached"]
        if reached:
            return min(reached, key=lambda occasion: occasion.credit or 0.0).opened_ms
        instants = [evidence.at_ms for evidence in score.evidence if evidence.at_ms is not None]
        return min(instants, default=0)

    def _passed(self) -> list[Stay]:
        """Return the stays that can be gone on from again: entered after the start, no end."""
        states = self.session.scenario.states
        return [
            stay
            for stay in self.session.stays[1:]
            if not states[stay.state].ends and stay.entry_ms < self.session.end_ms
        ]

    def _retryable(self, stay: Stay) -> Retryable:
        title = self.session.scenario.states[stay.state].title
        at_ms = self._at(stay.entry_ms)
        words = say("retry_from", title=title, when=clock(at_ms))
        return Retryable(stay.event_id or "", at_ms, words)

    def _score(self) -> tuple[str, ...]:
        if retry(self.session) is not None:
            return ()
        total = self.card.total
        whole = (
            say("score_total_none") if total is None else say("score_total", total=percent(total))
        )
        return (whole, *summary_lines(self.card.items, SIGNS))


def _in_short(item: Item) -> Item:
    """Return what an item asks first and foremost: its figures stand in what was done."""
    if not isinstance(item, Windowed):
        return item
    return replace(item, settings={}, must=(), dose=None, latest_ms=item.ideal_ms)


def _opened(score: ItemScore, since_ms: int) -> bool:
    return since_ms == 0 or any(occasion.opened_ms >= since_ms for occasion in score.occasions)


def _lines(scene: Scene) -> tuple[Line, ...]:
    return tuple(_line(curve) for curve in scene.curves[:_MOST_CURVES])


def _line(curve: Curve) -> Line:
    levels = {
        end
        for threshold in curve.thresholds
        for end in (threshold.low, threshold.high)
        if end is not None
    }
    return Line(
        label=curve.label,
        unit=curve.unit,
        pieces=tuple((piece.known, _points(piece)) for piece in curve.pieces),
        readings=tuple((round(1000 * at), value) for at, value in curve.readings),
        levels=tuple(sorted(levels)),
        other=tuple((round(1000 * at), round(value, 2)) for at, value in curve.other),
    )


def _points(piece: Piece) -> tuple[tuple[int, float], ...]:
    return tuple(
        (round(1000 * at), round(value, 2))
        for at, value in zip(piece.times, piece.values, strict=True)
    )
