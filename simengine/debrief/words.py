"""Verdicts, instants of a session and protocols in the words that a person reads.

Rules of this file: times are told on the team's clock; until it has started they count from the
start.
"""

from __future__ import annotations

from collections.abc import Mapping

from simengine.debrief.debrief_sentences import say
from simengine.quantities.formatting import clock
from simengine.report.blocks import Sign
from simengine.scenario.key import Kind
from simengine.scenario.model import Scenario
from simengine.scenario.protocol import Protocol
from simengine.scoring.card import Verdict
from simengine.session.record import Session

SIGNS: dict[Verdict, Sign] = {
    "on time": Sign("disc", say("sign_on_time")),
    "late": Sign("diamond", say("sign_late")),
    "too late": Sign("triangle down", say("sign_too_late")),
    "early": Sign("triangle up", say("sign_early")),
    "setting off": Sign("square", say("sign_setting_off")),
    "not recorded": Sign("open square", say("sign_setting_not_recorded")),
    "attempted": Sign("open diamond", say("sign_attempted")),
    "told wrong": Sign("triangle right", say("sign_told_wrong")),
    "missed": Sign("ring", say("sign_missed")),
    "partly": Sign("half disc", say("sign_partly")),
    "kept": Sign("disc", say("sign_kept")),
    "in order": Sign("disc", say("sign_in_order")),
    "out of order": Sign("triangle right", say("sign_out_of_order")),
    "done in error": Sign("cross", say("sign_not_advised_here")),
    "not done": Sign("dash", say("sign_not_done_as_advised")),
    "not reached": Sign("dash", say("sign_not_reached")),
}

PERSONAL_SIGNS: dict[Verdict, Sign] = {**SIGNS, "missed": Sign("ring", say("not_recorded"))}
"""As on one person's page: what has no entry is the record's, not the person's."""

UNASKED = Sign("dot", say("sign_recorded_no_verdict_of_its_own"))
CUE = Sign("dash", say("sign_cue_from_the_facilitator"))


def signs_of(trainee: str | None) -> Mapping[Verdict, Sign]:
    """Return the signs of verdicts on the team's page, or on one person's."""
    return SIGNS if trainee is None else PERSONAL_SIGNS


def without_entry(kind: Kind, verdict: Verdict | str) -> bool:
    """Whether a verdict rests on there being no entry: on one person's page nothing of it counts.

    Nothing was written down at all, or too seldom for what is asked again and again.
    """
    return verdict == "missed" or (kind == "repeat" and verdict == "partly")


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
        say("protocol", title=protocol.title, edition=protocol.edition),
        say("protocol_source", source=protocol.source.rstrip(".")),
        say("protocol_signed", name=protocol.signed_by.name, date=protocol.signed_by.date)
        if protocol.signed_by
        else say("protocol_unsigned"),
    ]
    if protocol.superseded_by:
        lines.append(say("protocol_superseded", superseded_by=protocol.superseded_by.rstrip(".")))
    return tuple(lines)
