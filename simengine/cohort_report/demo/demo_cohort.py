"""The invented cohort: roster, sessions, results and latent safety threats.

Rules of this file:

- One seed (in the hospital's file) makes all of it, the same on every machine.
- Each session has a generator of its own, so that one more draw in one changes no other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult, Threat
from simengine.cohort_report.demo.drill import Afterwards, hold
from simengine.cohort_report.demo.hospital import Hospital, Met, load_hospital
from simengine.cohort_report.demo.roster import demo_roster
from simengine.cohort_report.demo.scenarios import load_scenarios, write_scenarios
from simengine.cohort_report.demo.second import second_log
from simengine.cohort_report.demo.skill import drifted, level_of, people_of
from simengine.cohort_report.demo.timetable import Slot, team_for, timetable
from simengine.people.roster import Roster
from simengine.pilot.simulate_session import Occasion, Recorder
from simengine.pilot.skills import load_skills
from simengine.scoring import ScoreCard, score
from simengine.session import Session


@dataclass(frozen=True, slots=True)
class DemoSession:
    """One session that the hospital held, on which unit, with its score and result."""

    unit: str
    session: Session
    card: ScoreCard
    result: SessionResult


@dataclass(frozen=True, slots=True)
class DemoCohort:
    """All of it."""

    hospital: Hospital
    roster: Roster
    sessions: tuple[DemoSession, ...]
    second_logs: tuple[DemoSession, ...]

    @property
    def results(self) -> tuple[SessionResult, ...]:
        """The sessions' results, in order of time."""
        return tuple(session.result for session in self.sessions)

    @property
    def second_results(self) -> tuple[SessionResult, ...]:
        """The results of second observers' logs of some of the same sessions."""
        return tuple(log.result for log in self.second_logs)

    @property
    def threats(self) -> tuple[Threat, ...]:
        """The latent safety threats."""
        return self.hospital.threats


def demo_cohort(
    *, sessions: int | None = None, told: Callable[[int, int], None] | None = None
) -> DemoCohort:
    """Return the invented cohort, or its first ``sessions``.

    ``told(done, all)`` is called after each session. Takes about 20 ms for each.
    """
    hospital = load_hospital()
    roster = demo_roster()
    held: list[DemoSession] = []
    number = hospital.sessions if sessions is None else min(sessions, hospital.sessions)
    for session in _held(hospital, roster):
        if len(held) == number:
            break
        held.append(session)
        if told is not None:
            told(len(held), number)
    return DemoCohort(hospital, roster, tuple(held), tuple(_second_logs(hospital, held)))


def _second_logs(hospital: Hospital, held: list[DemoSession]) -> Iterator[DemoSession]:
    recorder = Recorder.of(load_skills())
    codes = [facilitator.code for facilitator in hospital.facilitators]
    for number, first in enumerate(held):
        if number % hospital.second_observer_every or first.result.purpose == "rehearsal":
            continue
        others = [code for code in codes if code not in first.result.by]
        chance = Random(f"{hospital.seed}/second/{number}")
        session = second_log(first.session, chance.choice(others), recorder, chance)
        card = score(session, redraws=0)
        yield DemoSession(first.unit, session, card, result_of(session, card, unit=first.unit))


def _held(hospital: Hospital, roster: Roster) -> Iterator[DemoSession]:
    skills = load_skills()
    recorder = replace(Recorder.of(skills), missed=hospital.unrecorded)
    slots = timetable(hospital, Random(f"{hospital.seed}/timetable"))
    with TemporaryDirectory() as folder:
        scenarios = load_scenarios(write_scenarios(hospital, Path(folder)))
    codes = [trainee.code for trainee in roster.trainees]
    people = people_of(codes, hospital.skill, Random(f"{hospital.seed}/people"))
    facilitators = {facilitator.code: facilitator for facilitator in hospital.facilitators}
    roles: Counter[tuple[str, str]] = Counter()
    to_meet = list(hospital.met)
    for slot in slots:
        chance = Random(f"{hospital.seed}/session/{slot.number}")
        scenario = scenarios[slot.scenario]
        team = team_for(
            slot, scenario, hospital.played_by_facilitators, roster, people, roles, chance
        )
        members = [people[code] for codes in team.values() for code in codes]
        skill = sum(member.skill(hospital.skill, slot.day) for member in members) / max(
            len(members), 1
        )
        skill += chance.gauss(0.0, hospital.skill.spread_of_days)
        skill += hospital.skill.assessed if slot.purpose == "summative" else 0.0
        skill -= drifted(hospital.drift, slot.unit.name, slot.day)
        fault, share = hospital.overlooked
        overlooked = fault if chance.random() < share else None
        confirms = slot.purpose != "rehearsal" and chance.random() < hospital.confirmed
        session, card = hold(
            scenario,
            skills,
            level_of(skill, skills),
            recorder,
            chance,
            Occasion(slot.wall, slot.purpose, team, slot.by),
            Afterwards(facilitators[slot.by], confirms, _met(to_meet, slot)),
            overlooked,
        )
        for member in members:
            member.took_part(slot.day)
        result = result_of(session, card, unit=slot.unit.name)
        yield DemoSession(slot.unit.name, session, card, result)


def _met(to_meet: list[Met], slot: Slot) -> list[str]:
    """Take what this session is the first to meet."""
    now = [met for met in to_meet if met.unit == slot.unit.name and met.day <= slot.day][:1]
    for met in now:
        to_meet.remove(met)
    return [met.fault for met in now]
