"""The score of a session: a pure function of (scenario, protocol, log).

``plan`` lays the marking guide beside a session, ``draw`` holds the recorded times, ``marking``
gives every item its credit and verdict, ``certainty`` does so again with the times redrawn, and
``cards`` tells it. Each kind of item has a file of its own.
"""

from __future__ import annotations

from simengine.scoring.card import ScoreCard
from simengine.scoring.cards import score_card
from simengine.scoring.certainty import redrawn
from simengine.scoring.draw import Draw
from simengine.scoring.marking import mark, total_of
from simengine.scoring.plan import make_plan
from simengine.session.record import Session

__all__ = ["ScoreCard", "score"]


def score(session: Session, *, redraws: int = 1000) -> ScoreCard:
    """Return the score card of a session.

    ``redraws``: how often the recorded times are redrawn for the 90 % interval and for what is
    too close to call; 0 leaves these out, as for a session that a machine recorded.
    """
    plan = make_plan(session)
    record = session.record
    draw = Draw(plan, [one.at_ms for one in record.marks], record.clock_ms)
    marked = mark(plan, draw)
    total = total_of(marked)
    certainty = redrawn(plan, marked, total, redraws)
    return score_card(plan, draw, marked, total, certainty)
