"""The list of names that an author may use."""

from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.names import name_lines

SMALL = Path(__file__).parents[1] / "scenarios" / "valid" / "small.yaml"


def test_every_name_stands_in_the_list_with_what_an_author_has_to_know() -> None:
    assert list(name_lines(load_scenario(SMALL))) == [
        "Settings of the equipment",
        "  oxygen         Oxygen (21 to 100 %, tolerance 5 %)",
        "  gas_flow       Gas flow (0 to 20 L/min, tolerance 1 L/min)",
        "  peak_pressure  Peak pressure (PIP) (cmH2O, tolerance 2 cmH2O)",
        "  light          Light (off, on)",
        "",
        "Observations of the baby",
        "  breathing   Breathing (absent, gasping, regular)",
        "  heart_rate  Heart rate (/min; known by listen or oximeter)",
        "  spo2        SpO2 (%; known by oximeter)",
        "",
        "Actions of the team",
        "  mask_ventilation  Ventilation (lasts; with oxygen, gas_flow, peak_pressure; "
        "counts from 5 s)",
        "  oximeter          Oximeter on (lasts)",
        "  listen            Heart listened to (reads heart_rate)",
        "  compressions      Compressions (lasts)",
        "  change_cylinder   Cylinder changed",
        "  say_ready         Ready said",
        "  call_help         Help called (is speech; stays done)",
        "  suction           Suction (lasts; done to the baby)",
        "  stop_care         Care stopped (is speech; stops care)",
        "  volume            Volume (dose in mL/kg by vein)",
        "  adrenaline        Adrenaline (dose in mcg/kg by vein, bone)",
        "",
        "Supplies",
        "  cylinder  Oxygen cylinder (holds 460 L)",
        "",
        "Roles",
        "  leader  Leader",
        "  airway  Airway",
        "",
        "Values for this baby, written {protocol: NAME}: A small protocol for tests (small), "
        "edition 1, signed by A tester, 2026-01-31",
        "  starting_oxygen    Starting oxygen (21 %; Invented; local)",
        "  recheck            Checked again after (30 s; Invented; local)",
        "  starting_pressure  Starting pressure (3 kPa; Invented; local)",
        "  spo2_target        SpO2 (at least 60 % from 60 s, 85 to 95 % from 5 min; Invented; "
        "local)",
        "",
        "Training only. Invented figures, for tests.",
    ]


def test_what_is_unsafe_in_any_baby_stands_in_the_list_with_its_source() -> None:
    lines = list(name_lines(load_scenario(SMALL.with_name("small-unsafe.yaml"))))
    start = lines.index("Unsafe in any baby, by this protocol")
    assert lines[start + 1 : start + 3] == [
        "  too_large_a_dose      More than twice the highest dose (common practice, no source)",
        "  drug_without_place    A drug that has no place here (common practice, no source)",
    ]


def test_the_command_lists_the_names_of_the_shipped_vocabulary(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["new", "--names"]) == 0
    printed = capsys.readouterr().out
    scenario = load_scenario(scenarios_dir() / "new" / "starting-scenario.yaml")
    vocabulary = scenario.vocabulary
    for names in (vocabulary.settings, vocabulary.actions, scenario.protocol.values):
        assert all(f"\n  {name} " in printed for name in names)
    assert vocabulary.caution in printed
    assert "unsigned; superseded by" in printed


def test_the_names_of_another_scenario_are_those_for_its_baby(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["new", "--names", "preterm-25-weeks"]) == 0
    assert "  starting_pressure                Starting peak pressure (PIP) (25 cmH2O; " in (
        capsys.readouterr().out
    )
