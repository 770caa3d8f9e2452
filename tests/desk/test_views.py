"""What the screens are told, from the live engine, at instants that the test chooses."""

from __future__ import annotations

from math import exp, log
from typing import Any

import orjson
import pytest

from simengine.desk.bedside_view import bedside_of
from simengine.desk.console_view import console_of
from simengine.desk.scene import Scene
from simengine.desk.tape import MOST_SHOWN, tape_of
from simengine.desk.view import BedsideView, ConsoleView, Expected, Tile, Words
from simengine.session.full_speed import opening
from simengine.session.live import LiveSession
from simengine.session.undo import UNDONE_WITHIN_MS
from tests import shipped

BIRTH_MS = 5_000
NAMES = {"airway": ["N-104"], "leader": ["D-009"]}


class Room:
    """A session of a shipped scenario, looked at whenever the test wants."""

    def __init__(self, scenario: str = "term-not-breathing", *, born: bool = True) -> None:
        self.scenario = shipped.scenario(scenario)
        self.live = LiveSession(self.scenario)
        data = opening(self.scenario, session_id="s", purpose="formative", team=NAMES)
        self.live.record("opened", data, noted_ms=0, by="p", wall="2026-01-31T10:00:00.000Z")
        if born:
            self.record("event", BIRTH_MS, name="birth")

    def record(self, kind: Any, at_ms: int, **data: Any) -> str:
        written = self.live.record(kind, data, noted_ms=at_ms, by="p")
        self.live.advance(at_ms)
        return written[-1].id

    def act(self, action: str, at_ms: int, phase: str = "done", **more: Any) -> str:
        return self.record("action", at_ms, action=action, phase=phase, **more)

    def scene(self, at_ms: int) -> Scene:
        self.live.advance(at_ms)
        return Scene(self.live.fold, at_ms, 0)

    def console(self, at_ms: int) -> ConsoleView:
        return console_of(self.scene(at_ms), screens=0)

    def bedside(self, at_ms: int, *, equipment: bool = False) -> BedsideView:
        return bedside_of(self.scene(at_ms), equipment=equipment)


def told(view: ConsoleView, observation: str) -> tuple[Words, Words | None]:
    return next((line.true, line.known) for line in view.baby if line.observation == observation)


def item(view: ConsoleView, name: str) -> Expected:
    return next(each for each in view.expected if each.item == name)


def test_before_the_birth_nothing_is_told_of_the_baby() -> None:
    view = Room(born=False).console(3_000)
    assert view.baby == ()
    assert view.clock.zero_ms is None
    assert [step.on for step in view.coming] == ["birth"]


def test_a_curve_is_sent_in_closed_form() -> None:
    view = Room().console(BIRTH_MS + 30_000)
    true, _ = told(view, "heart_rate")
    assert true.text == "heart rate {value} and falling"
    curve = true.curve
    assert curve is not None
    assert curve.tau_ms is not None
    # The scenario: from 84 to 62 /min within 90 s, 95 % of the way by then; the standard result
    # for a first-order approach.
    assert (curve.start_ms, curve.value, curve.target, curve.unit) == (BIRTH_MS, 84, 62, "/min")
    assert curve.tau_ms == pytest.approx(90_000 / log(20))
    at_90_s = curve.target + (curve.value - curve.target) * exp(-90_000 / curve.tau_ms)
    assert (84 - at_90_s) / (84 - 62) == pytest.approx(0.95)


def test_what_the_team_knows_is_told_apart_from_what_is_true_and_grows_old() -> None:
    room = Room()
    assert told(room.console(20_000), "heart_rate")[1] == Words("unknown", "the team does not know")
    room.act("listen_to_heart", 30_000, spoken={"heart_rate": {"value": 80, "unit": "/min"}})
    _, waiting = told(room.console(33_000), "heart_rate")
    assert waiting is not None
    assert (waiting.sort, waiting.left_to_ms) == ("unknown", 36_000)  # a listen takes 6 s
    _, known = told(room.console(50_000), "heart_rate")
    assert known is not None
    assert known.sort == "known"
    assert "80 /min" in known.text
    assert known.age_from_ms == 36_000


