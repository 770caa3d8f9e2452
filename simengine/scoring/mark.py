"""What marking gives: for each item its occasions, credit and verdict, as plain values.

Rules of this file:

- A mark holds no words: sentences and evidence are made from it, for who reads them.
- ``repeat`` and ``keep`` have their verdict by a share of the time: 1 reads ``kept``, 0 ``missed``,
  between them ``partly``.
"""

from __future__ import annotations

from simengine.scoring.card import EQUAL, Verdict
from simengine.scoring.occasion import Occasion
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Run
from simengine.session.record import Interval


class Marked:
    """An item as marked in one resample. ``credit`` is ``None`` where it is not reached.

    ``why``: a word for why it is not reached. ``unrecorded``: something that it asks was not
    recorded. ``runs``: what ``repeat`` and ``order`` rest on.
    ``part`` of ``whole`` ms for ``repeat`` and ``keep``. ``deducted``: a fraction of 1.
    """

    __slots__ = (
        "credit",
        "deducted",
        "occasions",
        "occurred",
        "part",
        "plan",
        "runs",
        "unrecorded",
        "verdict",
        "whole",
        "why",
        "with_cue",
    )

    def __init__(self, plan: ItemPlan) -> None:
        self.plan = plan
        self.credit: float | None = None
        self.verdict: Verdict = "not reached"
        self.why = ""
        self.with_cue = False
        self.unrecorded = False
        self.occasions: list[Occasion] = []
        self.runs: list[Run | None] = []
        self.part: int | None = None
        self.whole: int | None = None
        self.occurred: list[tuple[Interval, Run | None]] = []
        self.deducted = 0.0

    def give_share(self, share: float) -> None:
        """Take a share of the time as credit."""
        self.credit = share
        if share >= 1.0 - EQUAL:
            self.verdict = "kept"
        else:
            self.verdict = "partly" if share > 0.0 else "missed"
