"""The score of a session: a pure function of (scenario, protocol, log).

``make_plan`` lays the marking guide beside a session, ``resample`` holds the recorded times,
``marking`` gives every item its credit and verdict, ``certainty`` does so again with the times
redrawn, and ``cards`` tells it. Each kind of item has a file of its own in ``kinds``.
"""

from __future__ import annotations

from simengine.scoring.card import ScoreCard
from simengine.scoring.cards import score_card
from simengine.scoring.certainty import redrawn
from simengine.scoring.make_plan import make_plan
from simengine.scoring.marking import mark, total_of
from simengine.scoring.resample import Resample
from simengine.scoring.verdict_sentences import NoWords, VerdictSentences
from simengine.session.record import Session

__all__ = ["ScoreCard", "score"]


def score(session: Session, *, redraws: int = 1000, words: bool = True) -> ScoreCard:
    """Return the score card of a session.

    ``redraws``: how often the recorded times are redrawn for the 90 % interval and for what is
    too close to call; 0 leaves these out, as for a session that a machine recorded. ``words``:
    whether the card says its verdicts; without, its sentences are empty and its figures the same.
    """
    plan = make_plan(session)
    record = session.record
    resample = Resample(plan, [recorded.at_ms for recorded in record.marks], record.clock_ms)
    marked = mark(plan, resample)
    total = total_of(marked)
    certainty = redrawn(plan, marked, total, redraws)
    teller = VerdictSentences(resample) if words else NoWords(resample)
    return score_card(plan, teller, marked, total, certainty)