def test_what_everybody_sees_is_told_once() -> None:
    view = Room().console(20_000)
    assert told(view, "tone") == (Words("true", "tone floppy"), None)


def test_a_trend_ends_when_half_a_digit_is_left_and_the_view_says_when() -> None:
    room = Room()
    scene = room.scene(BIRTH_MS + 60_000)
    view = console_of(scene, screens=0)
    curve = told(view, "temperature")[0].curve
    assert curve is not None
    assert curve.tau_ms is not None
    # Wet, 37 to 35.7 degC, with one decimal: half of its last digit is 0.05.
    ends = BIRTH_MS + curve.tau_ms * log(1.3 / 0.05)
    assert any(abs(instant - ends) < 2 for instant in scene.changes)


def test_what_comes_next_says_what_it_still_waits_for() -> None:
    room = Room()
    view = room.console(BIRTH_MS + 60_000)
    ventilated, after = view.coming
    assert ventilated.waits[0].met is False
    assert ventilated.due_ms is None
    assert after.due_ms == BIRTH_MS + 80_000
    assert after.worsens
    assert after.warns_from_ms == BIRTH_MS + 70_000
    room.act("mask_ventilation", BIRTH_MS + 62_000, "start", role="airway")
    ventilated = room.console(BIRTH_MS + 64_000).coming[0]
    assert ventilated.waits[0].met
    assert ventilated.holds_since_ms == BIRTH_MS + 62_000
    assert ventilated.lasting_ms == 5_000
    assert ventilated.due_ms == BIRTH_MS + 67_000


def test_a_clock_that_has_passed_what_a_step_wanted_is_told_as_passed() -> None:
    room = Room()
    room.record("hold", BIRTH_MS + 1_000)
    room.record("state", BIRTH_MS + 240_000, state="compressing", cause="facilitator")

    def clock_waits(since_birth_ms: int) -> list[str]:
        steps = room.console(BIRTH_MS + since_birth_ms).coming
        return [wait.text for step in steps for wait in step.waits if wait.text.startswith("clock")]

    # the scenario: the heart picks up if compressions were in time, by 4 min 30 s on the clock
    assert clock_waits(269_000) == ["clock at most 4 min 30 s"]
    assert clock_waits(271_000) == ["clock at most 4 min 30 s, which has passed"]


def test_a_hold_is_told_and_keeps_the_state() -> None:
    room = Room()
    room.record("hold", 20_000)
    view = room.console(BIRTH_MS + 100_000)
    assert view.now.held
    assert view.state == "limp"


def test_a_pause_stops_scenario_time_and_not_the_logs() -> None:
    room = Room()
    room.record("pause", 20_000)
    view = room.console(50_000)
    assert view.now.paused
    assert not view.now.runs
    assert (view.now.scenario_ms, view.now.log_ms, view.now.paused_ms) == (20_000, 50_000, 30_000)
    room.record("resume", 60_000)
    view = room.console(70_000)
    assert view.now.runs
    assert (view.now.scenario_ms, view.now.paused_ms) == (30_000, 40_000)


def test_open_items_come_first_and_soonest_first() -> None:
    view = Room().console(BIRTH_MS + 40_000)
    standings = [each.standing for each in view.expected]
    assert standings == sorted(
        standings,
        key=["open", "later", "missed", "done", "unobserved", "not reached"].index,
    )
    limits = [each.latest_ms for each in view.expected if each.standing == "open"]
    assert limits == sorted(limits, key=lambda limit: limit or 0)


