"""How sure is it: the redrawn times, the interval, and what is too close to call."""

from __future__ import annotations

from math import sqrt
from uuid import UUID

import numpy as np
import pytest
from scipy.stats import norm

from simengine.scoring.make_plan import make_plan
from simengine.scoring.redrawn_times import times_redrawn
from tests.scoring.case import SESSION, card, session

CALL = "- {expect: call, from: start, ideal: 60 s, latest: 180 s}"
FROM_BIRTH = "- {expect: call, from: birth, ideal: 60 s, latest: 180 s}"
STANDARD = (
    "{pass: 50 %, standard: {method: Angoff, panel: three invented judges, date: '2026-01-31'}}"
)


def test_one_item_on_its_slope_has_the_spread_of_the_recording_error() -> None:
    # credit = (180 - d) / 120, d = 120 s with a normal error of sd 4.4 s: mean 0.5 and
    # sd 4.4 / 120, so 5th and 95th percentiles at 0.5 -+ 1.6449 x 4.4 / 120
    scored = card(CALL, "120 done call\n400 closed finished", redraws=20_000)
    assert scored.total == 0.5
    assert scored.interval is not None
    spread = norm.ppf(0.95) * 4.4 / 120
    # standard error of such a percentile of 20 000 draws: about 2.1 x sd / sqrt(20 000) = 0.0006
    assert scored.interval == pytest.approx((0.5 - spread, 0.5 + spread), abs=0.003)


def test_time_zero_shifts_too_for_what_is_anchored_on_it() -> None:
    # d = t - zero, both with sd 4.4 s: sd sqrt(2) x 4.4 s
    scored = card(FROM_BIRTH, "50 birth\n170 done call\n400 closed finished", redraws=20_000)
    assert scored.interval is not None
    spread = norm.ppf(0.95) * 4.4 * sqrt(2) / 120
    assert scored.interval == pytest.approx((0.5 - spread, 0.5 + spread), abs=0.004)


def test_what_is_far_from_any_limit_does_not_move() -> None:
    scored = card(CALL, "20 done call\n400 closed finished", redraws=200)
    assert scored.interval == (1.0, 1.0)
    assert scored.items[0].flip == 0.0
    assert not scored.items[0].too_close


def test_a_verdict_near_its_limit_is_too_close_to_call() -> None:
    # 1 s inside ideal: late in P(error > 1 s) = P(z > 1 / 4.4) = 0.41 of the redraws
    scored = card(CALL, "59 done call\n400 closed finished", redraws=5_000)
    assert scored.items[0].flip == pytest.approx(norm.sf(1 / 4.4), abs=0.03)
    assert scored.items[0].too_close


def test_the_outcome_near_the_pass_mark_is_too_close_to_call() -> None:
    key = CALL.replace("latest: 180 s", "latest: 180 s, importance: essential")
    near = card(
        key,
        "120 done call\n400 closed finished",
        scoring=STANDARD,
        purpose="summative",
        redraws=500,
    )
    assert near.outcome == "too close to call"
    far = card(
        key, "70 done call\n400 closed finished", scoring=STANDARD, purpose="summative", redraws=500
    )
    assert far.outcome == "achieved"


def test_a_rehearsal_and_no_redraws_have_no_interval() -> None:
    record = "120 done call\n400 closed finished"
    assert card(CALL, record, purpose="rehearsal", redraws=100).interval is None
    assert card(CALL, record, redraws=0).interval is None
    assert card(CALL, record, redraws=0).items[0].flip is None


def test_recording_sd_is_the_scenarios() -> None:
    record = "120 done call\n400 closed finished"
    still = card(CALL, record, scoring="{recording_sd: 0 s}", redraws=50)
    assert still.interval == (0.5, 0.5)


def test_the_draws_are_those_that_the_page_sets_out() -> None:
    record = """
    50 birth
    100 done call by=anna
    100 done look by=anna
    100 done sample by=ben
    90 done swap by=anna noted=110
    400 closed finished
    """
    ran = session(CALL, record)
    rows = times_redrawn(make_plan(ran), UUID(SESSION).int, 3)
    # distinct (recorder, at) in order of seq: anna 100 (two entries), ben 100, anna 90; time zero
    normals = np.random.default_rng(UUID(SESSION).int).standard_normal((3, 4))
    shifts = np.rint(normals * 4400.0)
    marks = {
        (mark.recorder, mark.at_ms, mark.seq): place for place, mark in enumerate(ran.record.marks)
    }
    for (times, zero), (anna, ben, earlier, birth) in zip(rows, shifts, strict=True):
        assert zero == 50_000 + birth
        assert times[marks["anna", 100_000, 3]] == 100_000 + anna
        assert times[marks["anna", 100_000, 4]] == 100_000 + anna
        assert times[marks["ben", 100_000, 5]] == 100_000 + ben
        assert times[marks["anna", 90_000, 6]] == 90_000 + earlier


