"""What a person is asked for before the record is confirmed."""

from __future__ import annotations

from simengine.scoring.needed import needed_to_confirm
from tests.scoring.case import session

END = "400 closed finished"


def test_a_setting_that_nobody_wrote_down_is_asked_for_by_its_entry() -> None:
    key = (
        "- {expect: pump, from: birth, ideal: 60 s, importance: essential, "
        "settings: {pressure: 30 cmH2O, oxygen: 21 to 30 %}}"
    )
    (needed,) = needed_to_confirm(session(key, f"0 birth\n30 start pump pressure=30\n{END}"))
    assert (needed.item, needed.what, needed.name) == ("expect:pump", "setting", "oxygen")
    assert needed.event_id == "00000000-0000-4000-8000-000000000003"
    assert needed.blocks
    assert needed.words == "Pump: Oxygen was not recorded."


def test_parts_of_a_dose_are_asked_for() -> None:
    key = "- {expect: give, from: birth, ideal: 60 s, dose: 20 mcg/kg, routes: [vein]}"
    needed = needed_to_confirm(session(key, f"0 birth\n30 done give\n{END}"))
    assert [(need.what, need.name, need.blocks) for need in needed] == [
        ("dose", "amount", False),
        ("dose", "route", False),
    ]


def test_what_was_read_and_not_said_is_asked_for_and_does_not_block() -> None:
    key = "- {repeat: {know: rate, told: true}, every: 30 s, importance: essential}"
    record = f"20 done look\n60 done look spoken=120\n{END}"
    (needed,) = needed_to_confirm(session(key, record))
    assert (needed.what, needed.at_ms, needed.blocks) == ("value said", 22_000, False)


def test_a_value_before_a_change_and_one_that_was_kept_are_asked_for() -> None:
    key = """
    - {expect: {set: oxygen, change: lower}, from: birth, ideal: 60 s, importance: essential}
    - {keep: {settings: {strict: at most 50 %}}}
    """
    needed = needed_to_confirm(session(key, f"0 birth\n30 set oxygen=30\n{END}"))
    assert [(need.what, need.name, need.blocks) for need in needed] == [
        ("setting", "oxygen", True),
        ("setting", "strict", False),
    ]


def test_a_tenfold_slip_is_asked_until_somebody_has_answered() -> None:
    key = "- {expect: give, from: birth, ideal: 60 s, dose: 20 mcg/kg}"
    slip = "0 birth\n30 done give amount=200_mcg/kg\n"
    (needed,) = needed_to_confirm(session(key, slip + END))
    assert needed.what == "given so"
    assert needed.words.endswith("Was that the dose given, or a slip in the record?")
    assert not needed_to_confirm(session(key, f"{slip}100 dose 2 amount=20_mcg/kg\n{END}"))


def test_what_is_marked_as_not_observed_is_not_asked_for() -> None:
    key = "- {expect: pump, from: birth, ideal: 60 s, settings: {oxygen: 21 to 30 %}}"
    record = f"0 birth\n30 start pump\n40 unobserved expect:pump\n{END}"
    assert needed_to_confirm(session(key, record)) == ()