def test_an_item_is_open_then_missed_or_done_by_the_scorers_own_marking() -> None:
    room = Room()
    # The scenario asks for drying within 60 s of the birth at the latest.
    dried = item(room.console(BIRTH_MS + 59_000), "expect:dry")
    assert (dried.standing, dried.latest_ms) == ("open", BIRTH_MS + 60_000)
    assert item(room.console(BIRTH_MS + 61_000), "expect:dry").standing == "missed"
    other = Room()
    other.act("dry", BIRTH_MS + 20_000)
    dried = item(other.console(BIRTH_MS + 61_000), "expect:dry")
    assert (dried.standing, dried.done_ms) == ("done", BIRTH_MS + 20_000)


def test_an_item_marked_as_not_observed_is_told_so() -> None:
    room = Room()
    room.record("unobserved", BIRTH_MS + 70_000, item="expect:dry")
    assert item(room.console(BIRTH_MS + 71_000), "expect:dry").standing == "unobserved"


def test_a_lane_has_who_is_in_it_and_in_its_strip_what_is_asked() -> None:
    view = Room().console(BIRTH_MS + 10_000)
    airway = next(lane for lane in view.lanes if lane.role == "airway")
    assert airway.people == ("N-104",)
    assert Tile("action", "mask_ventilation") in airway.strip
    assert len(airway.strip) <= airway.places


def test_an_action_asks_for_the_settings_that_the_marking_guide_checks_with_it() -> None:
    view = Room().console(BIRTH_MS)
    assert set(view.actions["mask_ventilation"].settings) == {
        "peak_pressure",
        "end_pressure",
        "gas_flow",
    }
    assert view.actions["dry"].settings == ()
    peak = view.settings["peak_pressure"]
    assert peak.now is not None
    assert (peak.now.value, peak.now.unit) == (30, "cmH2O")
    # units of the trade alone: no dial of a cot reads the peak pressure in another
    assert peak.units == ("cmH2O",)
    assert (peak.step, peak.limits) == (1, {"cmH2O": (0, 60)})
    assert view.settings["suction_pressure"].units == ("mmHg", "kPa", "psi")


def test_a_setting_is_told_in_the_unit_in_which_it_was_read() -> None:
    room = Room()
    room.record("set", 20_000, setting="suction_pressure", value=13.3, unit="kPa")
    now = room.console(21_000).settings["suction_pressure"].now
    assert now is not None
    assert (now.value, now.unit) == (13.3, "kPa")


def test_a_supply_tells_the_minutes_that_a_hand_reckons() -> None:
    room = Room(born=False)
    room.record("set", 0, setting="gas_flow", value=8, unit="L/min")
    room.record("event", BIRTH_MS, name="birth")
    view = room.console(BIRTH_MS)
    air = next(supply for supply in view.supplies if supply.name == "air_cylinder")
    # 90 % of 460 L; at 8 L/min and 30 %, oxygen is 8 x 0.09 / 0.79 = 0.911 L/min, air the rest:
    # (414 - 7.089 x 5/60) / 7.089 = 58.3 min; with a tenth kept back 52.5 min. 90 % of 230 bar.
    assert air.empty_ms == pytest.approx(60_000 * 414 / (8 - 8 * 0.09 / 0.79), abs=2)
    assert air.words == "207 bar (90 %), 52 min to its 10 % reserve"


def test_an_adrenaline_dose_asks_strength_dose_volume_route_and_flush() -> None:
    dose = Room().console(BIRTH_MS).actions["adrenaline"].dose
    assert dose is not None
    assert dose.amount_units[0] == "mcg/kg"
    assert "mcg" in dose.amount_units
    assert dose.volume_units[0] == "mL"
    assert dose.strength_units[0] == "mg/mL"
    assert dose.flush_units[0] == "mL"
    assert [route for route, _ in dose.routes] == ["umbilical_vein", "intraosseous", "tracheal"]
    assert "Training only" in dose.caution


def test_marks_come_at_1_5_10_and_every_5_minutes_with_what_falls_due() -> None:
    marks = Room().console(BIRTH_MS).clock.marks
    minutes = [(mark.at_ms - BIRTH_MS) / 60_000 for mark in marks]
    assert minutes[:5] == [1, 5, 10, 15, 20]  # common practice, no source
    assert marks[0].words == "1 min"
    assert {mark.prompts for mark in marks} == {"apgar"}


