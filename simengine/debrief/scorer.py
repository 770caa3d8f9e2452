"""Score cards, made beside this process while it imports what draws and prints.

Rules of this file:

- The cards come twice: as recorded, which is all that a picture needs, and with their intervals,
  which take a thousand redraws more.
- The cards are the same to the last digit wherever they were made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from types import TracebackType
from typing import Any

from simengine.debrief.beside import GoneError, begin
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session


class Scorer:
    """Scores some sessions, from the moment it is made."""

    def __init__(self, sessions: Sequence[Session]) -> None:
        self._sessions = sessions
        self._beside = begin(lambda _: _both(sessions))

    def __enter__(self) -> Scorer:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._alone()

    def as_recorded(self) -> list[ScoreCard]:
        """Return the cards without intervals; to be asked for first."""
        return self._cards(redraws=False)

    def with_intervals(self) -> list[ScoreCard]:
        """Return the whole cards; to be asked for afterwards."""
        return self._cards(redraws=True)

    def _cards(self, *, redraws: bool) -> list[ScoreCard]:
        if self._beside is not None:
            try:
                cards: list[ScoreCard] = self._beside.answer()
            except GoneError:
                self._alone()
            else:
                return cards
        return _scored(self._sessions, redraws=redraws)

    def _alone(self) -> None:
        if self._beside is not None:
            self._beside.leave()
            self._beside = None


def _both(sessions: Sequence[Session]) -> Iterator[Any]:
    yield _scored(sessions, redraws=False)
    yield _scored(sessions, redraws=True)


def _scored(sessions: Sequence[Session], *, redraws: bool) -> list[ScoreCard]:
    from simengine.scoring import score

    return [score(session) if redraws else score(session, redraws=0) for session in sessions]
