"""Score cards, made beside this process while it imports what draws and prints.

Rules of this file:

- The cards come twice: as recorded, which is all that a picture needs, and with their intervals,
  which take a thousand redraws more.
- The cards are the same to the last digit wherever they were made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from simengine.debrief.beside import Beside
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session


class Scorer(Beside):
    """Scores some sessions, from the moment it is made."""

    def __init__(self, sessions: Sequence[Session]) -> None:
        super().__init__(lambda _: _both(sessions))
        self._sessions = sessions

    def as_recorded(self) -> list[ScoreCard]:
        """Return the cards without intervals; to be asked for first."""
        return self.answer(lambda: _scored(self._sessions, redraws=False))

    def with_intervals(self) -> list[ScoreCard]:
        """Return the whole cards; to be asked for afterwards."""
        return self.answer(lambda: _scored(self._sessions, redraws=True))


def _both(sessions: Sequence[Session]) -> Iterator[Any]:
    yield _scored(sessions, redraws=False)
    yield _scored(sessions, redraws=True)


def _scored(sessions: Sequence[Session], *, redraws: bool) -> list[ScoreCard]:
    from simengine.scoring import score

    return [score(session) if redraws else score(session, redraws=0) for session in sessions]