def test_an_apgar_score_is_prompted_until_it_was_told_as_7_or_more() -> None:
    # At 1 and 5 min, then every 5 min while below 7: common practice, no source.
    room = Room()

    def prompts(minutes: int) -> list[str]:
        """The words at the marks still to come."""
        now = BIRTH_MS + minutes * 60_000 + 1_000
        marks = room.console(now).clock.marks
        return [mark.prompt_words for mark in marks if mark.at_ms > now][:3]

    def tell(minutes: int, score: str) -> None:
        spoken = {"apgar_score": {"value": score}}
        room.record(
            "action", BIRTH_MS + minutes * 60_000, action="apgar", phase="done", spoken=spoken
        )

    unknown = "Apgar score, if the last was below 7"
    assert prompts(0) == ["Apgar score", "Apgar score", unknown]
    tell(1, "6")
    assert prompts(1) == ["Apgar score"] * 3
    tell(2, "7")
    assert prompts(2) == ["Apgar score", "", ""]
    tell(3, "5")
    assert prompts(3) == ["Apgar score"] * 3


def test_the_clock_of_another_event_has_marks_and_no_prompts_of_a_birth() -> None:
    room = Room("cot-term", born=False)
    assert room.scenario.start.clock is not None
    room.record("event", 1_000, name=room.scenario.start.clock)
    marks = room.console(2_000).clock.marks
    assert marks
    assert {mark.prompts for mark in marks} == {None}


def test_the_display_shows_only_what_was_looked_for() -> None:
    room = Room()
    seen = {line.observation: line for line in room.bedside(BIRTH_MS + 20_000).lines}
    # nothing prompts: nobody has listened, or said how the baby breathes
    assert "heart_rate" not in seen
    assert "mouth" not in seen
    assert "breathing" not in seen
    assert "chest" not in seen
    room.act("oximeter", BIRTH_MS + 25_000, "start")
    pending = room.bedside(BIRTH_MS + 30_000)
    line = next(line for line in pending.lines if line.observation == "spo2")
    assert not line.taken
    assert line.what.left_to_ms == BIRTH_MS + 85_000
    assert line.what.curve is None
    room.act("mask_ventilation", BIRTH_MS + 40_000, "start")
    later = room.bedside(BIRTH_MS + 90_000)
    line = next(line for line in later.lines if line.observation == "spo2")
    assert line.taken
    assert line.what.curve is not None
    assert line.when is not None
    assert "now" in line.when.text


def test_a_snapshot_on_the_display_keeps_its_figure_and_tells_its_age() -> None:
    room = Room()
    room.act("assess_breathing", BIRTH_MS + 20_000)
    room.act("listen_to_heart", BIRTH_MS + 20_000)
    lines = {line.observation: line for line in room.bedside(BIRTH_MS + 60_000).lines}
    heart = lines["heart_rate"]
    # 26 s after the birth: 62 + 22 x exp(-26 / (90 / ln 20)) = 71.3.
    assert heart.what.text == "Heart rate 71 /min"
    assert heart.what.curve is None
    assert heart.when is not None
    assert heart.when.age_from_ms == BIRTH_MS + 26_000
    assert heart.old
    assert heart.large
    fresh = {line.observation: line for line in room.bedside(BIRTH_MS + 30_000).lines}
    assert not fresh["heart_rate"].old
    # what anybody can see is told as it is now, without an age
    assert lines["breathing"].what.text == "Breathing absent"
    assert lines["breathing"].when is None


def test_heart_rate_and_spo2_come_first_on_the_display() -> None:
    room = Room()
    room.act("assess_breathing", BIRTH_MS + 10_000)
    room.act("take_temperature", BIRTH_MS + 10_000)
    room.act("listen_to_heart", BIRTH_MS + 20_000)
    room.act("oximeter", BIRTH_MS + 20_000, "start")
    lines = [line.observation for line in room.bedside(BIRTH_MS + 100_000).lines]
    assert lines[:2] == ["heart_rate", "spo2"]
    assert {"breathing", "temperature"} <= set(lines[2:])


