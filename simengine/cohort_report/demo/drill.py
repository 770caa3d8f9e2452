"""Hold one session of the timetable: a simulated team plays, and facilitators do the rest.

Rules of this file:

- The team is one of the pilot's; a fault that it overlooks it neither finds nor puts right.
- After the end the facilitator notes real faults that were met, confirms the record, and signs the
  outcome of a summative session where the scenario's recorded standard proposes one.
- Equal arguments give an equal log, byte for byte.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random

from simengine.cohort_report.demo.hospital import Facilitator
from simengine.pilot.entries import Entry
from simengine.pilot.simulate_session import Occasion, Recorder, play_team
from simengine.pilot.skilled_team import SkilledTeam
from simengine.pilot.skills import Level, Skills
from simengine.scenario.model import Scenario
from simengine.scoring import ScoreCard, score
from simengine.session import LiveSession, Session
from simengine.session.truth import Timeline

_CONFIRMED_AFTER_MS = 300_000


class OverlookingTeam(SkilledTeam):
    """A team that does not see one fault."""

    def __init__(
        self, scenario: Scenario, skills: Skills, level: Level, chance: Random, fault: str
    ) -> None:
        super().__init__(scenario, skills, level, chance)
        self._fault = fault
        self._mended_by = scenario.start.faults[fault].mended_by

    def act(self, now_ms: int, real: Timeline) -> list[Entry]:
        """Do what is due, but for the fault and what would put it right."""
        return [
            entry
            for entry in super().act(now_ms, real)
            if entry.data.get("fault") != self._fault
            and entry.data.get("action", "") != self._mended_by
        ]


@dataclass(frozen=True, slots=True)
class Afterwards:
    """What the facilitator adds to the record. ``met``: real faults, in words of their own."""

    facilitator: Facilitator
    confirms: bool
    met: Sequence[str] = ()


def hold(
    scenario: Scenario,
    skills: Skills,
    level: Level,
    recorder: Recorder,
    chance: Random,
    occasion: Occasion,
    afterwards: Afterwards,
    overlooked: str | None = None,
) -> tuple[Session, ScoreCard]:
    """Return the session and its score card (without redraws)."""
    if overlooked in scenario.start.faults and overlooked is not None:
        team: SkilledTeam = OverlookingTeam(scenario, skills, level, chance, overlooked)
    else:
        team = SkilledTeam(scenario, skills, level, chance)
    played = play_team(scenario, team, recorder, chance, occasion)
    session = _with_the_rest(played, afterwards)
    return session, score(session, redraws=0)


def _with_the_rest(played: Session, afterwards: Afterwards) -> Session:
    who = afterwards.facilitator
    end_ms = played.events[-1].noted_ms
    live = LiveSession(played.scenario, played.events, chained=False)

    def add(kind: str, data: Mapping[str, str], at_ms: int, noted_ms: int) -> None:
        live.record(kind, data, at_ms=at_ms, noted_ms=noted_ms, by=who.code)  # type: ignore[arg-type]

    for fault in afterwards.met:
        add("fault", {"fault": fault, "status": "found"}, end_ms // 2, end_ms)
    noted_ms = end_ms + _CONFIRMED_AFTER_MS
    if afterwards.confirms:
        add("confirmed", {}, noted_ms, noted_ms)
        # Of the confirmed record: until then what nobody wrote down stops no pass.
        summative = played.purpose == "summative"
        outcome = score(live.session(), redraws=0).outcome if summative else None
        if outcome is not None:
            signature = {"name": who.name, "credentials": who.credentials, "outcome": outcome}
            add("signed", signature, noted_ms + 60_000, noted_ms + 60_000)
    return live.session()
