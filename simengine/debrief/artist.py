"""Pictures, drawn beside this process while it reads, scores and writes.

Rules of this file:

- What draws takes longest to load: an artist who is asked for first has loaded it by the time that
  there is something to draw.
- Pictures come in the order in which their subjects were shown, the same to the byte wherever they
  were drawn.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from simengine.debrief.beside import Beside

if TYPE_CHECKING:
    from simengine.debrief.scene import Scene
    from simengine.debrief.trend import Held


class Artist(Beside):
    """Draws scenes of sessions and trends over several."""

    def __init__(self) -> None:
        super().__init__(_pictures)
        self._shown: deque[Scene | Sequence[Held]] = deque()

    def show(self, subject: Scene | Sequence[Held]) -> None:
        """Have a session's scene drawn, or the points of a trend."""
        self._shown.append(subject)
        self.tell(subject)

    def picture(self) -> bytes:
        """Return the SVG file of the first subject that was shown and not yet returned."""
        subject = self._shown.popleft()
        return self.answer(lambda: _drawn(subject))


def _pictures(subjects: Iterator[Any]) -> Iterator[bytes]:
    import simengine.debrief.picture.compose
    import simengine.debrief.picture.trend  # noqa: F401 - loaded before anything is to be drawn

    return (_drawn(subject) for subject in subjects)


def _drawn(subject: Scene | Sequence[Held]) -> bytes:
    from simengine.debrief.picture.compose import draw
    from simengine.debrief.picture.trend import draw_trend
    from simengine.report.drawing import svg

    if isinstance(subject, Sequence):
        return svg(draw_trend(subject))
    return svg(draw(subject))