def test_the_display_has_no_names_no_guide_and_no_truth_that_nobody_looked_for() -> None:
    room = Room()
    room.act("dry", BIRTH_MS + 10_000, role="airway")
    text = orjson.dumps(room.bedside(BIRTH_MS + 20_000, equipment=True)).decode()
    for secret in ("N-104", "D-009", "chest_still", "Baby dried", '"target"', "importance"):
        assert secret not in text


def test_a_real_cot_is_read_by_the_team_and_not_on_the_display() -> None:
    room = Room()
    assert room.bedside(BIRTH_MS, equipment=False).equipment == ()
    assert "Oxygen 30 %" in room.bedside(BIRTH_MS, equipment=True).equipment


def test_an_observation_shown_by_hand_is_on_the_display() -> None:
    room = Room()
    room.record("reveal", BIRTH_MS + 10_000, observation="temperature", shown=True)
    lines = {line.observation: line for line in room.bedside(BIRTH_MS + 20_000).lines}
    assert lines["temperature"].taken


@pytest.mark.parametrize("why", ["safety stop", "stopped early"])
def test_after_the_end_the_display_holds_nothing_of_the_baby(why: str) -> None:
    room = Room()
    room.act("listen_to_heart", BIRTH_MS + 20_000)
    room.record("closed", BIRTH_MS + 40_000, why=why)
    view = room.bedside(BIRTH_MS + 50_000, equipment=True)
    assert view.closed == why
    assert view.lines == ()
    assert view.equipment == ()


def test_the_tape_tells_what_the_program_wrote_apart_and_lets_nobody_change_it() -> None:
    room = Room()
    room.act("dry", BIRTH_MS + 10_000)
    for entry in room.console(BIRTH_MS + 90_000).tape:
        if entry.kind == "state":
            assert not entry.by_person
            assert not entry.can_move
            assert not entry.can_remove
        if entry.kind == "action":
            assert entry.can_move
            assert entry.can_remove


def test_the_next_change_of_words_is_never_in_the_past() -> None:
    room = Room()
    room.act("oximeter", BIRTH_MS + 10_000, "start")
    at_ms = BIRTH_MS + 11_000
    for _ in range(60):
        scene = room.scene(at_ms)
        console_of(scene, screens=0)
        following = scene.next_change_log_ms()
        if following is None:
            break
        assert following > at_ms
        at_ms = following
    assert at_ms > BIRTH_MS + 60_000


def test_a_long_record_sends_its_latest_entries_and_counts_the_others() -> None:
    room = Room()
    for number in range(700):
        room.record("note", 10_000 + number, text=f"note {number}")
    before = room.console(20_000)
    late = room.record("note", 20_000, text="written down late")
    room.live.record("amend", {"id": late, "fields": {"at_ms": 1}}, noted_ms=20_001, by="p")
    for number in range(700):
        room.record("note", 30_000 + number, text=f"note {number}")
    late_too = room.act("dry", 40_000)
    room.live.record("amend", {"id": late_too, "fields": {"at_ms": 1}}, noted_ms=40_001, by="p")
    after = room.console(50_000)
    assert len(before.tape) == MOST_SHOWN
    assert len(after.tape) + after.earlier == len(tape_of(room.scene(50_000)))
    assert after.earlier > 1_000
    # what was written down last is there, however long ago it was, and older entries are not
    assert after.tape[0].id == after.last_entry == late_too
    assert after.steps["p"].undo[-1].words == "The correction of drying the baby"
    assert after.undone_within_ms == UNDONE_WITHIN_MS
    assert late not in {entry.id for entry in after.tape}
    assert len(orjson.dumps(after)) < 1.1 * len(orjson.dumps(before))
