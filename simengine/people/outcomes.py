"""The life of an outcome, as a session's log tells it.

Rules of this file:

- An outcome is a person's decision, ``signed`` with name and credentials.
- ``signed`` again with the same outcome by somebody else is a countersignature. The same person
  again counts for nothing. Somebody else with another outcome is a disagreement: then nothing
  stands until one of the two is superseded.
- ``appealed`` without an item puts an outcome under appeal, for the person named or for all. The
  appeal is answered when somebody who has not signed yet signs: with the same outcome it stands
  again; with another, that one supersedes it. With an item it is a remark that stands beside.
- ``superseded`` ends an outcome; both stay to be read. An appeal that waited lives on against what
  its signers sign next.
- What was signed is never corrected in place: an ``amend`` of these events counts for nothing.
- A signature where there is no outcome to sign (``simengine.session.signatures``), as a log from
  elsewhere may have, is kept, noted, and counts for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from simengine.people.decisions import (
    Appeal,
    Decision,
    Outcomes,
    Signature,
    SignedScore,
    Superseded,
    same_person,
)
from simengine.session.corrections import corrected
from simengine.session.events import Event
from simengine.session.signatures import why_not_signed

KINDS = frozenset(
    (
        *("opened", "amend", "joined", "left", "role", "closed"),
        *("confirmed", "signed", "appealed", "superseded"),
    )
)
"""The events that tell of outcomes and of whom they are; no others are looked at."""

_SAID = frozenset(("signed", "appealed", "superseded"))


def outcomes_in(events: Iterable[Event], *, standard: bool | None = True) -> Outcomes:
    """Return the outcomes that a log tells of; ``events`` begin with ``opened``.

    Events of kinds other than ``KINDS`` may be left out. ``standard``: whether the scenario that
    was run has a recorded standard; ``None`` where that is not known: then a signature counts if
    it carries the outcome that the program had proposed, which it does with a standard alone.
    """
    events = [event for event in events if event.kind in KINDS]
    effective = corrected(events, None).events
    opened = events[0]
    ended = next((event for event in effective if event.kind == "closed"), None)
    closed = None if ended is None else str(ended.data["why"])
    in_vain = why_not_signed(str(opened.data["purpose"]), closed, standard=standard)
    life = _Life(in_vain, needs_score=standard is None)
    for event in events:
        life.take(event)
    return Outcomes(
        session=str(opened.data["session"]),
        day=datetime.fromisoformat(opened.wall).date(),
        scenario=str(opened.data["scenario"]["id"]),
        scenario_digest=str(opened.data["scenario"]["digest"]),
        protocol_digest=str(opened.data["protocol"]["digest"]),
        purpose=str(opened.data["purpose"]),
        closed=closed,
        confirmed=any(event.kind == "confirmed" for event in effective),
        roles=_roles(effective),
        decisions=tuple(life.decisions),
        remarks=tuple(life.remarks),
        notes=tuple(life.notes),
    )


class _Life:
    """Reads the events of outcomes one after the other.

    ``in_vain``: why no signature counts, empty where they do. ``needs_score``: one without what
    the program had proposed counts for nothing.
    """

    def __init__(self, in_vain: str, *, needs_score: bool) -> None:
        self._in_vain = in_vain
        self._needs_score = needs_score
        self.decisions: list[Decision] = []
        self.remarks: list[tuple[str, str]] = []
        self.notes: list[str] = []
        self._said: set[str] = set()

    def take(self, event: Event) -> None:
        """Take in one event of the log."""
        data = event.data
        person = data.get("person") if event.kind in _SAID else None
        if event.kind in _SAID:
            self._said.add(event.id)
        if event.kind == "signed":
            self._signed(event, person)
        elif event.kind == "appealed":
            self._appealed(event, person)
        elif event.kind == "superseded":
            decision = self._current(person)
            if decision is None:
                self.notes.append(f"Line {event.seq + 1}: there was no outcome to supersede.")
            else:
                superseding = Superseded(event.id, event.wall, person, str(data.get("by", "")))
                decision.superseded.append(superseding)
        elif event.kind == "amend":
            if data.get("id") in self._said:
                self.notes.append(
                    f"Line {event.seq + 1}: what was signed or appealed is never corrected; "
                    "supersede it."
                )
            else:
                for decision in self.decisions:
                    decision.corrected_since = True

    def _signed(self, event: Event, person: str | None) -> None:
        signature = _signature(event)
        in_vain = self._in_vain
        if not in_vain and self._needs_score and signature.score is None:
            in_vain = "It does not say what outcome was proposed, as it would under a standard."
        if in_vain:
            self.notes.append(
                f"Line {event.seq + 1}: {signature.name} signed “{signature.outcome}”, which "
                f"counts for nothing. {in_vain}"
            )
            return
        before = self._current(person)
        if before is None or (before.person != person and not before.open_appeals(person)):
            self._decide(person, signature)
            return
        if _has_signed(before, signature):
            self.notes.append(
                f"Line {event.seq + 1}: {signature.name} had signed already, so this signature "
                "counts for nothing."
            )
            return
        agrees = same_person(before.outcome, signature.outcome)
        was_appealed = bool(before.open_appeals(person))
        _answer(before, person, signature)
        if was_appealed and not agrees:
            before.superseded.append(Superseded(event.id, event.wall, person, event.id))
        if before.person != person or (was_appealed and not agrees):
            self.decisions.append(Decision(person, signature))
        else:
            (before.countersigned if agrees else before.dissents).append(signature)

    def _decide(self, person: str | None, signature: Signature) -> None:
        """Begin a decision. An appeal against the one before it lives on until it is answered."""
        decision = Decision(person, signature)
        past = [earlier for earlier in self.decisions if earlier.person == person]
        if past and past[-1].open_appeals(person):
            if _has_signed(past[-1], signature):
                decision.appeals += past[-1].open_appeals(person)
            else:
                _answer(past[-1], person, signature)
        self.decisions.append(decision)

    def _appealed(self, event: Event, person: str | None) -> None:
        text = str(event.data.get("text", ""))
        item = event.data.get("item")
        decision = self._current(person)
        if item is not None:
            self.remarks.append((str(item), text))
        elif decision is None:
            self.notes.append(f"Line {event.seq + 1}: there was no outcome to appeal against.")
        else:
            decision.appeals.append(Appeal(event.id, event.wall, person, text))

    def _current(self, person: str | None) -> Decision | None:
        """Return the decision that an event about ``person`` is about."""
        for scope in (person, None):
            for decision in reversed(self.decisions):
                if decision.person == scope and decision.standing(person) != "superseded":
                    return decision
        return None


def _has_signed(decision: Decision, signature: Signature) -> bool:
    return any(same_person(signer.name, signature.name) for signer in decision.signers)


def _answer(decision: Decision, person: str | None, signature: Signature) -> None:
    decision.appeals = [
        replace(appeal, answered=signature.event)
        if appeal.answered is None and appeal.person == person
        else appeal
        for appeal in decision.appeals
    ]


def _signature(event: Event) -> Signature:
    data = event.data
    score = data.get("score")
    return Signature(
        event.id,
        event.seq,
        event.wall,
        str(data.get("name", "")),
        str(data.get("credentials", "")),
        str(data.get("outcome", "")),
        event.by,
        None if not isinstance(score, dict) else SignedScore(**score),
    )


def _roles(effective: Sequence[Event]) -> dict[str, tuple[str, ...]]:
    held: dict[str, dict[str, None]] = {}

    def takes(person: Any, role: Any) -> None:
        if person and role:
            held.setdefault(str(person), {})[str(role)] = None

    for event in effective:
        if event.kind == "opened":
            for role, people in event.data.get("team", {}).items():
                for person in people:
                    takes(person, role)
        elif event.kind in ("joined", "role"):
            takes(event.data.get("person"), event.data.get("role"))
    return {person: tuple(roles) for person, roles in held.items()}
