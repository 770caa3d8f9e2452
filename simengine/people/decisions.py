"""Outcomes as plain values: what was decided of a session, by whom, and how it stands.

Rules of this file:

- An outcome is the whole team's unless it names a ``person``; a person's own goes before the
  team's.
- It proves something of a person only where the session was summative and finished, its record is
  confirmed, the person held a role that is not played for the team (``played_roles.yaml``), and the
  outcome is ``achieved`` and stands: not superseded, not under appeal, not disputed. A formative
  session or a rehearsal never does.
- Names are one where they read the same whatever the case and blanks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from simengine.people.currency import Evidence
from simengine.people.played_roles import played_roles

OutcomeWord = Literal["achieved", "not yet achieved"]
Standing = Literal["stands", "under appeal", "disputed", "superseded"]

ACHIEVED: OutcomeWord = "achieved"
OUTCOMES: tuple[OutcomeWord, ...] = ("achieved", "not yet achieved")


@dataclass(frozen=True, slots=True)
class SignedScore:
    """What the program had worked out when an outcome was signed: fraction of 1, digests."""

    total: float | None
    proposed: str
    scenario: str
    protocol: str
    program: str


@dataclass(frozen=True, slots=True)
class Signature:
    """Somebody signed. ``by``: the key of the device or account it came from."""

    event: str
    seq: int
    wall: str
    name: str
    credentials: str
    outcome: str
    by: str
    score: SignedScore | None = None


@dataclass(frozen=True, slots=True)
class Appeal:
    """Somebody asked for an outcome to be looked at again. ``answered``: the signature that did."""

    event: str
    wall: str
    person: str | None
    text: str
    answered: str | None = None


@dataclass(frozen=True, slots=True)
class Superseded:
    """An outcome was replaced, by the session or signature with the id ``by``."""

    event: str
    wall: str
    person: str | None
    by: str


@dataclass(slots=True)
class Decision:
    """One outcome and what became of it. ``person``: whose, ``None`` for the team's."""

    person: str | None
    signature: Signature
    countersigned: list[Signature] = field(default_factory=list)
    dissents: list[Signature] = field(default_factory=list)
    appeals: list[Appeal] = field(default_factory=list)
    superseded: list[Superseded] = field(default_factory=list)
    corrected_since: bool = False

    @property
    def outcome(self) -> str:
        """The outcome that was signed."""
        return self.signature.outcome

    @property
    def signers(self) -> tuple[Signature, ...]:
        """Everybody who has signed, first to last."""
        return (self.signature, *self.countersigned, *self.dissents)

    def standing(self, code: str | None) -> Standing:
        """Return how it stands for one person; for the team as a whole with ``None``."""
        if any(superseded.person in (None, code) for superseded in self.superseded):
            return "superseded"
        if self.open_appeals(code):
            return "under appeal"
        return "disputed" if self.dissents else "stands"

    def open_appeals(self, code: str | None) -> tuple[Appeal, ...]:
        """Return the appeals that wait for an answer, as far as they touch one person."""
        return tuple(
            appeal
            for appeal in self.appeals
            if appeal.answered is None and appeal.person in (None, code)
        )


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What was decided of a session, in order, nothing left out.

    ``roles``: code → every role held. ``notes``: what counted for nothing, and why.
    ``remarks``: (item, words) that people who saw it differently left.
    """

    session: str
    day: date
    scenario: str
    scenario_digest: str
    protocol_digest: str
    purpose: str
    closed: str | None
    confirmed: bool
    roles: dict[str, tuple[str, ...]]
    decisions: tuple[Decision, ...]
    remarks: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]

    def of(self, code: str | None) -> Decision | None:
        """Return the decision that holds for a person: their own before the team's, the last first.

        A superseded one is returned only where none came after it.
        """
        own = [
            decision for decision in self.decisions if code is not None and decision.person == code
        ]
        team = [decision for decision in self.decisions if decision.person is None]
        for some in (own, team):
            alive = [decision for decision in some if decision.standing(code) != "superseded"]
            if alive:
                return alive[-1]
        past = own or team
        return past[-1] if past else None

    def why_not_counted(self, code: str) -> str:
        """Return why nothing can be said of a person by this session; empty where it can."""
        decision = self.of(code)
        if code not in self.roles:
            return "no role was held"
        if not self.worked_in(code):
            return "only a role was held that is played for the team"
        if self.purpose != "summative":
            return f"a {self.purpose} session is never evidence"
        if self.closed != "finished":
            return "the session was not finished"
        if not self.confirmed:
            return "the record is not confirmed"
        if decision is None:
            return "no outcome has been signed"
        standing = decision.standing(code)
        return "" if standing == "stands" else f"the outcome is {standing}"

    def evidence(self) -> tuple[Evidence, ...]:
        """Return what the session proves, of whom."""
        out = []
        for code in self.roles:
            decision = self.of(code)
            if not self.why_not_counted(code) and decision and is_achieved(decision.outcome):
                roles = self.worked_in(code)
                out.append(Evidence(code, self.session, self.day, self.scenario, roles))
        return tuple(out)

    def worked_in(self, code: str) -> tuple[str, ...]:
        """Return the roles that a person held and that are not played for the team."""
        return tuple(role for role in self.roles.get(code, ()) if role not in played_roles())


def is_achieved(outcome: str) -> bool:
    """Whether the words of a signed outcome are those of one that was achieved."""
    return " ".join(outcome.split()).casefold() == ACHIEVED


def same_person(one: str, other: str) -> bool:
    """Whether two names read the same."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()
