"""What scoring a session again changed, and why.

Rules of this file:

- Why is told by what the score rests on: the record, the scenario, the protocol, the
  edition of the rules of scoring, the program.
- A record that only had something said of its outcome (confirmed, signed, appealed …) was not
  corrected.
- The score before and after stand beside what a person signed, which is never altered.
- No code of a person is in it, so that erasing somebody has nothing to do here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Literal

import orjson
from sqlalchemy import Connection, select

from simengine.cohort.from_card import from_json
from simengine.cohort.records import SessionResult
from simengine.exchange.scoring_jobs import Scored
from simengine.people.outcomes import outcomes_in
from simengine.scoring.edition import WORDS
from simengine.session.events import Event
from simengine.store.tables import results

_SAID_OF_IT = frozenset(("confirmed", "signed", "appealed", "superseded", "put_away", "note"))


@dataclass(frozen=True, slots=True)
class Score:
    """A result's figures and what they rest on, under the names that it has them by."""

    log_hash: str
    scenario_digest: str
    protocol: str
    protocol_digest: str
    program: str
    total: float | None
    outcome: str | None
    edition: int = 1

    @staticmethod
    def of(log_hash: str, result: SessionResult) -> Score:
        """Return those of a result. ``log_hash``: of the last event that was scored."""
        own = [field.name for field in fields(Score) if field.name != "log_hash"]
        return Score(log_hash, **{name: getattr(result, name) for name in own})


@dataclass(frozen=True, slots=True)
class Signed:
    """An outcome that a person signed, and how it stands. ``whose``: the team's or one person's."""

    outcome: str
    standing: str
    whose: Literal["the team's", "one person's"]


@dataclass(frozen=True, slots=True)
class Change:
    """What came of one session. ``before`` is ``None`` if it had no result before.

    ``problem``: why it could not be scored, empty if it could; then ``after`` is ``None``.
    """

    session: str
    why: tuple[str, ...]
    before: Score | None
    after: Score | None
    signed: tuple[Signed, ...]
    problem: str = ""

    @property
    def changed(self) -> bool:
        """Whether total or outcome are others than before."""
        if self.before is None or self.after is None:
            return self.before is not self.after
        return self.before.outcome != self.after.outcome or not _same(
            self.before.total, self.after.total
        )

    def since(self, earlier: Change) -> Change:
        """Return this change as one from before ``earlier``, which is of the same run."""
        why = tuple(dict.fromkeys((*earlier.why, *self.why)))
        return replace(self, before=earlier.before, why=why)

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON values."""
        return {
            "why": list(self.why),
            "before": None if self.before is None else asdict(self.before),
            "after": None if self.after is None else asdict(self.after),
            "signed": [
                {"outcome": signed.outcome, "standing": signed.standing, "whose": signed.whose}
                for signed in self.signed
            ],
            "problem": self.problem,
        }

    @staticmethod
    def from_json(session: str, told: Mapping[str, Any]) -> Change:
        """Return the change that ``as_json`` told."""
        return Change(
            session,
            tuple(told["why"]),
            None if told["before"] is None else Score(**told["before"]),
            None if told["after"] is None else Score(**told["after"]),
            tuple(Signed(**signed) for signed in told["signed"]),
            told["problem"],
        )


def seen(connection: Connection, session: str) -> Score | None:
    """Return the current score of a session as it is stored, ``None`` if it has none."""
    c = results.c
    row = connection.execute(select(c.log_hash, c.result).where(c.session == session, c.current))
    current = row.first()
    if current is None:
        return None
    return Score.of(current.log_hash, from_json(orjson.loads(current.result)))


def change_of(
    before: Score | None, done: Scored, log: Sequence[Event], *, standard: bool | None
) -> Change:
    """Return what scoring changed. ``log``: the session's events, as they were scored.

    ``standard``: whether the scenario as it was run has a recorded one, if that is known.
    """
    after = Score.of(done.log_hash, done.result)
    return Change(done.session, _why(before, after, log), before, after, _signed(log, standard))


def not_scored(
    session: str, why: str, before: Score | None, log: Sequence[Event], *, standard: bool | None
) -> Change:
    """Return the change of a session that could not be scored."""
    return Change(session, (), before, None, _signed(log, standard), why)


def _signed(log: Sequence[Event], standard: bool | None) -> tuple[Signed, ...]:
    """Return what people signed, in order, with how it stands."""
    if not any(event.kind == "signed" for event in log):
        return ()
    return tuple(
        Signed(
            decision.outcome,
            decision.standing(decision.person),
            "the team's" if decision.person is None else "one person's",
        )
        for decision in outcomes_in(log, standard=standard).decisions
    )


def _why(before: Score | None, after: Score, log: Sequence[Event]) -> tuple[str, ...]:
    if before is None:
        return ("first score",)
    why = []
    if before.log_hash != after.log_hash:
        why.append(_why_record(before.log_hash, log))
    if before.scenario_digest != after.scenario_digest:
        why.append("scenario changed")
    if before.protocol != after.protocol:
        why.append("another protocol")
    elif before.protocol_digest != after.protocol_digest:
        why.append("protocol changed")
    if before.edition != after.edition:
        why.append(WORDS[after.edition])
    elif before.program != after.program:
        why.append("program changed")
    return tuple(why)


def _why_record(last_hash: str, log: Sequence[Event]) -> str:
    hashes = [event.hash for event in log]
    if last_hash not in hashes:
        return "record sealed anew"
    after = {event.kind for event in log[hashes.index(last_hash) + 1 :]}
    return "record confirmed or signed" if after <= _SAID_OF_IT else "record corrected"


def _same(first: float | None, other: float | None) -> bool:
    if first is None or other is None:
        return first is other
    return math.isclose(first, other, rel_tol=1e-9, abs_tol=1e-9)
