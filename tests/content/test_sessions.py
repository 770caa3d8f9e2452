"""The recorded sessions that travel with the scenarios."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from simengine.scenario.demonstration import held_to_its_mark
from simengine.scoring import score
from simengine.session import Session, Timed, fold, play, read_log, verify_log
from simengine.session.dynamics import curve_at
from tests import shipped
from tests.content.play import SESSIONS, log_of, perform, plays
from tests.content.what_is_shipped import PROTOCOLS, SCENARIOS, scenario
from tests.plays.test_shipped import scores_told_wrong


@cache
def session(name: str) -> Session:
    events = perform(name)
    return fold(scenario(events[0].data["scenario"]["id"]), events)


def test_every_scenario_has_a_steady_team_and_a_first_try() -> None:
    assert plays() == sorted(f"{s}-{kind}" for s in SCENARIOS for kind in ("first-try", "steady"))
    assert sorted(path.name for path in SESSIONS.iterdir()) == [
        f"{name}.session.jsonl" for name in plays()
    ]


@pytest.mark.parametrize("name", plays())
def test_a_play_makes_the_committed_log_byte_for_byte(name: str) -> None:
    """If it fails after a change of content: ``python -m tests.content.play``."""
    committed = (SESSIONS / f"{name}.session.jsonl").read_bytes()
    assert committed == log_of(name)


@pytest.mark.parametrize("name", plays())
def test_a_committed_log_is_whole_and_what_was_due_was_taken(name: str) -> None:
    events = read_log(SESSIONS / f"{name}.session.jsonl")
    assert verify_log(session(name).scenario, events) is None


@pytest.mark.parametrize("name", plays())
def test_a_committed_log_finds_its_scenario_by_itself(name: str) -> None:
    opened = shipped.opened(name)
    assert opened.warnings == ()
    assert opened.session == session(name)


@pytest.mark.parametrize("name", plays())
def test_a_steady_team_scores_well_and_a_first_try_does_not(name: str) -> None:
    # Ten times the adrenaline does not cure, so what follows a recovery is not reached.
    least = 0.25 if name.startswith("term-not-breathing") else 0.35
    low, high = (0.85, 0.96) if name.endswith("steady") else (least, 0.60)
    total = score(session(name), redraws=0).total
    assert total is not None
    assert low <= total <= high


@pytest.mark.parametrize("name", [name for name in plays() if name.endswith("steady")])
def test_a_steady_team_tells_the_apgar_score_that_the_signs_make(name: str) -> None:
    assert scores_told_wrong(session(name)) == []


def test_no_recorded_session_has_an_outcome_under_a_mark_that_nobody_has_set() -> None:
    assert {score(session(name), redraws=0).outcome for name in plays()} == {None}


def test_the_assessed_cot_check_would_be_achieved_if_a_panel_had_set_the_mark() -> None:
    assessed = session("cot-term-steady")
    set_ = replace(assessed, scenario=held_to_its_mark(assessed.scenario))
    assert score(set_, redraws=200).outcome == "achieved"


def test_a_tenfold_dose_is_in_a_record_to_be_found() -> None:
    card = score(session("term-not-breathing-first-try"), redraws=0)
    dose = next(item for item in card.items if item.id == "adrenaline").occasions[0]
    assert [setting.name for setting in dose.settings if setting.tenfold] == ["amount"]


@pytest.mark.parametrize("name", plays())
def test_a_recorded_session_was_finished_and_has_no_finding(name: str) -> None:
    assert session(name).closed == "finished"
    assert session(name).findings == ()


@pytest.mark.parametrize("name", plays())
def test_people_in_a_log_are_random_keys(name: str) -> None:
    people = {event.by for event in session(name).events} - {"program"}
    people |= {key for keys in session(name).record.team.values() for key in keys}
    people |= {
        event.data["person"] for event in session(name).events if event.kind in ("joined", "left")
    }
    assert all(re.fullmatch(r"[a-z0-9]{8}", person) for person in people)


def test_the_logs_hold_what_people_do_when_they_record() -> None:
    """Corrections, removals, late entries, pauses, holds, prompts, joining, leaving, skips …"""
    events = [event for name in plays() for event in session(name).events]
    assert {event.kind for event in events} >= {
        "action",
        "amend",
        "closed",
        "confirmed",
        "cue",
        "event",
        "fault",
        "hold",
        "information",
        "joined",
        "left",
        "note",
        "opened",
        "pause",
        "release",
        "resume",
        "returned",
        "set",
        "skip",
        "state",
        "unavailable",
        "unobserved",
    }
    assert any(event.data.get("withdrawn") for event in events)
    assert any(event.noted_ms - event.at_ms > 5_000 for event in events if event.kind == "action")
    ways = {event.data.get("how", "done") for event in events if event.kind == "action"}
    assert ways >= {"done", "simulated", "attempted", "said"}
    assert {event.data["cause"] for event in events if event.kind == "state"} == {
        "start",
        "rule",
        "facilitator",
    }
    assert len({event.by for event in events}) > 3


def test_the_teams_begin_to_ventilate_when_real_teams_do() -> None:
    """Bjorland 2020 (read): first ventilation at 78 s (42-118) in real resuscitations."""
    for name in ("term-not-breathing-steady", "term-not-breathing-first-try"):
        record = session(name).record
        first = next(p for p in record.performances if p.action == "mask_ventilation")
        assert record.clock_ms is not None
        assert 42_000 <= first.start_ms - record.clock_ms <= 118_000


def test_the_cot_goes_back_to_service_before_the_session_closes() -> None:
    for name in ("cot-term-steady", "cot-term-first-try"):
        kinds = [event.kind for event in session(name).events]
        assert kinds.index("returned") < kinds.index("closed")


@pytest.mark.parametrize("name", plays())
def test_what_a_display_would_show_stays_possible(name: str) -> None:
    """Every second of every curve: SpO2 within 0-100 %, heart rate and temperature of a baby."""
    possible = {"heart_rate": (30, 200), "spo2": (10, 100), "temperature": (34, 39)}
    for observation, segments in session(name).curves.items():
        low, high = possible[observation]
        for at in range(segments[0].start_ms, session(name).end_ms, 1_000):
            value = curve_at(segments, at)
            assert value is not None
            assert low < value < high


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", plays())
def test_a_session_can_be_scored_under_another_protocol(name: str, under: str) -> None:
    total = score(shipped.opened(name, under).session, redraws=0).total
    assert total is not None
    assert 0 < total < 1


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_team_that_does_nothing_gets_nothing(name: str) -> None:
    chosen = scenario(name)
    clock = Timed(60_000, "event", {"name": chosen.start.clock})
    idle = play(chosen, [clock], until_ms=30 * 60_000)
    assert idle.closed == "finished"
    assert score(idle, redraws=0).total == 0
