"""A short way to write the events of an outcome's life."""

from __future__ import annotations

from typing import Any

from simengine.session.events import Event, Kind

DIGEST = "a" * 64
TEAM = {"leader": ["k1ab"], "airway": ["k2cd"]}
SCORE = {
    "total": 0.86, "proposed": "achieved", "scenario": DIGEST, "protocol": DIGEST, "program": "1.0",
}  # fmt: skip


class Log:
    """A session that was finished, to which more is said."""

    def __init__(
        self,
        purpose: str = "summative",
        *,
        session: str = "s1",
        scenario: str = "term",
        day: str = "2026-03-02",
        closed: str = "finished",
        confirmed: bool = True,
        team: dict[str, list[str]] | None = None,
    ) -> None:
        self.events: list[Event] = []
        self.day = day
        self.add(
            "opened",
            session=session,
            scenario={"id": scenario, "version": "1", "digest": DIGEST},
            protocol={"id": "p", "digest": DIGEST},
            program="1.0",
            team=TEAM if team is None else team,
            purpose=purpose,
        )
        self.add("closed", why=closed)
        if confirmed:
            self.add("confirmed")

    def add(self, kind: Kind, **data: Any) -> Event:
        """Add an event."""
        seq = len(self.events)
        wall = f"{self.day}T10:{seq:02d}:00Z"
        event = Event(seq, f"id{seq}", seq * 1000, seq * 1000, wall, kind, "p-desk", data)
        self.events.append(event)
        return event

    def signed(self, name: str = "R. Holm", outcome: str = "achieved", **more: Any) -> Event:
        """Sign an outcome, with what the program had worked out unless ``score`` is ``None``."""
        data = {"score": SCORE, **more}
        if data["score"] is None:
            del data["score"]
        return self.add("signed", name=name, credentials="consultant", outcome=outcome, **data)
