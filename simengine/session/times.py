"""From the log's time to scenario time and back.

Rules of this file:

- Scenario time is the log's time (ms since the session was opened) less the pauses before it,
  plus the skips before it. Within a pause it stands at the pause's start.
- A pause, a resume and a skip act when they are noted: till then the scenario had gone on, and
  what the team saw is a fact. So the past never changes its scenario time.
- At one ms ``seq`` decides whether a skip comes before or after.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

_LAST = 2**62


@dataclass(slots=True)
class Times:
    """``turns``: (log ms, seq, scenario ms from there on, whether it runs), in order."""

    turns: list[tuple[int, int, int, bool]] = field(default_factory=lambda: [(0, -1, 0, True)])
    paused_ms: int = 0

    @property
    def paused(self) -> bool:
        """Whether scenario time stands still now."""
        return not self.turns[-1][3]

    def scenario(self, at_ms: int, seq: int = _LAST) -> int:
        """Return the scenario time of a log time; ``seq`` for what stands at a skip's own ms."""
        turns = self.turns
        if len(turns) == 1:
            return at_ms if at_ms > 0 else 0
        turn = turns[-1]
        if (at_ms, seq) < (turn[0], turn[1]):
            turn = turns[max(bisect_right(turns, (at_ms, seq, _LAST, True)) - 1, 0)]
        return turn[2] + (at_ms - turn[0]) if turn[3] and at_ms > turn[0] else turn[2]

    def log(self, scenario_ms: int) -> int:
        """Return the first log time at which scenario time has come to ``scenario_ms``."""
        turns = self.turns
        number = len(turns) - 1
        if not number:
            return scenario_ms
        while number > 0 and turns[number][2] >= scenario_ms:
            number -= 1
        at, _, scenario, runs = turns[number]
        following = turns[number + 1][0] if number + 1 < len(turns) else None
        if not runs:
            # In a pause only a skip moves time on; after the last turn nobody can tell yet.
            return at if following is None else following
        instant = at + max(0, scenario_ms - scenario)
        return instant if following is None else min(instant, following)

    def pause(self, noted_ms: int, seq: int) -> bool:
        """Stop scenario time; false if it stands already."""
        if self.paused:
            return False
        self._turn(noted_ms, seq, self.scenario(noted_ms, seq), runs=False)
        return True

    def resume(self, noted_ms: int, seq: int) -> bool:
        """Let scenario time go on; false if it runs already."""
        if not self.paused:
            return False
        self._turn(noted_ms, seq, self.scenario(noted_ms, seq), runs=True)
        return True

    def forget_pause(self) -> None:
        """Let time go on as if the pause of now had not begun."""
        if self.paused:
            self.turns.pop()

    def skip(self, noted_ms: int, seq: int, ms: int) -> None:
        """Move scenario time on by ``ms`` at once."""
        self._turn(noted_ms, seq, self.scenario(noted_ms, seq) + ms, runs=not self.paused)

    def _turn(self, noted_ms: int, seq: int, scenario_ms: int, *, runs: bool) -> None:
        if self.paused:
            self.paused_ms += noted_ms - self.turns[-1][0]
        self.turns.append((noted_ms, seq, scenario_ms, runs))
