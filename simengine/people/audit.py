"""For an audit: what one person's outcome rests on, link by link, and what it does not prove.

Rules of this file:

- The chain goes from the guideline's edition to the signature: guideline, protocol, scenario,
  standard, pilot, observers, record, signatures. No link is left out: one that is missing says so.
- A link is ``partly`` there where something is, but not all that an auditor asks.
- Words are for a person who has not seen the program; every digest is whole, so that it can be
  compared.
- Only sessions that count (``Outcomes.why_not_counted``) have a chain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from simengine.people.decisions import Decision, Outcomes, Signature, same_person
from simengine.people.pilots import PilotSeen
from simengine.quantities.formatting import figure, percent
from simengine.scenario.model import Scenario

State = Literal["there", "partly", "missing"]

DOES_NOT_PROVE = (
    "That the same would be done for a real baby. This was practice, with a manikin, at a time "
    "that was chosen.",
    "That another scenario would go the same way. Of the variance of such scores 52 % lay between "
    "persons on scenarios, and 17 % between persons (Donoghue 2010).",
    "What one person did alone, where the outcome is a team's: it is theirs together.",
    "That everything was seen. Whoever runs a session does not observe everything (Advances in "
    "Simulation 2023, 8:28), and what was not seen leaves the score.",
    "That the skill lasts. It tells of one day.",
    "That the guideline is today's, or right for one baby: local guidelines and licensed practice "
    "decide.",
    "Who typed a name. The program keeps what was signed from being changed; it does not know who "
    "sat at the keyboard.",
)


@dataclass(frozen=True, slots=True)
class Link:
    """One link of the chain."""

    title: str
    state: State
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """What one session's outcome rests on, for one person."""

    session: str
    day: date
    scenario: str
    roles: tuple[str, ...]
    outcome: str
    links: tuple[Link, ...]


def chain(
    code: str,
    outcomes: Outcomes,
    *,
    last_hash: str,
    recorders: Sequence[str],
    scenario: Scenario | None,
    pilot: PilotSeen | None,
    observers: Link,
) -> Chain:
    """Return the chain of a session that counts for a person.

    ``last_hash``: of the log; ``recorders``: the keys of who recorded; ``scenario``: the version
    that was run, ``None`` where it is not at hand; ``pilot``: the latest of the scenario's;
    ``observers``: what is known of the agreement of observers.
    """
    decision = outcomes.of(code)
    if decision is None:
        raise ValueError("a session without an outcome has no chain")
    if scenario is not None and scenario.digest != outcomes.scenario_digest:
        scenario = None
    return Chain(
        outcomes.session,
        outcomes.day,
        scenario.title if scenario else outcomes.scenario,
        outcomes.worked_in(code),
        decision.outcome,
        (
            _guideline(scenario),
            _protocol(outcomes, scenario),
            _scenario(outcomes, scenario),
            _standard(scenario),
            _pilot(outcomes, pilot),
            observers,
            _record(decision, last_hash, recorders),
            _signatures(code, decision),
        ),
    )


def _guideline(scenario: Scenario | None) -> Link:
    title = "Guideline"
    if scenario is None:
        return Link(title, "missing", (_NOT_AT_HAND,))
    protocol = scenario.protocol
    words = [f"{protocol.title}, edition {protocol.edition}. Source: {protocol.source}"]
    if protocol.superseded_by:
        words.append(f"Superseded by: {protocol.superseded_by}")
    return Link(title, "partly" if protocol.superseded_by else "there", tuple(words))


def _protocol(outcomes: Outcomes, scenario: Scenario | None) -> Link:
    title = "Protocol file"
    digest = f"Digest {outcomes.protocol_digest}."
    if scenario is None or scenario.protocol.digest != outcomes.protocol_digest:
        return Link(title, "partly", (digest, _NOT_AT_HAND))
    signed = scenario.protocol.signed_by
    if signed is None:
        words = "Unsigned: no local clinician has put a name to its figures."
        return Link(title, "partly", (f"{scenario.protocol.id}. {digest}", words))
    return Link(
        title,
        "there",
        (f"{scenario.protocol.id}. {digest}", f"Signed by {signed.name} on {signed.date}."),
    )


