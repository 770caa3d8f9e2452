"""Times, shares, verdicts and values in the words that a person reads.

Rules of this file:

- Times are told on the team's clock, ``m:ss``, cut down to whole seconds as a clock shows them;
  before time zero with a minus sign. Until the clock has started they count from the start.
- Every number has its unit.
"""

from __future__ import annotations

from simengine.debrief.page import Sign
from simengine.quantities import format_quantity
from simengine.scenario.model import Scenario
from simengine.scenario.protocol import Protocol
from simengine.scenario.wanted import Value
from simengine.scoring.card import Verdict
from simengine.session.record import Session

SIGNS: dict[Verdict, Sign] = {
    "on time": Sign("disc", "on time"),
    "late": Sign("diamond", "late"),
    "too late": Sign("triangle down", "too late"),
    "early": Sign("triangle up", "early"),
    "setting off": Sign("square", "setting off"),
    "not recorded": Sign("open square", "setting not recorded"),
    "attempted": Sign("open diamond", "attempted"),
    "missed": Sign("ring", "missed"),
    "partly": Sign("half disc", "partly"),
    "kept": Sign("disc", "kept"),
    "in order": Sign("disc", "in order"),
    "out of order": Sign("triangle right", "out of order"),
    "done in error": Sign("cross", "not advised here"),
    "not done": Sign("dash", "not done, as advised"),
    "not reached": Sign("dash", "not reached"),
}

UNASKED = Sign("dot", "recorded, no verdict of its own")
CUE = Sign("dash", "cue from the facilitator")


def team_clock(session: Session, at_ms: int) -> int:
    """Return scenario time as ms on the team's clock (since the start before it has any)."""
    return at_ms - (session.record.clock_ms or 0)


def clock(ms: int) -> str:
    """Tell ms on the team's clock: ``1:18``, ``−0:20``."""
    seconds = abs(ms) // 1000
    sign = "−" if ms < 0 and seconds else ""
    return f"{sign}{seconds // 60}:{seconds % 60:02d}"


def at(session: Session, at_ms: int) -> str:
    """Tell an instant of scenario time on the team's clock."""
    return clock(team_clock(session, at_ms))


def percent(share: float | None) -> str:
    """Tell a share as a percentage in whole figures; ``–`` where there is none."""
    return "–" if share is None else f"{100 * share:.0f} %"


def span_words(interval: tuple[float, float] | None) -> str:
    """Tell the 90 % interval of a total."""
    return "" if interval is None else f"{percent(interval[0])} to {percent(interval[1])}"


def value_words(value: Value, unit: str | None, decimals: int | None = None) -> str:
    """Tell a setting or observation with its unit."""
    return value if isinstance(value, str) else format_quantity(value, unit or "", decimals)


def zero_words(scenario: Scenario) -> str | None:
    """Return the name of the event that is time zero, in words."""
    return scenario.start.clock.replace("_", " ") if scenario.start.clock else None


def protocol_lines(protocol: Protocol) -> tuple[str, ...]:
    """Tell what figures are from: edition, source, signature, and what has superseded it."""
    lines = [
        f"Protocol: {protocol.title}, edition {protocol.edition}.",
        f"Source: {protocol.source.rstrip('.')}.",
        f"Signed by {protocol.signed_by.name} on {protocol.signed_by.date}."
        if protocol.signed_by
        else "Unsigned: no local clinician has put a name to it yet.",
    ]
    if protocol.superseded_by:
        lines.append(f"Superseded by: {protocol.superseded_by.rstrip('.')}.")
    return tuple(lines)


def count(number: int, one: str, many: str | None = None) -> str:
    """Tell how many there are: ``1 step``, ``3 steps``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def times(number: int) -> str:
    """Tell how often: ``once``, ``twice``, ``3 times``."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def listed(parts: list[str]) -> str:
    """Join words into a list in a sentence."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"