def test_no_time_leaves_its_state_falls_below_zero_or_puts_a_stop_before_its_start() -> None:
    record = """
    1 done call
    20 birth
    21 done look
    100 state low
    100.5 start pump
    104 stop pump
    109 done sample
    110 state idle
    399 done swap
    400 closed finished
    """
    ran = session(CALL, record)
    plan = make_plan(ran)
    marks = ran.record.marks
    place = {mark.at_ms: number for number, mark in enumerate(marks)}
    touched = {"low": 0, "high": 0}
    for times, zero in times_redrawn(plan, UUID(SESSION).int, 2_000):
        assert zero is not None
        assert times[place[1_000]] >= 0
        # on their sides of time zero
        assert times[place[1_000]] <= zero
        assert times[place[21_000]] >= zero
        # (100, 110]: what was recorded in low stays in it
        for at in (100_500, 104_000, 109_000):
            assert 100_001 <= times[place[at]] <= 110_000
        assert times[place[104_000]] >= times[place[100_500]]
        assert 110_001 <= times[place[399_000]] <= 400_000
        touched["low"] += times[place[100_500]] == 100_001
        touched["high"] += times[place[109_000]] == 110_000
    assert min(touched.values()) > 100


def test_states_stay_as_they_were() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, latest: 20 s}"
    # a = 100 in every draw; d = 15 with sd 4.4 s
    scored = card(key, "100 state low\n115 done call\n400 closed finished", redraws=2_000)
    late = norm.cdf(20, 15, 4.4) - norm.cdf(10, 15, 4.4)
    assert scored.items[0].flip == pytest.approx(1 - late, abs=0.04)


def test_the_same_session_gives_the_same_interval() -> None:
    record = "0 birth\n75 done call\n400 closed finished"
    assert card(FROM_BIRTH, record, redraws=100) == card(FROM_BIRTH, record, redraws=100)


def test_what_reads_a_sensor_moves_with_the_sensor() -> None:
    # rate is slow in low (from 100); looked at 101, read 2 s later; the reading must not fall out
    # of the stretch, since no time crosses the entry
    slow = "{observed: {rate: below 60 /min}}"
    key = f"- {{respond: press, whenever: {slow}, lasting: 1 s, ideal: 100 s}}"
    scored = card(
        key, "100 state low\n101 done look\n150 start press\n400 closed finished", redraws=300
    )
    assert scored.items[0].flip == 0.0


def test_each_part_has_the_spread_of_its_own_items() -> None:
    # Two items of one weight, each on its slope with sd 4.4 / 120; `call` is of objective one,
    # `look` of objective two, done 60 s apart, so that their errors are independent: the whole has
    # the mean of both, with sd 4.4 / 120 / sqrt(2).
    key = (
        "- {expect: call, from: start, ideal: 60 s, latest: 180 s, objective: first}\n"
        "- {expect: look, from: start, ideal: 120 s, latest: 240 s, objective: second}"
    )
    done = "120 done call role=airway\n180 done look role=leader\n400 closed finished"
    scored = card(key, done, redraws=20_000)
    spread = norm.ppf(0.95) * 4.4 / 120
    alone, both = (0.5 - spread, 0.5 + spread), (0.5 - spread / sqrt(2), 0.5 + spread / sqrt(2))
    assert scored.interval == pytest.approx(both, abs=0.003)
    assert scored.objectives["first"].interval == pytest.approx(alone, abs=0.003)
    assert scored.objectives["second"].interval == pytest.approx(alone, abs=0.003)
    assert scored.roles["airway"].interval == pytest.approx(alone, abs=0.003)
    assert scored.roles["leader"].interval == pytest.approx(alone, abs=0.003)
    phases = [part.interval for part in scored.phases.values() if part.items == 2]
    assert phases in ([], [pytest.approx(both, abs=0.003)])


def test_without_redraws_no_part_has_an_interval() -> None:
    scored = card(CALL, "120 done call\n400 closed finished", redraws=0)
    parts = [*scored.phases.values(), *scored.roles.values()]
    assert parts
    assert all(part.interval is None for part in parts)
