"""The wall clock is set forward or back: sessions and browsers go on as if nothing had been."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.web.clock import Clock, from_wall, wall
from simengine.web.security import COOKIE_AGE_S, Keys, new_visitor
from tests.console.consoles import Desk, SetClock, entry, token_in

HOUR_MS = 3_600_000
STEPS = pytest.mark.parametrize("step_ms", [HOUR_MS, -HOUR_MS], ids=["forward", "back"])


def clock_of(desk: Desk) -> SetClock:
    assert isinstance(desk.clock, SetClock)
    return desk.clock


@STEPS
def test_the_clock_is_steady_and_dates_follow_the_wall(step_ms: int) -> None:
    machine = {"wall": 1_800_000_000_000, "steady": 5_000}
    clock = Clock(lambda: machine["wall"] * 1_000_000, lambda: machine["steady"] * 1_000_000)
    begun = clock.now_ms()
    machine["wall"] += step_ms + 1_000
    machine["steady"] += 1_000
    assert clock.now_ms() == begun + 1_000
    assert clock.wall_ms() == 1_800_000_000_000 + step_ms + 1_000
    assert from_wall(wall(clock.wall_ms())) == clock.wall_ms()


@STEPS
def test_a_session_under_way_does_not_see_the_step(desk: Desk, step_ms: int) -> None:
    session = desk.start()
    clock = clock_of(desk)
    clock.at_ms += 1_000
    desk.send(session, entry("event", 1_000, {"name": "birth"}))
    clock.at_ms += 29_000
    clock.step_ms = step_ms
    note = entry("note", 30_000, {"text": "seen"})
    assert desk.send(session, note)["refused"] == []
    line = next(line for line in desk.log(session) if line["id"] == note["id"])
    assert (line["at_ms"], line["noted_ms"]) == (30_000, 30_000)
    assert desk.view(session)["now"]["scenario_ms"] == 30_000
    clock.at_ms += 60_000  # what is due comes when it is due, and no earlier
    desk.send(session, entry("note", 90_000, {"text": "on"}))
    states = [line for line in desk.log(session) if line["kind"] == "state"]
    assert (states[-1]["data"]["state"], states[-1]["at_ms"]) == ("unventilated", 81_000)


@STEPS
def test_a_browser_stays_who_it_is(desk: Desk, step_ms: int) -> None:
    session = desk.start()
    clock_of(desk).step_ms = step_ms
    assert desk.client.get("/").status_code == 200
    assert desk.send(session, entry("note", 0, {"text": "x"}))["refused"] == []


@STEPS
def test_wrong_codes_are_forgotten_in_their_time(desk: Desk, step_ms: int) -> None:
    session = desk.start()
    display = desk.hub.running(session).plan.display
    guesser = desk.another()
    guesser.token = token_in(guesser.client.get("/join").text)
    for _ in range(10):
        guesser.form("/join", code="WRONGONE", who="display")
    clock_of(desk).step_ms = step_ms
    assert guesser.client.get(f"/d/{display}").status_code == 429
    clock_of(desk).at_ms += 60_000
    assert guesser.client.get(f"/d/{display}").status_code == 200


@STEPS
def test_a_cookie_from_before_a_restart_is_good_however_the_clock_was_set(
    tmp_path: Path, step_ms: int
) -> None:
    visitor, now_ms = new_visitor(), 1_800_000_000_000
    cookie = Keys(tmp_path).cookie(visitor, now_ms)
    assert Keys(tmp_path).visitor(cookie, now_ms + step_ms) == visitor
    assert Keys(tmp_path).visitor(cookie, now_ms + COOKIE_AGE_S * 1000 + 1) is None


def test_a_session_goes_on_after_a_restart_with_the_wall_clock_set_back(tmp_path: Path) -> None:
    before = Desk(tmp_path, clock=SetClock())
    with before.client:
        session = before.sign_in().start()
        clock_of(before).at_ms += 20_000
        before.send(session, entry("event", 20_000, {"name": "birth"}))
    clock = SetClock(clock_of(before).at_ms - HOUR_MS)
    after = Desk(tmp_path, clock=clock)
    with after.client:
        after.sign_in()
        assert after.view(session)["now"]["log_ms"] == 20_000
        clock.at_ms += 30_000
        assert after.view(session)["now"]["log_ms"] == 50_000
        assert after.send(session, entry("note", 50_000, {"text": "on"}))["refused"] == []
        line = after.log(session)[-1]
        assert (line["at_ms"], line["noted_ms"]) == (50_000, 50_000)
