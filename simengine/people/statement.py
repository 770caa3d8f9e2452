"""A competence statement: what may be said of a person, and when nothing may be.

Rules of this file:

- It rests on signed summative outcomes that stand, of confirmed records of finished sessions; both
  achieved and not yet achieved are told. Formative sessions and rehearsals are never counted.
- It needs several different scenarios, for a person's result in one says little about the next:
  person × scenario was the largest part of the variance of such scores, 52 %, beside 17 % for the
  person (Donoghue 2010). Fewer than ``least`` say only that they are too few.
- Of several outcomes in one scenario the latest is told as the person's in it; the others are
  listed too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from simengine.people.decisions import Decision, Outcomes, is_achieved
from simengine.quantities.formatting import count

LEAST_SCENARIOS = 3


@dataclass(frozen=True, slots=True)
class Counted:
    """A signed outcome that a statement rests on."""

    session: str
    day: date
    scenario: str
    roles: tuple[str, ...]
    outcome: str
    achieved: bool
    decision: Decision


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A session that does not count, and why."""

    session: str
    day: date
    scenario: str
    why: str


@dataclass(frozen=True, slots=True)
class Statement:
    """What may be said of one person. ``made`` is false where it is too little to say anything."""

    code: str
    made: bool
    words: str
    scenarios: int
    achieved: int
    least: int
    counted: tuple[Counted, ...]
    left_out: tuple[LeftOut, ...]


def statement(
    code: str, sessions: Iterable[Outcomes], *, least: int = LEAST_SCENARIOS
) -> Statement:
    """Return what may be said of a person from the outcomes of the sessions they took part in.

    ``least``: of how many different scenarios outcomes are needed.
    """
    counted, left_out = [], []
    for attended in sorted(sessions, key=lambda session: (session.day, session.session)):
        if code not in attended.roles:
            continue
        why = attended.why_not_counted(code)
        if why:
            left_out.append(LeftOut(attended.session, attended.day, attended.scenario, why))
            continue
        decision = attended.of(code)
        assert decision is not None
        counted.append(
            Counted(
                attended.session,
                attended.day,
                attended.scenario,
                attended.worked_in(code),
                decision.outcome,
                is_achieved(decision.outcome),
                decision,
            )
        )
    latest = {session.scenario: session for session in counted}
    achieved = sum(session.achieved for session in latest.values())
    made = len(latest) >= least
    return Statement(
        code,
        made,
        _words(counted, len(latest), achieved, least, made),
        len(latest),
        achieved,
        least,
        tuple(counted),
        tuple(left_out),
    )


def _words(counted: list[Counted], scenarios: int, achieved: int, least: int, made: bool) -> str:
    if not counted:
        return "No signed outcome of a summative session counts here, so nothing is said."
    seen = count(scenarios, "scenario", "different scenarios")
    if not made:
        return (
            f"Too few to tell: signed outcomes in {seen}, and at least {least} are needed. "
            "A person seen in few scenarios has not been measured."
        )
    first, last = counted[0].day, counted[-1].day
    return (
        f"Between {first} and {last} signed outcomes in {seen}: achieved in {achieved} of "
        f"{scenarios} (the latest outcome in each scenario counts)."
    )