def _scenario(outcomes: Outcomes, scenario: Scenario | None) -> Link:
    digest = f"Digest {outcomes.scenario_digest}."
    if scenario is None:
        return Link("Scenario", "partly", (f"{outcomes.scenario}. {digest}", _NOT_AT_HAND))
    words = f"{scenario.title} ({scenario.id}), version {scenario.version}. {digest}"
    return Link("Scenario", "there", (words,))


def _standard(scenario: Scenario | None) -> Link:
    title = "Standard"
    if scenario is None:
        return Link(title, "missing", (_NOT_AT_HAND,))
    scoring = scenario.scoring
    standard = scoring.standard
    if standard is None or scoring.pass_mark is None:
        return Link(title, "missing", ("The scenario has no pass mark with a recorded standard.",))
    if standard.demonstration:
        words = "The scenario's standard was invented for demonstration: nobody has set it."
        return Link(title, "missing", (words,))
    words = f"Pass mark {percent(scoring.pass_mark)}, set by {standard.method}."
    panel = f"Panel: {standard.panel}. Date: {standard.date}."
    if standard.error is None:
        return Link(title, "partly", (words, panel, "Its standard error is not stated."))
    error = f"Standard error {figure(100 * standard.error, 1)} percentage points."
    return Link(title, "there", (words, panel, error))


def _pilot(outcomes: Outcomes, pilot: PilotSeen | None) -> Link:
    title = "Pilot"
    if pilot is None:
        words = "No pilot of this scenario was found. Simulated teams play it with simengine pilot."
        return Link(title, "missing", (words,))
    if outcomes.scenario_digest != pilot.digest:
        words = f"{pilot.page} is of another version of the scenario."
        return Link(title, "partly", (words,))
    words = f"Played by simulated teams, see {pilot.page}. No pilot with people is recorded here."
    return Link(title, "there", (words,))


def _record(decision: Decision, last_hash: str, recorders: Sequence[str]) -> Link:
    words = [
        f"Confirmed by a person; recorded by {', '.join(recorders) or 'nobody named'}.",
        f"The log is a chain of hashes; the last is {last_hash}.",
    ]
    if decision.corrected_since:
        words.append("The record was corrected after the outcome was signed.")
    return Link("Record", "partly" if decision.corrected_since else "there", tuple(words))


def _signatures(code: str, decision: Decision) -> Link:
    whose = "the team" if decision.person is None else code
    first = decision.signature
    words = [f"“{first.outcome}” for {whose}, signed by {_who(first)}."]
    score = first.score
    if score is None:
        words.append("The total of that day was not kept with the signature.")
    else:
        total = percent(score.total, none="no total")
        words.append(
            f"On that day the program worked out {total} and proposed “{score.proposed}” "
            f"(simengine {score.program})."
        )
        if not same_person(score.proposed, first.outcome):
            words.append("The person decided otherwise than the program proposed.")
    for signature in decision.countersigned:
        words.append(f"Countersigned by {_who(signature)}.")
        if signature.by == first.by:
            words.append("Both signatures came from the same device or account.")
    if not decision.countersigned:
        words.append("Nobody has countersigned it.")
    words += [
        f"Appealed on {appeal.wall[:10]}, and answered by a signature."
        for appeal in decision.appeals
    ]
    whole = bool(decision.countersigned) and score is not None
    return Link("Signatures", "there" if whole else "partly", tuple(words))


def _who(signature: Signature) -> str:
    return f"{signature.name}, {signature.credentials}, on {signature.wall[:10]}"


_NOT_AT_HAND = "The version that was run is not at hand here, so its content can't be shown."
"""Said where the scenario's file has been changed or is gone."""
