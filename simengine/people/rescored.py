"""Today's score beside the one that was signed: neither is altered by the other.

Rules of this file:

- What was signed is told with the total, digests and program of that day, as the log keeps them.
  A signature from before these were kept says so.
- What differs is named, so that nobody has to guess why two totals are not the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.people.decisions import Decision, SignedScore
from simengine.quantities.formatting import percent

_NO_TOTAL = "no total"


@dataclass(frozen=True, slots=True)
class Beside:
    """A signed outcome and what the same record scores today. Totals are fractions of 1."""

    signed: SignedScore | None
    signed_outcome: str
    signed_on: str
    today: SignedScore
    differs: tuple[str, ...]
    words: str


def beside(decision: Decision, today: SignedScore) -> Beside:
    """Lay today's score beside a decision. ``today.proposed`` is empty where none is proposed."""
    signature = decision.signature
    signed = signature.score
    differs = _differs(signed, today, decision.corrected_since)
    then = f"Signed “{signature.outcome}” on {signature.wall[:10]}"
    if signed is None:
        words = f"{then}; the total of that day was not kept with the signature."
    else:
        total = percent(signed.total, none=_NO_TOTAL)
        words = f"{then} at {total} under scenario digest {signed.scenario[:12]}."
    proposed = (
        f"which proposes “{today.proposed}”" if today.proposed else "with no outcome proposed"
    )
    words += f" Today's score: {percent(today.total, none=_NO_TOTAL)}, {proposed}."
    words += f" What differs: {', '.join(differs)}." if differs else " Nothing differs."
    return Beside(signed, signature.outcome, signature.wall, today, differs, words)


def _differs(signed: SignedScore | None, today: SignedScore, corrected: bool) -> tuple[str, ...]:
    out = ["the record was corrected after it was signed"] if corrected else []
    if signed is None:
        return tuple(out)
    if signed.scenario != today.scenario:
        out.append("the scenario")
    if signed.protocol != today.protocol:
        out.append("the protocol")
    if signed.program != today.program:
        out.append(f"the program ({signed.program}, today {today.program})")
    if signed.total != today.total:
        out.append("the total")
    if signed.proposed != today.proposed:
        out.append("the outcome proposed")
    return tuple(out)
