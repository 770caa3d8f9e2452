"""Verdicts, instants of a session and protocols in the words that a person reads.

Rules of this file: times are told on the team's clock; until it has started they count from the
start.
"""

from __future__ import annotations

from simengine.quantities.wording import clock
from simengine.report.blocks import Sign
from simengine.scenario.model import Scenario
from simengine.scenario.protocol import Protocol
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
    "told wrong": Sign("triangle right", "told wrong"),
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


def at(session: Session, at_ms: int) -> str:
    """Tell an instant of scenario time on the team's clock."""
    return clock(team_clock(session, at_ms))


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
