"""What was done by hand a moment ago and is taken back: for all but the log it never was."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

import pytest

from simengine.scenario.conditions import Doing, Done
from simengine.scenario.model import Course, Scenario
from simengine.session import LiveSession, RefusedError, Session, fold, state_at, verify_log
from simengine.session.dynamics import curve_at
from simengine.session.full_speed import Timed, play
from simengine.session.live import event_id
from tests.session.small import (
    SESSION,
    VOCABULARY,
    WALL,
    birth,
    did,
    entry,
    falling_heart_rate,
    opened,
    raw,
    scenario,
    state,
    way,
)

TAU = 30_000 / log(20)


def baby(**more: object) -> Scenario:
    """Waits, is born limp (90 towards 50 /min), gets better when ventilated, worse after 80 s."""
    return scenario(
        state("waiting", way("limp", on="birth")),
        state(
            "limp",
            way("better", when=Doing("bag"), lasting=20_000),
            way("worse", after=80_000),
            heart_rate=falling_heart_rate(),
            tone="floppy",
        ),
        state(
            "worse",
            way("over", after=8_000),
            heart_rate=Course(to=30.0, within_ms=10_000),
            spo2=Course(to=20.0, within_ms=10_000),
            tone="floppy",
        ),
        state("better", heart_rate=Course(to=140.0, within_ms=30_000), tone="good"),
        state("over", ends=True),
        **more,  # type: ignore[arg-type]
    )


def run(*script: Timed, until: int = 200_000, made: Scenario | None = None) -> Session:
    return play(made or baby(), script, opened=opened(), wall=WALL, until_ms=until, chained=True)


def undo(at_ms: int, of: Timed) -> Timed:
    assert of.id is not None
    return entry(at_ms, "undone", id=of.id)


def named(number: int, one: Timed) -> Timed:
    return replace(one, id=event_id(SESSION, 900 + number))


def by_hand(at_ms: int, to: str) -> Timed:
    return named(1, entry(at_ms, "state", state=to, cause="facilitator"))


def stays(session: Session) -> list[tuple[str, int, int]]:
    return [(stay.state, stay.entry_ms, stay.exit_ms) for stay in session.stays]


def value(session: Session, observation: str, at_ms: int) -> float:
    height = curve_at(session.curves[observation], at_ms)
    assert height is not None
    return height


def codes(session: Session) -> list[str]:
    return [finding.code for finding in session.findings]


# --- a state taken by hand ----------------------------------------------------------------------


def test_the_state_that_was_left_has_gone_on_without_a_break() -> None:
    wrong = by_hand(40_000, "better")
    session = run(birth(10_000), wrong, undo(50_000, wrong), until=120_000)
    assert stays(session)[:2] == [("waiting", 0, 10_000), ("limp", 10_000, 90_000)]
    assert [(stay.state, stay.entry_ms, stay.exit_ms) for stay in session.undone] == [
        ("better", 40_000, 50_000)
    ]
    assert codes(session) == []
    assert verify_log(session.scenario, session.events) is None


def test_the_curve_bends_back_from_its_present_value() -> None:
    """By hand: 50 + 40 e^(-30/τ) at 40 s, then towards 140, at 50 s back towards 50."""
    wrong = by_hand(40_000, "better")
    session = run(birth(10_000), wrong, undo(50_000, wrong), until=80_000)
    at_40 = 50 + 40 * exp(-30_000 / TAU)
    at_50 = 140 + (at_40 - 140) * exp(-10_000 / TAU)
    assert value(session, "heart_rate", 50_000) == pytest.approx(at_50, abs=1e-9)
    for at in (55_000, 70_000):
        expected = 50 + (at_50 - 50) * exp(-(at - 50_000) / TAU)
        assert value(session, "heart_rate", at) == pytest.approx(expected, abs=1e-9)


def test_words_come_back_and_what_was_not_shown_before_keeps_its_value() -> None:
    wrong = by_hand(40_000, "better")
    session = run(birth(10_000), wrong, undo(50_000, wrong), until=60_000)
    assert session.words["tone"] == ((10_000, "floppy"), (40_000, "good"), (50_000, "floppy"))
    wrong = by_hand(40_000, "worse")
    session = run(birth(10_000), wrong, undo(44_000, wrong), until=80_000)
    assert value(session, "spo2", 44_000) == value(session, "spo2", 79_000)


def test_what_the_state_led_to_by_itself_goes_with_it() -> None:
    wrong = by_hand(20_000, "worse")
    session = run(
        birth(10_000), wrong, undo(28_000, wrong), until=60_000,
        made=replace(baby(), states={
            **baby().states,
            "worse": state("worse", way("better", after=5_000), spo2=Course(to=20.0)),
        }),
    )  # fmt: skip
    assert [stay[:2] for stay in stays(session)] == [("waiting", 0), ("limp", 10_000)]
    assert [stay.state for stay in session.undone] == ["worse", "better"]


def test_a_state_taken_by_hand_since_then_stands() -> None:
    wrong = by_hand(20_000, "worse")
    right = named(2, entry(24_000, "state", state="better", cause="facilitator"))
    session = run(birth(10_000), wrong, right, undo(30_000, wrong), until=60_000)
    assert [stay[:2] for stay in stays(session)] == [
        ("waiting", 0), ("limp", 10_000), ("better", 24_000)
    ]  # fmt: skip
    assert stays(session)[1] == ("limp", 10_000, 24_000)
    assert [stay.state for stay in session.undone] == ["worse"]


def test_a_timer_of_the_state_left_runs_on_and_so_does_what_was_done_in_it() -> None:
    made = scenario(
        state("a", way("b", on="birth")),
        state("b", way("c", when=Done("dry"), after=60_000)),
        state("c"),
    )
    wrong = by_hand(20_000, "c")
    session = run(birth(1_000), did(5_000, "dry"), wrong, undo(30_000, wrong), made=made)
    assert [stay[:2] for stay in stays(session)] == [("a", 0), ("b", 1_000), ("c", 61_000)]


def test_the_replay_keeps_what_was_shown() -> None:
    wrong = by_hand(40_000, "better")
    session = run(birth(10_000), wrong, undo(50_000, wrong), until=80_000)
    assert [state_at(session, at).state for at in (39_000, 45_000, 55_000)] == [
        "limp", "better", "limp"
    ]  # fmt: skip
    assert [event.kind for event in session.events].count("state") == 3
    assert "better" not in [event.data.get("state") for event in session.effective]


# --- an event, a hold, a pause --------------------------------------------------------------------


def test_a_birth_undone_takes_time_zero_and_the_state_with_it() -> None:
    early = named(1, birth(10_000))
    session = run(early, undo(25_000, early), until=60_000)
    assert session.record.clock_ms is None
    assert stays(session)[-1][:2] == ("waiting", 0)
    assert codes(session) == []


def test_the_next_birth_sets_time_zero() -> None:
    early = named(1, birth(10_000))
    session = run(early, undo(25_000, early), birth(40_000), until=100_000)
    assert session.record.clock_ms == 40_000
    assert [stay[:2] for stay in stays(session)] == [("waiting", 0), ("limp", 40_000)]
    assert value(session, "heart_rate", 40_000) == 90
    assert verify_log(session.scenario, session.events) is None


def test_a_second_birth_undone_leaves_time_zero_as_it_was() -> None:
    again = named(1, birth(20_000))
    session = run(birth(10_000), again, undo(30_000, again), until=60_000)
    assert session.record.clock_ms == 10_000
    assert [stay[:2] for stay in stays(session)] == [("waiting", 0), ("limp", 10_000)]


def test_a_hold_undone_lets_what_is_due_come() -> None:
    hold = named(1, entry(85_000, "hold"))
    session = run(birth(10_000), hold, undo(95_000, hold), until=100_000)
    assert stays(session)[2][:2] == ("worse", 95_000)


def test_a_pause_undone_never_was() -> None:
    pause = named(1, entry(30_000, "pause"))
    session = run(birth(10_000), pause, did(45_000, "dry"), undo(50_000, pause), until=100_000)
    assert session.paused_ms == 0
    assert session.record.performances[0].start_ms == 45_000
    assert stays(session)[1] == ("limp", 10_000, 90_000)
    assert verify_log(session.scenario, session.events) is None


# --- what can't be undone -------------------------------------------------------------------------


def refused(*script: Timed) -> str:
    with pytest.raises(RefusedError) as error:
        run(*script)
    return error.value.code


def test_after_a_minute_it_can_not_be_undone() -> None:
    wrong = by_hand(20_000, "better")
    assert run(birth(10_000), wrong, undo(80_000, wrong)).undone != ()
    assert refused(birth(10_000), wrong, undo(80_001, wrong)) == "undone-of-nothing"


def test_only_what_was_done_by_hand_can_be_undone_and_only_once() -> None:
    action = named(1, did(20_000, "dry"))
    assert refused(birth(10_000), action, undo(21_000, action)) == "undone-of-nothing"
    wrong = by_hand(20_000, "better")
    assert refused(wrong, undo(21_000, wrong), undo(22_000, wrong)) == "undone-of-nothing"
    hold, release = named(1, entry(20_000, "hold")), entry(25_000, "release")
    assert refused(hold, release, undo(30_000, hold)) == "undone-of-nothing"
    pause, resume = named(1, entry(20_000, "pause")), entry(25_000, "resume")
    assert refused(pause, resume, undo(30_000, pause)) == "undone-of-nothing"


def test_a_log_that_undoes_nothing_folds_with_a_finding_and_does_not_verify() -> None:
    live = LiveSession(baby())
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    events = [*live.events, raw(2, "undone", 5_000, id=event_id(SESSION, 1))]
    session = fold(baby(), events)
    assert codes(session) == ["undone-of-nothing"]
    assert [stay.state for stay in session.stays] == ["waiting"]


# --- speech ---------------------------------------------------------------------------------------


def test_an_action_that_is_speech_is_done_by_being_said() -> None:
    call = replace(VOCABULARY.actions["dry"], by_voice=True)
    vocabulary = replace(VOCABULARY, actions={**VOCABULARY.actions, "dry": call})
    for by_voice, how, taken in (
        (True, "said", True),
        (True, "ordered", False),
        (True, "attempted", False),
        (False, "said", False),
    ):
        made = scenario(state("a", way("b", when=Done("dry"))), state("b"))
        if by_voice:
            made = replace(made, vocabulary=vocabulary)
        session = run(did(5_000, "dry", how=how), made=made)
        assert ("b" in [stay.state for stay in session.stays]) is taken, (by_voice, how)
        (performance,) = session.record.performances
        assert (performance.way, performance.acts) == (how, taken)


def test_a_score_said_by_an_action_that_is_speech_is_known() -> None:
    listen = replace(VOCABULARY.actions["listen"], by_voice=True)
    made = replace(
        baby(),
        vocabulary=replace(VOCABULARY, actions={**VOCABULARY.actions, "listen": listen}),
    )
    session = run(birth(10_000), did(20_000, "listen", how="said"), made=made, until=60_000)
    known = next(o for o in state_at(session, 40_000).observations if o.name == "heart_rate")
    assert known.known is not None
    assert known.known.at_ms == 26_000
