"""One trainee's sessions side by side.

Rules of this file:

- Sessions stand in the order in which they were held.
- Only confirmed items that are that person's own and have an entry make the person's share; the
  team's total stands beside it with its interval.
- Few sessions are called few, and no line is drawn through them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from simengine.debrief.debrief_page import Trend
from simengine.debrief.debrief_sentences import say
from simengine.debrief.highlights import difference, share
from simengine.debrief.words import PERSONAL_SIGNS, team_clock, without_entry
from simengine.quantities.formatting import count, day, percent, percent_span
from simengine.report.blocks import Picture, Table
from simengine.scenario.key import Windowed
from simengine.scoring.card import ScoreCard
from simengine.scoring.people import standing
from simengine.session.record import Session

FEW_SESSIONS = 6


@dataclass(frozen=True, slots=True)
class Held:
    """One session as a point of the trend. Shares are fractions of 1."""

    date: str
    scenario: str
    total: float | None
    interval: tuple[float, float] | None
    own: float | None
    own_items: int


def _total(point: Held) -> str:
    interval = f" ({percent_span(*point.interval)})" if point.interval is not None else ""
    return f"{percent(point.total)}{interval}"


def held_on(session: Session) -> str:
    """Return the day of a session in words; the log's own text where it is no date."""
    wall = session.events[0].wall if session.events else ""
    try:
        moment = datetime.fromisoformat(wall)
    except ValueError:
        return wall or say("no_day")
    return day(moment.astimezone())


def held(session: Session, card: ScoreCard, trainee: str) -> Held:
    """Return a session as a point of one trainee's trend."""
    own = [
        item
        for item in card.items
        if standing(session, item, trainee) == "own" and not without_entry(item.kind, item.verdict)
    ]
    return Held(
        date=held_on(session),
        scenario=session.scenario.title,
        total=card.total,
        interval=card.interval,
        own=share(own),
        own_items=sum(item.applied for item in own),
    )


def trend(sessions: Sequence[tuple[Session, ScoreCard]], trainee: str) -> Trend:
    """Return the trend page over sessions in order of time."""
    points = [held(session, card, trainee) for session, card in sessions]
    few = len(points) < FEW_SESSIONS
    lead = say("trend_lead_sessions", sessions=count(len(points), "session"))
    lead += say("trend_few") if few else say("trend_many")
    rows = tuple(
        (
            f"{number}. {point.date}",
            point.scenario,
            _total(point),
            percent(point.own) if point.own_items else say("trend_none_confirmed"),
            count(point.own_items, "item"),
        )
        for number, point in enumerate(points, 1)
    )
    totals = Table(
        title=say("totals_title"),
        columns=(
            say("trend_session"),
            say("trend_scenario"),
            say("trend_team_interval"),
            say("trend_own_items"),
            say("trend_how_many"),
        ),
        rows=rows,
        lead=say("totals_lead"),
    )
    sentences = [
        say(
            "trend_alt_session",
            number=number,
            date=point.date,
            total=percent(point.total),
            own=percent(point.own),
        )
        for number, point in enumerate(points, 1)
    ]
    picture = Picture(
        picture="trend",
        title=say("trend_picture_title"),
        sentences=(),
        alt=say("trend_alt", sessions="; ".join(sentences)),
        note=say("trend_picture_note"),
    )
    return Trend(say("trend_title"), lead, picture, (totals, *_key_times(sessions)))


def _key_times(sessions: Sequence[tuple[Session, ScoreCard]]) -> list[Table]:
    rows: dict[str, list[str]] = {}
    for number, (session, card) in enumerate(sessions):
        items = {item.id: item for item in session.scenario.key}
        scores = {score.id: score for score in card.items}
        for name in session.scenario.key_times:
            item, score = items.get(name), scores.get(name)
            if score is None or not isinstance(item, Windowed):
                continue
            row = rows.setdefault(score.title, ["–"] * len(sessions))
            occasion = next(
                (part for part in score.occasions if part.verdict != "not reached"), None
            )
            if occasion is None:
                row[number] = PERSONAL_SIGNS["not reached"].word
            elif occasion.done_ms is None:
                row[number] = PERSONAL_SIGNS[occasion.verdict].word
            else:
                due = team_clock(session, occasion.opened_ms + item.ideal_ms)
                row[number] = difference(team_clock(session, occasion.done_ms), due)
    if not rows:
        return []
    return [
        Table(
            title=say("trend_key_times_title"),
            columns=(
                say("trend_key_times_step"),
                *(
                    say("trend_key_times_session", number=number + 1)
                    for number in range(len(sessions))
                ),
            ),
            rows=tuple((title, *cells) for title, cells in rows.items()),
            lead=say("trend_key_times_lead"),
        )
    ]
