"""A retry: a session that goes on from a state that another one came to, for a short while.

Rules of this file:

- Its log begins with what the first session's log held as the state was entered, entry by entry
  and at the same times. So settings, lasting actions, curves and the team's clock are as they were
  at that instant, and what goes on from there is the fold that resumes any log.
- It is a rehearsal, and its opening says for good which session and state it is a retry of. So it
  is evidence of nothing, and no cot has to be returned.
- It ends by itself once it has lasted as long as it was given, in scenario time, hold or no hold.
- What was only written down later is not in it: it goes on from what was known then.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from simengine.session.chain import chained
from simengine.session.events import Event

LASTS_MS = 180_000
"""How long a retry lasts where nobody says otherwise."""


@dataclass(frozen=True, slots=True)
class Retry:
    """Which session and state a retry goes on from, at which scenario time, and for how long."""

    session: str
    state: str
    from_ms: int
    lasts_ms: int

    @property
    def ends_ms(self) -> int:
        """The scenario time at which it ends by itself."""
        return self.from_ms + self.lasts_ms


def retry_of(opened: Event | None) -> Retry | None:
    """Return what a session is a retry of, by its opening; ``None`` where it is none."""
    data = opened.data.get("retry") if opened is not None else None
    if not isinstance(data, Mapping):
        return None
    from_ms, lasts_ms = data.get("from_ms"), data.get("lasts_ms")
    if type(from_ms) is not int or type(lasts_ms) is not int:
        return None
    return Retry(str(data.get("session", "")), str(data.get("state", "")), from_ms, lasts_ms)


def log_of_retry(
    events: Sequence[Event], entered: Event, retry: Retry, *, session: str, now: datetime
) -> tuple[Event, ...]:
    """Return the log with which a retry begins.

    ``events``: the first session's; ``entered``: the one of them by which the state was entered.
    ``session``: the retry's own id. ``now``: when it begins; the walls are those of a session that
    has come to ``entered`` by then.
    """
    opened = events[0]
    data: dict[str, Any] = {
        **opened.data,
        "session": session,
        "purpose": "rehearsal",
        "retry": {
            "session": retry.session,
            "state": retry.state,
            "from_ms": retry.from_ms,
            "lasts_ms": retry.lasts_ms,
        },
    }
    begun = now - timedelta(milliseconds=entered.noted_ms)
    kept = (replace(opened, data=data), *events[1 : entered.seq + 1])
    return chained(
        replace(event, wall=_wall(begun + timedelta(milliseconds=event.noted_ms))) for event in kept
    )


def _wall(moment: datetime) -> str:
    return f"{moment.replace(tzinfo=None).isoformat(timespec='milliseconds')}Z"
