"""Where the room is: which step, which instant, whether it plays, what else is shown.

Rules of this file:

- Nothing ticks: an instant is told with the speed at which it moves on and since when, and each
  screen works out where it is. It stops at the next stop and at the end by the same rule.
- What a tablet sends is checked; what makes no sense is refused in words and changes nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

STEPS = ("feelings", "story", "reasons", "along")
SCORE = "score"
SPEEDS = (0, 1, 4, 16)


class NoPositionError(Exception):
    """What a tablet asked to be shown makes no sense; the words are for a person."""


@dataclass(frozen=True, slots=True)
class Position:
    """What the wall shows. ``at_ms`` on the team's clock, as of ``since_ms`` of the server's clock.

    ``speed``: 0 where it stands. ``moment``: the id of the one that is asked about. ``what_if``:
    what would have come of it is shown. ``codes``: people are told apart by their codes.
    ``with_score``: the score follows the last step.
    """

    step: str = STEPS[0]
    at_ms: int = 0
    speed: int = 0
    since_ms: int = 0
    moment: str = ""
    what_if: bool = False
    codes: bool = False
    with_score: bool = False


def moved(
    position: Position, told: Mapping[str, Any], *, now_ms: int, moments: Collection[str]
) -> Position:
    """Return a position with what a tablet told. Raises ``NoPositionError``.

    ``now_ms``: the server's clock; ``moments``: the ids that there are.
    """
    unknown = set(told) - {"step", "at_ms", "speed", "moment", "what_if", "codes", "with_score"}
    if unknown:
        raise NoPositionError(f"Unknown keys: {', '.join(sorted(map(str, unknown)))[:80]}.")
    changes: dict[str, Any] = {}
    for flag in ("what_if", "codes", "with_score"):
        if flag in told:
            changes[flag] = _known(flag, told[flag], (True, False))
    with_score = changes.get("with_score", position.with_score)
    if "step" in told:
        steps = (*STEPS, SCORE) if with_score else STEPS
        changes["step"] = _known("step", told["step"], steps)
    elif position.step == SCORE and not with_score:
        changes["step"] = STEPS[-1]
    if "moment" in told:
        changes["moment"] = _known("moment", told["moment"], tuple(moments))
        changes.setdefault("what_if", False)
    if "at_ms" in told or "speed" in told:
        at_ms = told.get("at_ms")
        if isinstance(at_ms, bool) or not isinstance(at_ms, int) or abs(at_ms) > 10**12:
            raise NoPositionError("at_ms: expected whole milliseconds on the team's clock.")
        speed = _known("speed", told.get("speed", 0), SPEEDS)
        changes |= {"at_ms": at_ms, "speed": speed, "since_ms": now_ms}
    return replace(position, **changes)


def _known(name: str, value: Any, allowed: tuple[Any, ...]) -> Any:
    if not any(value == choice and type(value) is type(choice) for choice in allowed):
        shown = ", ".join(str(choice) for choice in allowed)
        raise NoPositionError(f"{name}: expected one of {shown}; found {str(value)[:40]!r}.")
    return value
