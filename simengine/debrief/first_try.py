"""A retry beside the first try, from the moment on from which it went.

Rules of this file:

- Only what was asked within the retry's time is compared: what stands before it in its log is the
  first try's own, and of what came after it the retry can't tell.
- States stand first: what the baby came to, and when; then each item that was asked.
- Both times are told on the team's clock, which runs on from the first try's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from simengine.debrief.debrief_sentences import say
from simengine.debrief.words import SIGNS, at
from simengine.quantities import format_duration
from simengine.report.blocks import Table
from simengine.scoring.card import ItemScore, OccasionScore, ScoreCard
from simengine.session.record import Session
from simengine.session.retry import Retry, retry_of

Scored = tuple[Session, ScoreCard]


def retry(session: Session) -> Retry | None:
    """Return what a session is a retry of; ``None`` where it is none."""
    return retry_of(session.events[0] if session.events else None)


def notice(session: Session, again: Retry) -> str:
    """Tell from when on a session is a retry."""
    return say(
        "notice_retry",
        title=_title(session, again.state),
        when=at(session, again.from_ms),
        lasts=format_duration(again.lasts_ms),
    )


def since_then(scores: Sequence[ItemScore], again: Retry) -> list[ItemScore]:
    """Return the items that were asked after the moment from which a retry went."""
    return [
        score
        for score in scores
        if any(occasion.opened_ms >= again.from_ms for occasion in score.occasions)
    ]


def beside_first_try(first: Scored, second: Scored) -> Table | None:
    """Return a retry beside the first try; ``None`` where nothing was asked in its time."""
    again = retry(second[0])
    if again is None:
        return None
    rows = [*_states(first[0], second[0], again), *_items(first, second, again)]
    if not rows:
        return None
    return Table(
        title=say("first_try_title"),
        columns=(say("first_try_what"), say("first_try_first"), say("first_try_second")),
        rows=tuple(rows),
        lead=say("first_try_lead", when=at(second[0], again.from_ms)),
    )


def _states(first: Session, second: Session, again: Retry) -> list[tuple[str, ...]]:
    """Tell when each state was entered the first time and this time."""
    entered: list[Mapping[str, int]] = []
    for session in (first, second):
        came: dict[str, int] = {}
        for stay in session.stays:
            if again.from_ms < stay.entry_ms <= again.ends_ms:
                came.setdefault(stay.state, stay.entry_ms)
        entered.append(came)
    names = sorted(
        {*entered[0], *entered[1]},
        key=lambda name: min(came[name] for came in entered if name in came),
    )
    rows = []
    for name in names:
        cells = [
            at(session, came[name]) if name in came else say("first_try_not_entered")
            for session, came in zip((first, second), entered, strict=True)
        ]
        rows.append((say("first_try_state", title=_title(second, name)), *cells))
    return rows


def _items(first: Scored, second: Scored, again: Retry) -> list[tuple[str, ...]]:
    rows = []
    before = {score.id: score for score in first[1].items}
    for score in second[1].items:
        cells = [
            _told(session, _in_time(row, again))
            for session, row in ((first[0], before.get(score.id)), (second[0], score))
        ]
        if any(cells):
            rows.append((score.title, *(cell or say("first_try_not_asked") for cell in cells)))
    return rows


def _in_time(score: ItemScore | None, again: Retry) -> list[OccasionScore]:
    return [
        occasion
        for occasion in (score.occasions if score is not None else ())
        if again.from_ms <= occasion.opened_ms < again.ends_ms and occasion.verdict != "not reached"
    ]


def _told(session: Session, occasions: Sequence[OccasionScore]) -> str:
    return ", ".join(
        say("not_recorded")
        if occasion.done_ms is None
        else say(
            "first_try_done",
            when=at(session, occasion.done_ms),
            verdict=SIGNS[occasion.verdict].word,
        )
        for occasion in occasions
    )


def _title(session: Session, state: str) -> str:
    entered = session.scenario.states.get(state)
    return entered.title if entered is not None else state
