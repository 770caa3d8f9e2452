"""Conditions read as sentences do."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from simengine.quantities import Range
from simengine.scenario import load_scenario
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Not,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.key import AskedAction, AskedFault, AskedSetting
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import OneOf, Steps
from simengine.scenario.words import (
    asked_words,
    condition_words,
    state_words,
    transition_words,
    wanted_words,
)


@cache
def small() -> Scenario:
    return load_scenario(Path(__file__).parents[1] / "scenarios" / "valid" / "small.yaml")


def words() -> Vocabulary:
    return small().vocabulary


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        (Doing("mask_ventilation"), "ventilation running"),
        (Not(Doing("mask_ventilation")), "ventilation not running"),
        (Done("listen"), "the team did “Heart listened to”"),
        (Not(Done("listen", ever=True)), "before the team did “Heart listened to”"),
        (SettingIs("oxygen", Range(low=90.0)), "oxygen at least 90 %"),
        (SettingIs("light", OneOf(("on",))), "light on"),
        (Observed("breathing", OneOf(("absent", "gasping"))), "breathing absent or gasping"),
        (Observed("spo2", Range(high=85.0, high_open=True)), "SpO2 below 85 %"),
        (Observed("spo2", Steps(((60_000, Range()),), "spo2_target")),
         "SpO2 as the protocol has it by the clock"),
        (Seen("heart_rate"), "heart rate known to the team"),
        (Not(Seen("heart_rate")), "heart rate not known to the team"),
        (SupplyIs("cylinder", Range(high=0.0)), "oxygen cylinder empty"),
        (SupplyIs("cylinder", Range(low=230.0)), "oxygen cylinder at least 230 L"),
        (FaultIs("half_empty", "mended"), "fault “half empty” put right"),
        (ClockIs(Range(high=270_000.0)), "clock at most 4 min 30 s"),
        (ClockIs(Range(60_000.0, 120_000.0)), "clock 60 s to 2 min"),
        (
            All((Doing("mask_ventilation"), SettingIs("peak_pressure", Range(low=25.0)))),
            "ventilation running, with peak pressure (PIP) at least 25 cmH2O",
        ),
        (
            All(
                (
                    Doing("mask_ventilation"),
                    Doing("compressions"),
                    SettingIs("oxygen", Range(low=90.0)),
                )
            ),
            "ventilation and compressions running, with oxygen at least 90 %",
        ),
        (
            AnyOf((Seen("spo2"), All((Done("listen"), Doing("oximeter"))))),
            "SpO2 known to the team or (oximeter on running and the team did “Heart listened to”)",
        ),
        (
            Not(AnyOf((Doing("mask_ventilation"), Doing("compressions")))),
            "neither ventilation nor compressions running",
        ),
        (Not(Not(Seen("spo2"))), "SpO2 known to the team"),
        (Not(Observed("spo2", Range(low=85.0))), "not (SpO2 at least 85 %)"),
    ],
)  # fmt: skip
def test_a_condition_reads_as_a_sentence(condition: Condition, said: str) -> None:
    assert condition_words(condition, words()) == said


def test_a_transition_says_all_that_it_waits_for() -> None:
    waiting, limp, worse = (small().states[name].next for name in ("waiting", "limp", "worse"))
    assert transition_words(waiting[0], words()) == "birth"
    assert transition_words(limp[1], words()) == "after 75 s"
    assert transition_words(limp[0], words()) == (
        "ventilation running and (heart rate above 50 /min or SpO2 not known to the team), "
        "with peak pressure (PIP) at least 25 cmH2O and light on, held for 20 s"
    )
    assert (
        transition_words(worse[0], words()) == "the team did “Adrenaline” and clock at least 90 s"
    )


def test_a_state_says_what_it_shows() -> None:
    assert state_words(small().states["limp"], words()) == (
        "breathing: absent",
        "heart rate: 90 to 70 /min within 30 s",
        "SpO2: 40 to 30 % within 60 s (shifts with oxygen)",
    )
    assert state_words(small().states["worse"], words()) == ("heart rate: to 40 /min within 60 s",)


def test_what_is_asked_is_a_title() -> None:
    faults = small().start.faults
    assert asked_words(AskedAction("listen"), words(), faults) == "Heart listened to"
    assert (
        asked_words(AskedSetting("oxygen", direction="lower"), words(), faults) == "Oxygen lowered"
    )
    assert asked_words(AskedSetting("oxygen", to=Range(21.0, 30.0)), words(), faults) == (
        "Oxygen 21 to 30 %"
    )
    assert asked_words(AskedFault("half_empty", "mended"), words(), faults) == (
        "Put right: gauge below half"
    )


def test_a_table_by_the_clock_is_told_row_by_row() -> None:
    steps = Steps(((60_000, Range(low=60.0)), (300_000, Range(85.0, 95.0))), "spo2_target")
    assert wanted_words(steps, "%") == "at least 60 % from 60 s, 85 to 95 % from 5 min"
