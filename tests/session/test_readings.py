"""What the team could know, and since when; and a session at an instant."""

from __future__ import annotations

import pytest

from simengine.session import curve_columns, curve_rows, play, state_at
from simengine.session.dynamics import curve_at
from simengine.session.readings import known_at, session_sensing
from simengine.session.record import NEVER, Session
from simengine.session.times import Times
from tests.session.small import (
    WALL,
    birth,
    did,
    entry,
    falling_heart_rate,
    leak,
    opened,
    put,
    scenario,
    state,
    way,
)

MADE = scenario(
    state("a", way("b", on="birth"), tone="good"),
    state("b", heart_rate=falling_heart_rate(), tone="floppy"),
    supplies={"cylinder": 45.0},
    faults=[leak()],
)


def session() -> Session:
    script = [
        birth(10_000),
        did(20_000, "listen"),
        did(30_000, "probe", "start"),
        put(40_000, "oxygen", 40.0),
        did(50_000, "suck", "start", role="airway"),
        did(60_000, "dry"),
        did(70_000, "listen", how="said"),
        did(120_000, "probe", "stop"),
    ]
    return play(MADE, script, opened=opened(), wall=WALL, until_ms=150_000)


def test_a_listen_is_a_snapshot_that_grows_old_and_a_probe_streams() -> None:
    ran = session()
    heart = session_sensing(ran)["heart_rate"]
    assert heart.snapshots == (26_000,)
    assert heart.streams == ((90_000, 120_000),)
    assert known_at(ran, "heart_rate", 25_999) is None
    known = known_at(ran, "heart_rate", 38_000)
    assert known is not None
    assert (known.value, known.at_ms, known.age_ms, known.streams) == (
        curve_at(ran.curves["heart_rate"], 26_000),
        26_000,
        12_000,
        False,
    )
    live = known_at(ran, "heart_rate", 100_000)
    assert live is not None
    assert (live.at_ms, live.streams) == (100_000, True)
    after = known_at(ran, "heart_rate", 130_000)
    assert after is not None
    assert (after.at_ms, after.streams) == (119_999, False)


def test_a_probe_that_is_on_and_does_not_read_yet_says_when_it_will() -> None:
    ran = session()
    spo2 = session_sensing(ran)["spo2"]
    assert spo2.next_reading(29_999) is None
    assert spo2.next_reading(49_000) == 90_000
    assert spo2.next_reading(90_000) is None
    moment = state_at(ran, 49_000)
    heart = next(
        observation for observation in moment.observations if observation.name == "heart_rate"
    )
    assert heart.reads_in_ms == 41_000


def test_what_nothing_reveals_anyone_can_see() -> None:
    assert session_sensing(session())["tone"].streams == ((0, NEVER),)
    known = known_at(session(), "tone", 5_000)
    assert known is not None
    assert (known.value, known.age_ms) == ("good", 0)


def test_shown_by_hand_it_is_known_until_it_is_hidden() -> None:
    made = scenario(state("b", heart_rate=falling_heart_rate()))
    script = [
        entry(10_000, "reveal", observation="heart_rate", shown=True),
        entry(20_000, "reveal", observation="heart_rate", shown=False),
    ]
    ran = play(made, script, opened=opened(), wall=WALL, until_ms=30_000)
    assert session_sensing(ran)["heart_rate"].streams == ((10_000, 20_000),)


def test_told_once_by_hand_it_is_a_reading_that_grows_old() -> None:
    reveal = entry(10_000, "reveal", observation="heart_rate", shown=True, once=True)
    made = play(MADE, [birth(0), reveal], opened=opened(), wall=WALL, until_ms=30_000)
    heart = known_at(made, "heart_rate", 25_000)
    assert heart is not None
    assert heart.value == curve_at(made.curves["heart_rate"], 10_000)
    assert (heart.at_ms, heart.age_ms, heart.streams) == (10_000, 15_000, False)


def test_told_once_while_it_is_shown_it_goes_on_being_shown() -> None:
    script = [
        birth(0),
        entry(10_000, "reveal", observation="heart_rate", shown=True),
        entry(20_000, "reveal", observation="heart_rate", shown=True, once=True),
    ]
    made = play(MADE, script, opened=opened(), wall=WALL, until_ms=30_000)
    assert session_sensing(made)["heart_rate"].streams == ((10_000, NEVER),)


def test_the_state_at_an_instant_tells_what_is_true_and_what_is_known() -> None:
    moment = state_at(session(), 80_000)
    assert (moment.state, moment.state_title, moment.clock_ms) == ("b", "B", 70_000)
    by_name = {observation.name: observation for observation in moment.observations}
    assert by_name["heart_rate"].value == curve_at(session().curves["heart_rate"], 80_000)
    assert by_name["heart_rate"].known is not None
    assert "spo2" not in by_name
    settings = {
        setting.name: (setting.value, setting.since_ms, setting.touched)
        for setting in moment.settings
    }
    assert settings == {"oxygen": (40.0, 40_000, True), "flow": (0.0, 0, False)}
    assert [
        (performance.name, performance.since_ms, performance.role) for performance in moment.doing
    ] == [
        ("probe", 30_000, None),
        ("suck", 50_000, "airway"),
    ]
    assert moment.faults == {"leak": "mended"}
    (cylinder,) = moment.supplies
    # 45 L less half a minute at 8 L/min is 41 L, which last 41 / 8 min = 307.5 s.
    assert cylinder.contents == pytest.approx(41.0, rel=1e-12)
    assert cylinder.rate_per_min == pytest.approx(8.0)
    assert cylinder.lasts_ms == 307_500


def test_before_time_zero_the_clock_has_no_reading() -> None:
    assert state_at(session(), 9_999).clock_ms is None
    assert state_at(session(), 10_000).clock_ms == 0


def test_curves_are_rows_under_named_columns_with_their_units() -> None:
    ran = session()
    columns = curve_columns(ran)
    rows = list(curve_rows(ran, 10_000))
    assert [row[0] for row in rows] == list(range(0, 120_001, 10_000))
    heart = columns.index("heart_rate (/min)")
    known = columns.index("known: heart_rate (/min)")
    assert columns.index("left: cylinder (L)")
    at_30 = rows[3]
    assert at_30[heart] == curve_at(ran.curves["heart_rate"], 30_000)
    assert at_30[known] == curve_at(ran.curves["heart_rate"], 26_000)
    assert rows[0][heart] is None


def test_scenario_time_and_log_time_turn_into_each_other() -> None:
    times = Times()
    times.pause(5_000, 3)
    times.resume(15_000, 4)
    times.skip(20_000, 6, 60_000)
    # pause: 5 s from 5 to 15 s; the skip at 20 s takes 10 s to 70 s
    for log_ms, scenario_ms in ((0, 0), (5_000, 5_000), (9_000, 5_000), (16_000, 6_000)):
        assert times.scenario(log_ms) == scenario_ms
    assert times.scenario(20_000, 5) == 10_000
    assert times.scenario(20_000, 7) == 70_000
    assert times.scenario(21_000) == 71_000
    for scenario_ms, log_ms in ((4_000, 4_000), (5_000, 5_000), (5_001, 15_001), (10_000, 20_000)):
        assert times.log(scenario_ms) == log_ms
    for scenario_ms in (10_001, 40_000, 70_000):
        assert times.log(scenario_ms) == 20_000
    assert times.log(70_001) == 20_001
    assert times.paused_ms == 10_000
