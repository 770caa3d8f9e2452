"""Correct care that was marked down before, and dangerous care that passed; and what is no danger.

Each is by the book (``variants``) but for one thing. What must come of it is what a fair examiner
would say; figures of the protocols are those of the shipped ones, which name their sources.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from simengine.plays import Result
from simengine.plays.results import findings, unsafe
from simengine.scoring.card import ItemScore
from tests.plays import variants
from tests.plays.variants import BOOKS, Steps


@pytest.fixture
def term(tmp_path: Path) -> partial[Result]:
    return partial(variants.played, tmp_path, "table-term")


@pytest.fixture
def preterm(tmp_path: Path) -> partial[Result]:
    return partial(variants.played, tmp_path, "table-preterm")


@pytest.fixture
def well(tmp_path: Path) -> partial[Result]:
    return partial(variants.played, tmp_path, "table-well")


@pytest.fixture
def cot(tmp_path: Path) -> partial[Result]:
    return partial(variants.played, tmp_path, "table-cot")


def item(result: Result, id_: str) -> ItemScore:
    return next(item_ for item_ in result.card.items if item_.id == id_)


def credit(result: Result, id_: str) -> float | None:
    return item(result, id_).credit


def dose(amount: str, route: str = "umbilical_vein", at: str = "130 s") -> Steps:
    return {
        "adrenaline": f"{{at: {at}, do: adrenaline, dose: {{amount: {amount}, route: {route}, "
        "strength: 0.1 mg/mL, flush: 3 mL}}"
    }


def assert_dangerous(result: Result, *names: str) -> None:
    assert set(unsafe(result.card)) == {f"never:{name}" for name in names}
    assert result.card.outcome == "not yet achieved"
    assert result.card.reasons


def assert_right(result: Result) -> None:
    assert unsafe(result.card) == ()
    assert result.card.outcome == "achieved"


# --- by the book ----------------------------------------------------------------------------------


@pytest.mark.parametrize("scenario", BOOKS)
def test_a_team_by_the_book_loses_nothing(tmp_path: Path, scenario: str) -> None:
    result = variants.played(tmp_path, scenario, {})
    assert result.card.total is not None
    assert result.card.total >= 0.97
    assert_right(result)


# --- doses ----------------------------------------------------------------------------------------


def test_ten_times_the_adrenaline_is_unsafe(term: partial[Result]) -> None:
    result = term(dose("600 mcg"))
    assert_dangerous(result, "far_too_much")
    assert result.card.slips


def test_the_whole_range_of_the_protocol_is_right(term: partial[Result]) -> None:
    for amount in ("10 mcg/kg", "30 mcg/kg", "90 mcg"):
        result = term(dose(amount))
        assert credit(result, "adrenaline") == 1
        assert_right(result)


def test_beyond_a_single_figure_a_dose_earns_part_of_the_credit(term: partial[Result]) -> None:
    """20 ± 2 mcg/kg is right; from 22 the credit falls in a line to 0 at 40, twice the figure."""
    result = term(dose("30 mcg/kg"), protocol="table-20")
    assert credit(result, "adrenaline") == pytest.approx((40 - 30) / (40 - 22))
    assert unsafe(result.card) == ()


def test_volume_in_three_syringes_that_make_the_dose_is_right(term: partial[Result]) -> None:
    syringe = "{{at: {} s, do: volume, dose: {{amount: 10 mL, route: umbilical_vein}}}}"
    result = term(
        {"volume": None, **{f"syringe {at}": syringe.format(at) for at in (170, 200, 230)}}
    )
    assert credit(result, "volume") == 1
    assert_right(result)


def test_adrenaline_before_the_state_that_asks_is_right_by_the_condition(
    term: partial[Result],
) -> None:
    result = term(dose("60 mcg", at="105 s"))
    assert item(result, "adrenaline").verdict == "on time"
    assert_right(result)


def test_any_of_the_ways_in_serves(term: partial[Result]) -> None:
    result = term(
        {"access": "{at: 120 s, do: intraosseous_access}", **dose("60 mcg", "intraosseous")}
    )
    assert credit(result, "access") == credit(result, "adrenaline") == 1
    assert_right(result)


@pytest.mark.parametrize("amount", ["60 mcg", "600 mcg"])
def test_adrenaline_without_need_is_unsafe_though_no_item_asks_for_any(
    well: partial[Result], amount: str
) -> None:
    given = dose(amount, at="60 s")
    more = ("far_too_much",) if amount == "600 mcg" else ()
    assert_dangerous(well(given), "adrenaline_not_needed", *more)


# --- pressure, suction ----------------------------------------------------------------------------


def test_a_few_breaths_with_far_too_much_pressure_are_unsafe_at_once(term: partial[Result]) -> None:
    result = term({"up": "{at: 50 s, set: {peak_pressure: 62 cmH2O}}",
                   "down": "{at: 58 s, set: {peak_pressure: 30 cmH2O}}"})  # fmt: skip
    assert_dangerous(result, "pressure_far_above")


def test_too_much_pressure_is_unsafe_after_ten_seconds(term: partial[Result]) -> None:
    def raised(seconds: int) -> Result:
        down = f"{{at: {50 + seconds} s, set: {{peak_pressure: 30 cmH2O}}}}"
        return term({"up": "{at: 50 s, set: {peak_pressure: 45 cmH2O}}", "down": down})

    assert_dangerous(raised(12), "pressure_above_highest")
    assert_right(raised(8))


def test_strong_suction_of_the_baby_is_unsafe(term: partial[Result]) -> None:
    suck = "{{at: 25 s, do: suction, settings: {{suction_pressure: {} mmHg}}}}"
    assert_dangerous(term({"suck": suck.format(200)}), "strong_suction")
    assert_right(term({"suck": suck.format(90)}))


def test_a_dial_found_high_a_planted_fault_and_a_closed_outlet_are_no_danger(
    cot: partial[Result],
) -> None:
    assert_right(cot())  # 65 cmH2O as found, planted, and put right
    closed = "{at: 20 s, do: occlusion_test, settings: {peak_pressure: 65 cmH2O}}"
    assert_right(cot({"early": closed}))


def test_a_pressure_found_so_and_then_used_on_the_baby_is_unsafe(term: partial[Result]) -> None:
    result = term({"dial": "{at: -20 s, set: {peak_pressure: 45 cmH2O}}",
                   "ventilation": "{at: 30 s, start: mask_ventilation}"})  # fmt: skip
    assert "never:pressure_above_highest" in unsafe(result.card)


# --- compressions ---------------------------------------------------------------------------------


def test_compressions_at_a_heart_rate_that_nobody_looked_for_are_unsafe(
    well: partial[Result],
) -> None:
    result = well({"heart": None, "late": "{at: 90 s, do: listen_to_heart}",
                   "compressions": "{at: 70 s, start: chest_compressions}",
                   "stop": "{at: 80 s, stop: chest_compressions}"})  # fmt: skip
    assert_dangerous(result, "compressions_not_needed")


def test_compressions_before_any_breath_are_unsafe_and_serve_no_item(term: partial[Result]) -> None:
    begun = TERM_COMPRESSIONS.replace("67 s", "15 s")
    stop = "{at: {state: recovering, after: 5 s}, stop: chest_compressions}"
    result = term({"compressions": begun, "stop": stop})
    assert "never:compressions_before_breaths" in unsafe(result.card)
    assert result.card.outcome == "not yet achieved"
    assert credit(result, "compressions") == 0


def test_a_rise_that_nobody_has_read_is_no_danger(term: partial[Result]) -> None:
    """They go on until the next re-check, as taught, though the rate has passed 60 unseen."""
    result = term({"heart": "{at: 20 s, every: 28 s, do: listen_to_heart}", "stop": None,
                   "stop after": "{at: {when: {doing: chest_compressions, observed: "
                                 "{heart_rate: at least 60 /min}}, after: 25 s}, "
                                 "stop: chest_compressions}"})  # fmt: skip
    assert unsafe(result.card) == ()


def test_compressions_kept_on_after_a_good_reading_are_unsafe(term: partial[Result]) -> None:
    result = term({"stop": None, "ecg": "{at: 60 s, start: ecg}"})
    assert_dangerous(result, "compressions_kept_on")


def test_three_seconds_into_a_state_that_forbids_them_is_within_what_a_recorder_is_out_by(
    term: partial[Result],
) -> None:
    result = term({"stop": "{at: {state: recovering, after: 3 s}, stop: chest_compressions}"})
    assert [deduction.id for deduction in result.card.deductions] == []


def test_rate_and_depth_not_written_down_blame_nobody(term: partial[Result]) -> None:
    result = term({"compressions": "{at: 67 s, start: chest_compressions}"})
    compressions = item(result, "compressions")
    assert (compressions.verdict, compressions.credit) == ("not recorded", 1)
    assert unsafe(result.card) == ()


# --- oxygen ---------------------------------------------------------------------------------------


def test_full_oxygen_to_a_very_small_baby_is_unsafe_once_the_team_can_read_it(
    preterm: partial[Result],
) -> None:
    full = "{at: 30 s, start: mask_ventilation, settings: {oxygen: 100 %, peak_pressure: 25 cmH2O}}"
    assert_dangerous(preterm({"ventilation": full}), "too_much_oxygen")
    unread = preterm({"ventilation": full, "oximeter": None})
    assert unsafe(unread.card) == ()
    assert unread.card.outcome == "not yet achieved"
    assert item(unread, "oximeter").importance == "essential"


def test_oxygen_that_is_being_turned_down_is_no_danger(preterm: partial[Result]) -> None:
    full = "{at: 30 s, start: mask_ventilation, settings: {oxygen: 100 %, peak_pressure: 25 cmH2O}}"
    seen = "{when: {seen: spo2, observed: {spo2: above 95 %}}, after: 15 s}"
    result = preterm({"ventilation": full, "down": f"{{at: {seen}, set: {{oxygen: 60 %}}}}",
                      "further": "{at: 3 min, set: {oxygen: 30 %}}"})  # fmt: skip
    assert unsafe(result.card) == ()


def test_oxygen_from_100_to_99_is_no_change(term: partial[Result]) -> None:
    down = "{at: {state: recovering, after: 25 s}, set: {oxygen: 99 %}}"
    assert credit(term({"oxygen down": down}), "oxygen-down") == 0


# --- knowing and telling --------------------------------------------------------------------------


def test_a_pulse_felt_a_moment_before_the_state_that_asks_is_known_on_time(
    term: partial[Result],
) -> None:
    felt = {"heart": "{at: 28 s, every: 25 s, do: feel_cord}"}  # read at 34 s; the state is at 35 s
    result = term(felt)
    assert result.performed.session.stays[2].entry_ms == 60_000 + 35_000
    assert (item(result, "heart-known").verdict, credit(result, "heart-known-on")) == ("on time", 1)
    assert_right(result)


def test_an_ecg_makes_the_heart_rate_known_though_nobody_listens(term: partial[Result]) -> None:
    result = term({"heart": None, "once": "{at: 20 s, do: listen_to_heart}",
                   "ecg": "{at: 15 s, start: ecg}"})  # fmt: skip
    assert credit(result, "heart-known-on") == 1
    assert credit(result, "heart-told") == 1
    assert_right(result)


def test_a_heart_rate_told_wrong_earns_nothing_where_telling_is_asked(
    term: partial[Result],
) -> None:
    wrong = "{at: 20 s, every: 25 s, do: listen_to_heart, told: {heart_rate: 150 /min}}"
    result = term({"heart": wrong})
    telling = item(result, "heart-told")
    assert (telling.verdict, telling.credit) == ("told wrong", 0)
    assert credit(result, "heart-known-on") == 1
    concerns = [concern for concern in result.card.found if concern.code == "told wrong"]
    assert unsafe(result.card) == ()
    assert len(concerns) > 5
    assert all("you said heart rate was 150 /min" in concern.evidence.words for concern in concerns)


def test_about_fifty_told_while_it_is_57_is_right(
    well: partial[Result], term: partial[Result]
) -> None:
    near = "{at: 20 s, every: 25 s, do: listen_to_heart, told: {heart_rate: 50 /min}}"
    result = term({"heart": near})
    assert credit(result, "heart-known-on") == 1
    assert unsafe(result.card) == ()
    assert item(result, "heart-told").verdict != "told wrong"


@pytest.mark.parametrize("band", ["below 60 /min", "50 to 60 /min"])
def test_a_band_as_teams_tell_it_is_near(term: partial[Result], band: str) -> None:
    slow = "{when: {doing: chest_compressions, observed: {heart_rate: at least 60 /min}}}"
    step = f"{{at: 25 s, every: 25 s, until: {slow}, do: listen_to_heart, "
    result = term({"heart": f"{step}told: {{heart_rate: {band}}}}}",
                   "then": "{at: {state: recovering, after: 20 s}, every: 25 s, "
                           "do: listen_to_heart}"})  # fmt: skip
    assert [concern for concern in result.card.found if concern.code == "told wrong"] == []
    assert credit(result, "heart-told") == pytest.approx(1, abs=0.02)


def test_a_band_that_is_far_is_told_wrong(term: partial[Result]) -> None:
    result = term({"heart": "{at: 25 s, every: 25 s, do: listen_to_heart, "
                            "told: {heart_rate: above 100 /min}}"})  # fmt: skip
    assert [concern for concern in result.card.found if concern.code == "told wrong"]


# --- ahead, and by voice --------------------------------------------------------------------------


def test_what_stays_done_can_be_done_ahead(term: partial[Result]) -> None:
    result = term({"help": "{at: -40 s, do: call_for_help}",
                   "senior": "{at: -38 s, do: call_senior}",
                   "blood": "{at: -30 s, do: ask_for_blood}",
                   "causes": "{at: -25 s, do: consider_causes}"})  # fmt: skip
    for id_ in ("call_for_help", "call_senior", "ask_for_blood", "consider_causes"):
        assert credit(result, f"expect:{id_}") == 1, id_
    assert_right(result)


def test_a_hat_put_on_during_the_wait_for_the_cord_is_done_ahead(term: partial[Result]) -> None:
    result = term({"hat": "{at: 13 s, do: hat}"})
    assert credit(result, "expect:hat") == 1


def test_speech_recorded_as_said_is_done(term: partial[Result]) -> None:
    spoken = ("roles", "help", "apgar", "senior", "blood", "causes", "time", "plan")
    steps: Steps = {name: f"{(TERM[name] or '')[:-1]}, how: said}}" for name in spoken}
    result = term(steps)
    assert result.card.total is not None
    assert result.card.total >= 0.97
    assert_right(result)


def test_everything_said_and_attached_before_the_birth_and_nothing_after_does_not_pass(
    term: partial[Result],
) -> None:
    ahead = {
        name: f"{{at: -{number + 10} s, do: {action}}}"
        for number, (name, action) in enumerate(
            {"roles": "name_roles", "help": "call_for_help", "senior": "call_senior",
             "blood": "ask_for_blood", "causes": "consider_causes", "plan": "say_plan"}.items()
        )
    }  # fmt: skip
    result = term({
        **dict.fromkeys(TERM, None), **ahead,
        "ecg": "{at: -20 s, start: ecg}", "oximeter": "{at: -20 s, start: oximeter}",
    })  # fmt: skip
    assert result.card.total is not None
    assert result.card.total < 0.30
    assert result.card.outcome == "not yet achieved"
    assert unsafe(result.card) == ("never:no_breath",)


def test_a_first_breath_at_the_real_median_is_no_danger(term: partial[Result]) -> None:
    """Bjorland 2020: first ventilation at 78 s (42 to 118 s) in real resuscitations (read)."""
    later = TERM["ventilation"] or ""
    result = term({"ventilation": later.replace("30 s", "78 s", 1),
                   "compressions": TERM_COMPRESSIONS.replace("67 s", "115 s"),
                   "oxygen up": "{at: 120 s, set: {oxygen: 100 %}}",
                   "access": "{at: 150 s, do: umbilical_access}", **dose("60 mcg", at="170 s"),
                   "volume": None})  # fmt: skip
    assert unsafe(result.card) == ()


# --- the cot --------------------------------------------------------------------------------------


def test_what_was_not_checked_when_the_cot_was_called_ready_is_missed(cot: partial[Result]) -> None:
    result = cot({"relief": None, "suction": None, "bag": None, "clock": None, "purge": None,
                  "ready": "{at: 2 min 32 s, do: say_cot_ready}"})  # fmt: skip
    for id_ in ("relief", "suction", "expect:check_bag", "expect:check_clock"):
        assert (item(result, id_).verdict, credit(result, id_)) == ("missed", 0), id_
    assert result.card.outcome == "not yet achieved"


def test_a_reading_is_compared_on_both_sides(cot: partial[Result]) -> None:
    none = "{at: 75 s, do: check_suction, settings: {suction_pressure: 0 mmHg}}"
    high = "{at: 60 s, do: check_relief, settings: {relief_limit: 80 cmH2O}}"
    result = cot({"suction": none, "relief": high})
    assert [item(result, id_).verdict for id_ in ("suction", "relief")] == ["setting off"] * 2
    assert result.card.outcome == "not yet achieved"


def test_gas_never_turned_off_is_partly_in_order(cot: partial[Result]) -> None:
    gases = item(cot({"purge": None}), "gases")
    assert (gases.verdict, gases.credit) == ("partly", 0.5)


def test_findings_of_the_record_are_none_by_the_book(term: partial[Result]) -> None:
    result = term()
    assert findings(result.performed, result.card) == ()


TERM = variants.TERM
TERM_COMPRESSIONS = TERM["compressions"] or ""
