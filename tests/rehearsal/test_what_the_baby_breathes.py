"""Alone, the baby breathes what has come to the mask; marks and ways out of a state go by the dial.

Delays: Follett 2015, 36, 31 and 28 s at 5, 8 and 10 L/min (means; read).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import pytest

from simengine.debrief.picture_in_words import picture_note
from simengine.debrief.run_again import Changed, is_same_course, run_again
from simengine.debrief.scene_builder import scene_of
from simengine.desk.scene import Scene, stretch_of
from simengine.rehearsal.bench.dial_figures import oxygen_at_mask
from simengine.rehearsal.cot import arrives, bench_of, cot_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.scoring import score
from simengine.session.dynamics import curve_at
from simengine.session.full_speed import opening
from simengine.session.live import LiveSession
from simengine.session.record import Session
from simengine.session.retry import LASTS_MS, Retry, log_of_retry
from simengine.session.verify import verify_log
from tests import shipped

PRETERM = "preterm-30-weeks"
FLOW_AND_DELAY_S = [(5, 36), (8, 31), (10, 28)]
TURNED_S = 80
_ID = "00000000-0000-4000-8000-00000000000e"


class Care:
    """A preterm baby whose chest rises from 39 s on, at 30 % oxygen. Times in s."""

    def __init__(self, flow: float = 8, *, alone: bool = True) -> None:
        scenario = shipped.scenario(PRETERM)
        bench = bench_of(scenario)
        assert bench is not None
        self.bench = bench
        data = opening(scenario, session_id=_ID)
        if alone:
            data["arrives"] = arrives(bench)
        self.live = LiveSession(scenario)
        self.live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
        self.event(1, "birth")
        self.event(10, "arrived")
        self.sets(11, peak_pressure=(25, "cmH2O"), gas_flow=(flow, "L/min"), oxygen=(30, "%"))
        self.does(30, "head_neutral", "done")
        self.does(31, "mask_ventilation", "start")
        self.does(35, "oximeter", "start")

    def event(self, at_s: float, name: str) -> Care:
        return self._record(at_s, "event", {"name": name})

    def does(self, at_s: float, action: str, phase: str) -> Care:
        return self._record(at_s, "action", {"action": action, "phase": phase})

    def sets(self, at_s: float, **settings: tuple[float, str]) -> Care:
        for name, (value, unit) in settings.items():
            self._record(at_s, "set", {"setting": name, "value": value, "unit": unit})
        return self

    def turns(self, at_s: float, oxygen: float) -> Care:
        return self.sets(at_s, oxygen=(oxygen, "%"))

    def _record(self, at_s: float, kind: Any, data: Mapping[str, Any]) -> Care:
        self.live.run(int(1000 * at_s) - 1)
        self.live.record(kind, data, noted_ms=int(1000 * at_s), by="me")
        return self

    def comes_to(self, at_s: float) -> Care:
        self.live.run(int(1000 * at_s))
        return self

    def session(self) -> Session:
        return self.live.session()

    def spo2(self, at_s: float) -> float:
        value = curve_at(self.session().curves["spo2"], 1000 * at_s)
        assert value is not None
        return value

    def heads_for(self, at_s: float) -> float:
        """Where SpO2 is going at an instant."""
        curve = self.session().curves["spo2"]
        return next(part for part in reversed(curve) if part.start_ms <= 1000 * at_s).target

    def mask(self, at_s: float) -> float:
        """What the analyser reads then, in per cent."""
        cot = cot_of(self.bench, self.live.fold)
        return 100 * oxygen_at_mask(cot, int(1000 * at_s))


def asked_by(oxygen: float) -> float:
    """Where SpO2 goes in that state on an oxygen of 30 to 50 %: 7 % more for each 10 %."""
    return 60 + 0.7 * (oxygen - 30)


@pytest.mark.parametrize(("flow", "delay_s"), FLOW_AND_DELAY_S)
def test_spo2_answers_a_turn_as_it_comes_to_the_mask_and_wholly_after_the_published_delay(
    flow: float, delay_s: float
) -> None:
    untouched, turned = Care(flow).comes_to(TURNED_S), Care(flow).turns(TURNED_S, 50)
    assert untouched.session().stays[-1].state == "supported"
    for at_s in range(60, int(TURNED_S + delay_s / 6)):
        assert turned.spo2(at_s) == untouched.spo2(at_s)
    arrived_s = TURNED_S + delay_s
    for at_s in range(TURNED_S, int(arrived_s)):
        assert turned.heads_for(at_s) < asked_by(50)
        assert turned.heads_for(at_s) <= asked_by(turned.mask(at_s)) + 1e-9
    assert turned.mask(arrived_s) == pytest.approx(50)
    assert turned.heads_for(arrived_s) == pytest.approx(asked_by(50))
    bends = [part for part in turned.session().curves["spo2"] if part.target > asked_by(49.9)]
    assert bends[0].start_ms == 1000 * arrived_s


def test_a_screen_that_shows_spo2_is_told_each_bend_as_it_comes() -> None:
    care = Care().turns(TURNED_S, 50)
    bends = [part.start_ms for part in care.session().curves["spo2"]]
    for since_ms, until_ms in pairwise(at for at in bends if 1000 * TURNED_S < at < 112_000):
        scene = Scene(care.live.fold, since_ms, 0)
        stretch = stretch_of(scene, "spo2")
        assert stretch is not None
        assert stretch.start_ms == since_ms
        assert scene.next_change_log_ms() == until_ms


def test_with_a_team_the_baby_answers_the_dial_as_ever() -> None:
    team = Care(alone=False).turns(TURNED_S, 50)
    assert team.heads_for(TURNED_S - 0.001) == asked_by(30)
    assert team.heads_for(TURNED_S) == pytest.approx(asked_by(50))


def test_oxygen_turned_down_is_breathed_off_as_slowly() -> None:
    care = Care().turns(TURNED_S, 50).turns(TURNED_S + 40, 30)
    assert care.heads_for(TURNED_S + 39) == pytest.approx(asked_by(50))
    assert care.heads_for(TURNED_S + 40 + 31) == pytest.approx(asked_by(30))


def test_a_second_turn_on_the_way_goes_on_from_what_has_come() -> None:
    care = Care().turns(TURNED_S, 50).turns(TURNED_S + 15.5, 30)
    half = care.heads_for(TURNED_S + 15.5)
    assert half == pytest.approx(asked_by(40), abs=0.01)
    targets = [care.heads_for(TURNED_S + 15.5 + second) for second in range(33)]
    assert targets == sorted(targets, reverse=True)
    assert targets[-1] == pytest.approx(asked_by(30))


def test_more_flow_brings_it_sooner_and_without_flow_it_stays_on_the_way() -> None:
    faster = Care(5).turns(TURNED_S, 50).sets(TURNED_S + 18, gas_flow=(10, "L/min"))
    # Half of 36 s is over, and half of 28 s is left.
    assert faster.heads_for(TURNED_S + 18 + 13.9) < asked_by(50)
    assert faster.heads_for(TURNED_S + 18 + 14) == pytest.approx(asked_by(50))
    still = Care().turns(TURNED_S, 50).sets(TURNED_S + 15.5, gas_flow=(0, "L/min"))
    assert still.heads_for(TURNED_S + 200) == pytest.approx(asked_by(40), abs=0.01)


def test_it_takes_its_time_in_scenario_time_so_that_a_pause_keeps_it_back() -> None:
    care = Care().turns(TURNED_S, 50)
    care._record(TURNED_S + 10, "pause", {})
    care._record(TURNED_S + 100, "resume", {})
    assert care.session().times.scenario(1000 * (TURNED_S + 100)) == 1000 * (TURNED_S + 10)
    assert care.heads_for(TURNED_S + 30.9) < asked_by(50)
    assert care.heads_for(TURNED_S + 31) == pytest.approx(asked_by(50))


def test_a_turn_that_is_on_its_way_goes_on_through_a_change_of_state() -> None:
    care = Care().turns(38, 50)
    entered = care.comes_to(45).session().stays[-1]
    assert (entered.state, entered.entry_ms) == ("supported", 39_000)
    assert care.heads_for(39) == asked_by(30)
    assert care.heads_for(38 + 31) == pytest.approx(asked_by(50))


def compressed(oxygen_s: int, *, alone: bool) -> Session:
    """Compressions from 90 s on; oxygen is turned to 100 % at an instant. Nothing else is done."""
    scenario = shipped.scenario("term-not-breathing")
    bench = bench_of(scenario)
    assert bench is not None
    live = LiveSession(scenario)
    data = opening(scenario, session_id=_ID) | ({"arrives": arrives(bench)} if alone else {})
    live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
    entries: list[tuple[int, Any, dict[str, Any]]] = [
        (1, "event", {"name": "birth"}),
        (2, "set", {"setting": "gas_flow", "value": 8, "unit": "L/min"}),
        (2, "set", {"setting": "peak_pressure", "value": 36, "unit": "cmH2O"}),
        (30, "action", {"action": "head_neutral"}),
        (31, "action", {"action": "mask_ventilation", "phase": "start"}),
        (32, "action", {"action": "reseat_mask"}),
        (90, "action", {"action": "chest_compressions", "phase": "start"}),
        (oxygen_s, "set", {"setting": "oxygen", "value": 100, "unit": "%"}),
    ]
    for at_s, kind, entry in sorted(entries, key=lambda entry: entry[0]):
        live.run(1000 * at_s - 1)
        live.record(kind, entry, noted_ms=1000 * at_s, by="me")
    live.run(200_000)
    return live.session()


@pytest.mark.parametrize("oxygen_s", [60, 90, 105, 110])
def test_a_way_out_that_waits_for_oxygen_reads_the_dial_as_with_a_team(oxygen_s: int) -> None:
    """The marking guide praises a turn within 20 s of the first compression."""
    alone, team = (compressed(oxygen_s, alone=by_self) for by_self in (True, False))
    stays = [[(stay.state, stay.entry_ms) for stay in session.stays] for session in (alone, team)]
    assert stays[0] == stays[1]
    assert stays[0][-1] == ("recovering", 1000 * max(oxygen_s + 45, 95 + 45))
    assert alone.curves["spo2"] != team.curves["spo2"], "what the baby shows comes later"


def test_what_is_marked_told_and_kept_is_the_dial_alone() -> None:
    alone, team = (Care(alone=by_self).turns(130, 50).comes_to(200) for by_self in (True, False))
    entries = [[(event.kind, event.at_ms) for event in care.live.events] for care in (alone, team)]
    assert entries[0] == entries[1], "nothing is written down of what comes"
    records = [care.session().record for care in (alone, team)]
    assert records[0].changes == records[1].changes
    assert alone.live.fold.account.values["oxygen"] == 50
    marked = [
        next(item for item in score(care.session(), redraws=0).items if item.id == "oxygen-up")
        for care in (alone, team)
    ]
    first = [item.occasions[0] for item in marked]
    assert first[0].done_ms == first[1].done_ms == 130_000


def test_a_dial_that_was_left_wrong_is_put_right_the_moment_it_is_turned() -> None:
    scenario = shipped.scenario("cot-term")
    bench = bench_of(scenario)
    assert bench is not None
    live = LiveSession(scenario)
    data = {**opening(scenario, session_id=_ID), "arrives": arrives(bench)}
    live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
    turn = {"setting": "oxygen", "value": 30, "unit": "%"}
    live.record("set", turn, noted_ms=5_000, by="me")
    assert live.fold.account.fault_steps["oxygen_left_at_100"][-1] == (5_000, "mended")


def test_a_log_that_tells_of_no_delay_has_what_is_dialled_at_the_analyser_and_the_baby() -> None:
    """So do rehearsals whose log began before it told of any, and what is tried again of them."""
    care = Care(alone=False).turns(TURNED_S, 50)
    assert care.mask(TURNED_S) == pytest.approx(50)
    assert care.heads_for(TURNED_S) == pytest.approx(asked_by(50))


def test_analyser_and_baby_go_by_the_log_although_the_bench_has_changed_since() -> None:
    care = Care().turns(TURNED_S, 50)
    slower = replace(
        care.bench.file.blender,
        arrives=tuple(
            replace(delay, mean_ms=2 * delay.mean_ms) for delay in care.bench.file.blender.arrives
        ),
    )
    care.bench = replace(care.bench, file=replace(care.bench.file, blender=slower))
    assert care.mask(TURNED_S + 31) == pytest.approx(50)
    assert care.heads_for(TURNED_S + 31) == pytest.approx(asked_by(50))


@pytest.mark.parametrize("baby", [True, False])
def test_the_foot_of_the_page_tells_the_delays_that_hold_in_this_log(baby: bool) -> None:
    care = Care()
    foot = CotAtHand(care.bench).source(care.live.fold, baby=baby)
    where = "the analyser and the baby" if baby else "the analyser"
    assert f"A change at the blender comes to {where} gradually" in foot
    assert "complete after 36 s at 5 L/min, 31 s at 8 L/min and 28 s at 10 L/min." in foot
    assert "So Follett (2015) measured it, on average." in foot
    assert ("baby" in foot) is baby


def test_the_foot_names_no_source_of_figures_that_the_bench_has_no_more() -> None:
    care = Care()
    (first, *others) = care.bench.file.blender.arrives
    now = replace(care.bench.file.blender, arrives=(replace(first, mean_ms=40_000), *others))
    bench = replace(care.bench, file=replace(care.bench.file, blender=now))
    foot = CotAtHand(bench).source(care.live.fold, baby=True)
    assert "36 s at 5 L/min" in foot
    assert "Follett" not in foot


def test_the_foot_of_a_log_that_tells_of_no_delay_says_nothing_of_one() -> None:
    care = Care(alone=False)
    foot = CotAtHand(care.bench).source(care.live.fold, baby=True)
    assert foot.startswith("How pressures follow the flow")
    assert "blender" not in foot


def note_of(care: Care) -> str:
    session = care.session()
    return picture_note(session, scene_of(session, score(session, redraws=0)))


def test_the_debrief_says_why_the_curves_answer_later_where_a_dial_was_turned() -> None:
    late = "a change of oxygen comes to the baby gradually, within 28 to 36 s"
    turned = Care().turns(TURNED_S, 50).comes_to(200)
    assert late in note_of(turned)
    assert late not in note_of(Care().comes_to(200)), "nobody turned it"
    assert late not in note_of(Care(alone=False).turns(TURNED_S, 50).comes_to(200))


def test_a_log_alone_tells_it_again_and_verifies() -> None:
    care = Care().turns(TURNED_S, 50).turns(TURNED_S + 20, 40).comes_to(TURNED_S + 90)
    assert verify_log(care.live.scenario, care.live.events) is None
    again = LiveSession(care.live.scenario, care.live.events)
    assert again.session().curves == care.session().curves


def test_again_from_a_state_goes_on_with_what_was_on_its_way() -> None:
    first = Care().turns(38, 50).comes_to(45)
    stay = first.session().stays[-1]
    retry = Retry(_ID, stay.state, stay.entry_ms, LASTS_MS)
    entered = first.live.events[stay.seq]
    now = datetime(2026, 2, 1, 9, 30, tzinfo=UTC)
    log = log_of_retry(first.live.events, entered, retry, session=_ID[:-1] + "f", now=now)
    again = LiveSession(first.live.scenario, log)
    for each in (again, first.live):
        each.run(150_000)
    curves = [each.session().curves["spo2"] for each in (again, first.live)]
    for at_ms in range(stay.entry_ms, 150_000, 1_000):
        assert curve_at(curves[0], at_ms) == curve_at(curves[1], at_ms)


def test_what_if_it_had_been_turned_sooner_comes_sooner_by_as_much() -> None:
    care = Care().turns(TURNED_S, 50).comes_to(TURNED_S + 100)
    care.live.record("closed", {"why": "stopped early"}, noted_ms=230_000, by="me")
    session = care.session()
    turn = next(event for event in session.events if event.data.get("value") == 50)
    same, sooner = run_again(session), run_again(session, Changed(turn.id, 80_000))
    assert same is not None
    assert sooner is not None
    assert is_same_course(session, same)
    bends = [
        [part.start_ms for part in each.curves["spo2"] if part.target == pytest.approx(74)]
        for each in (session, sooner)
    ]
    assert [each[0] for each in bends] == [1000 * (TURNED_S + 31), 80_000 + 31_000]
