"""Which items of the marking guide a debrief shows, and which of them count on it.

Rules of this file:

- The team's page shows every item, and all of them count.
- A person's page shows those of the roles that the person held; what was shared, what nobody has
  confirmed, and what has no entry counts for nothing.
- Of a retry only what was asked after the moment from which it went is looked at.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.debrief.debrief_sentences import say
from simengine.debrief.first_try import retry, since_then
from simengine.debrief.words import without_entry
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.scoring.people import standing
from simengine.session.record import Session

_STANDING_MARKS = {
    "own": (),
    "unconfirmed": (say("not_yet_yours"),),
    "shared": (say("role_shared"),),
}


def shown(
    session: Session, card: ScoreCard, trainee: str | None
) -> list[tuple[ItemScore, tuple[str, ...]]]:
    """Return the items of the page, each with what has to stand beside it."""
    again = retry(session)
    items = card.items if again is None else since_then(card.items, again)
    if trainee is None:
        return [(score, ()) for score in items]
    out = []
    for score in items:
        how = standing(session, score, trainee)
        if how != "other":
            out.append((score, _STANDING_MARKS[how]))
    return out


def unsafe(session: Session, card: ScoreCard, trainee: str | None) -> list[ItemScore]:
    """Return what was unsafe in any baby, which stands on the team's page of a whole session."""
    return [] if trainee is not None or retry(session) is not None else list(card.unsafe)


def counting(session: Session, scores: Sequence[ItemScore], trainee: str | None) -> list[ItemScore]:
    """Return those of the items shown that count."""
    if trainee is None:
        return list(scores)
    return [
        score
        for score in scores
        if standing(session, score, trainee) == "own"
        and not without_entry(score.kind, score.verdict)
    ]
