"""When the steps of a play are done, and what they write down."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.plays import load_play, perform, result_of
from simengine.plays.check import check_play
from simengine.session import verify_log
from simengine.session.dynamics import curve_at
from tests.plays.small import BY_THE_BOOK, a_play, entries, played


def test_a_time_by_itself_is_on_the_teams_clock_which_starts_after_a_minute(tmp_path: Path) -> None:
    result = played(tmp_path, BY_THE_BOOK)
    assert entries(result, "event") == [(60, "birth")]
    assert entries(result) == [(70, "listen"), (80, "mask_ventilation")]


def test_the_clock_starts_when_the_play_says(tmp_path: Path) -> None:
    result = played(tmp_path, "  - {at: -5 s, do: listen}\n", head="clock_at: 90 s\n")
    assert entries(result, "event") == [(90, "birth")]
    assert entries(result) == [(85, "listen")]


@pytest.mark.parametrize(
    ("at", "seconds"),
    [
        ("{start: 7 s}", 7),
        ("{state: limp, after: 12 s}", 72),
        ("{state: better, after: 3 s}", 103),
        ("{action: mask_ventilation, after: 4 s}", 84),
        ("{when: {observed: {breathing: regular}}, lasting: 5 s, after: 2 s}", 107),
        ("{when: {doing: mask_ventilation}}", 80),
    ],
)
def test_a_step_is_done_when_it_says(tmp_path: Path, at: str, seconds: int) -> None:
    result = played(tmp_path, f"{BY_THE_BOOK}  - {{at: {at}, do: say_ready}}\n")
    assert (seconds, "say_ready") in entries(result)


def test_a_team_reacts_to_the_heart_rate_as_it_crosses_a_figure(tmp_path: Path) -> None:
    """v(t) = 50 + 40 e^(-t/τ), τ = 60 s / ln 20: 60 /min is crossed after τ ln 4 = 27.76 s."""
    steps = "  - {at: {when: {observed: {heart_rate: below 60 /min}}}, do: say_ready}\n"
    result = played(tmp_path, steps)
    first_act = next(event for event in result.performed.session.events if event.kind == "action")
    assert first_act.at_ms == 60_000 + 27_766
    curve = result.performed.session.curves["heart_rate"]
    assert (curve_at(curve, first_act.at_ms) or 0) < 60


def test_a_team_reacts_to_what_it_has_seen_alone(tmp_path: Path) -> None:
    steps = "  - {at: 10 s, do: listen}\n  - {at: {when: {seen: heart_rate}}, do: say_ready}\n"
    assert (76, "say_ready") in entries(played(tmp_path, steps))


def test_a_team_reacts_to_what_it_has_read(tmp_path: Path) -> None:
    """The rate is below 60 /min from 27.8 s after birth; it is listened to at 10 and at 40 s."""
    steps = (
        "  - {at: 10 s, do: listen}\n  - {at: 40 s, do: listen}\n"
        "  - {at: {when: {read: {heart_rate: below 60 /min, within: 15 s}}, after: 2 s},\n"
        "     do: say_ready}\n"
    )
    assert (60 + 40 + 6 + 2, "say_ready") in entries(played(tmp_path, steps))


def test_a_step_that_waits_for_what_does_not_last_is_not_done(tmp_path: Path) -> None:
    steps = (
        "  - {at: 10 s, start: mask_ventilation}\n  - {at: 16 s, stop: mask_ventilation}\n"
        "  - {at: {when: {doing: mask_ventilation}, lasting: 10 s}, do: say_ready}\n"
    )
    result = played(tmp_path, steps)
    assert "say_ready" not in [name for _, name in entries(result)]
    assert [line.came for line in result.lines if line.what == "step"] == ["it never came to that"]


def test_a_step_is_done_again_and_again_until_it_says(tmp_path: Path) -> None:
    until = "  - {at: 10 s, every: 30 s, until: 70 s, do: listen}\n"
    assert [at for at, _ in entries(played(tmp_path, until))] == [70, 100]
    state = f"{BY_THE_BOOK}  - {{at: 12 s, every: 10 s, until: {{state: better}}, do: say_ready}}\n"
    assert [at for at, name in entries(played(tmp_path, state)) if name == "say_ready"] == [
        *(72, 82, 92)
    ]
    until = "{when: {observed: {heart_rate: below 60 /min}}}"
    met = f"  - {{at: 5 s, every: 10 s, until: {until}, do: listen}}\n"
    assert [at for at, _ in entries(played(tmp_path, met))] == [65, 75, 85]


def test_a_step_for_each_entry_of_a_state_is_done_at_each(tmp_path: Path) -> None:
    steps = (
        f"{BY_THE_BOOK}  - {{at: {{state: better, after: 5 s}}, event: collapse}}\n"
        "  - {at: {state: limp, after: 2 s}, each: true, do: say_ready}\n"
    )
    instants = [at for at, name in entries(played(tmp_path, steps)) if name == "say_ready"]
    assert instants == [62, 107]


def test_what_is_said_is_what_the_baby_shows_unless_the_step_says_otherwise(tmp_path: Path) -> None:
    steps = (
        "  - {at: 1 s, do: listen}\n  - {at: 2 s, do: listen, told: {heart_rate: 150 /min}}\n"
        "  - {at: 4 s, do: listen, told: nothing}\n"
    )
    events = [e for e in played(tmp_path, steps).performed.session.events if e.kind == "action"]
    spoken = [event.data.get("spoken") for event in events]
    assert spoken == [
        {"heart_rate": {"value": 88, "unit": "/min"}},
        {"heart_rate": {"value": 150.0, "unit": "/min"}},
        None,
    ]


def test_settings_doses_ways_and_roles_stand_in_the_log(tmp_path: Path) -> None:
    steps = (
        "  - {at: 1 s, start: mask_ventilation, settings: {peak_pressure: 3 kPa}}\n"
        "  - {at: 2 s, do: adrenaline, how: simulated, role: leader,\n"
        "     dose: {amount: 60 mcg, route: vein, strength: 0.1 mg/mL, flush: 3 mL}}\n"
        "  - {at: 3 s, set: {oxygen: 100 %, light: on}}\n"
    )
    events = played(tmp_path, steps).performed.session.events
    begun, given, *turned = [e.data for e in events if e.kind in ("action", "set")]
    assert begun["role"] == "airway"
    assert begun["settings"]["peak_pressure"] == {"value": 3.0, "unit": "kPa"}
    assert (given["how"], given["role"]) == ("simulated", "leader")
    assert given["dose"] == {
        "amount": {"value": 60.0, "unit": "mcg"},
        "route": {"value": "vein"},
        "strength": {"value": 0.1, "unit": "mg/mL"},
        "flush": {"value": 3.0, "unit": "mL"},
    }
    assert [(setting_change["setting"], setting_change["value"]) for setting_change in turned] == [
        ("oxygen", 100.0),
        ("light", "on"),
    ]


def test_what_is_written_down_late_keeps_its_time(tmp_path: Path) -> None:
    result = played(
        tmp_path, "  - {at: 10 s, do: listen, late: 6 s}\n  - {at: 12 s, do: say_ready}\n"
    )
    actions = [e for e in result.performed.session.events if e.kind == "action"]
    assert [(e.data["action"], e.at_ms, e.noted_ms) for e in actions] == [
        ("say_ready", 72_000, 72_000),
        ("listen", 70_000, 76_000),
    ]


def test_the_facilitator_does_what_the_play_says(tmp_path: Path) -> None:
    steps = (
        "  - {at: 1 s, state: better}\n  - {at: 2 s, information: The chest rises.}\n"
        "  - {at: 3 s, cue: And the heart?, prompts: listen}\n  - {at: 4 s, hold: true}\n"
        "  - {at: 5 s, find: low_light}\n  - {at: 6 s, show: heart_rate}\n"
        "  - {at: 90 s, release: true}\n"
    )
    result = played(tmp_path, steps)
    kinds = [event.kind for event in result.performed.session.events]
    for kind in ("information", "cue", "hold", "fault", "reveal", "release"):
        assert kind in kinds
    assert entries(result, "state") == [(0, "waiting"), (60, "limp"), (61, "better"), (150, "over")]


def alike(folder: Path, text: str) -> Path:
    """Write a play like ``one``; ``text`` is what is its own."""
    file = folder / "plays" / "turn" / "two.yaml"
    head = "format: 1\ntitle: Two\nscenario: turn\n"
    file.write_text(f"{head}{text}\nexpect: {{outcome: achieved}}\n", encoding="utf-8")
    return file


def test_a_play_can_be_like_another_but_for_what_it_leaves_out_and_adds(tmp_path: Path) -> None:
    a_play(tmp_path, BY_THE_BOOK, head="clock_at: 30 s\n")
    like = "like: one\nwithout: [listen]\nsteps: [{at: 40 s, do: say_ready}]"
    result = result_of(perform(load_play(alike(tmp_path, like))))
    assert entries(result) == [(50, "mask_ventilation"), (70, "say_ready")]
    plain = result_of(perform(load_play(alike(tmp_path, "like: one"))))
    assert entries(plain) == [(40, "listen"), (50, "mask_ventilation")]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("like: ome", "two.yaml:4:7: like: expected another play in this folder, found 'ome'"),
        ("like: two", "two.yaml:4:7: like: expected another play in this folder, found 'two'"),
        ("like: one\nwithout: [lisen]", "did you mean 'listen'?"),
        ("without: listen\nsteps: []", "expected 'like' beside 'without'"),
        ("about: Nothing", "expected the key 'steps', found none"),
    ],
)
def test_what_a_play_is_like_has_to_be_there(tmp_path: Path, text: str, words: str) -> None:
    a_play(tmp_path, BY_THE_BOOK)
    messages = [str(problem) for problem in check_play(alike(tmp_path, text))]
    assert words in messages[0]


def test_a_step_of_the_other_play_that_is_never_done_is_told_at_its_name(tmp_path: Path) -> None:
    a_play(tmp_path, f"{BY_THE_BOOK}  - {{at: {{state: better}}, do: say_ready}}\n")
    messages = [str(p) for p in check_play(alike(tmp_path, "like: one\nwithout: mask_ventilation"))]
    assert "two.yaml:4:7: like: expected a step that comes to be done" in messages[0]


def test_what_the_facilitator_did_can_be_undone(tmp_path: Path) -> None:
    steps = "  - {at: 5 s, state: better}\n  - {at: 12 s, undo: state}\n"
    session = played(tmp_path, steps).performed.session
    assert [stay.state for stay in session.stays] == ["waiting", "limp", "over"]
    assert [stay.state for stay in session.undone] == ["better"]


def test_a_birth_can_be_undone(tmp_path: Path) -> None:
    result = played(tmp_path, "  - {at: 5 s, undo: event}\n")
    assert result.performed.session.record.clock_ms is None
    assert [stay.state for stay in result.performed.session.stays] == ["waiting"]


def test_a_step_can_end_the_session(tmp_path: Path) -> None:
    result = played(tmp_path, f"{BY_THE_BOOK}  - {{at: 60 s, close: stopped early}}\n")
    assert result.performed.session.closed == "stopped early"
    assert result.card.outcome is None


def test_what_never_ends_is_stopped_at_three_times_the_planned_time(tmp_path: Path) -> None:
    result = played(tmp_path, "  - {at: 1 s, hold: true}\n")
    session = result.performed.session
    assert (session.closed, session.end_ms) == ("stopped early", 3 * 180_000)


def test_a_play_gives_the_same_log_again_and_it_verifies(tmp_path: Path) -> None:
    play = load_play(a_play(tmp_path, BY_THE_BOOK))
    logs = [perform(play, chained=True).session.events for _ in range(2)]
    assert logs[0] == logs[1]
    assert verify_log(play.scenario, logs[0]) is None
