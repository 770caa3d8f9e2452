"""Plays that are by the book but for one thing, on the small scenarios of ``table``."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from simengine.plays import Result, perform, result_of
from simengine.plays.files import read_file
from simengine.scenario import load_scenario
from simengine.scenario.model import Scenario

TABLE = Path(__file__).parent / "table"

Steps = dict[str, str | None]
"""Steps by a name of their own; ``None``: not done."""

TERM: Steps = {
    "roles": "{at: -40 s, do: name_roles}",
    "help": "{at: 10 s, do: call_for_help}",
    "dry": "{at: 12 s, do: dry}",
    "cord": "{at: 15 s, do: clamp_cord}",
    "hat": "{at: 40 s, do: hat}",
    "heart": "{at: 20 s, every: 25 s, do: listen_to_heart}",
    "ventilation": "{at: 30 s, start: mask_ventilation, settings: {oxygen: 21 %, "
    "peak_pressure: 30 cmH2O}}",
    "apgar": "{at: 61 s, do: apgar, told: {apgar_score: '2'}}",
    "compressions": "{at: 67 s, start: chest_compressions, settings: {compression_rate: 90 /min, "
    "compression_depth: a third of the chest}}",
    "oxygen up": "{at: 75 s, set: {oxygen: 100 %}}",
    "senior": "{at: 80 s, do: call_senior}",
    "blood": "{at: 84 s, do: ask_for_blood}",
    "causes": "{at: 88 s, do: consider_causes}",
    "time": "{at: 90 s, every: 55 s, until: {state: recovering}, do: say_time}",
    "access": "{at: 120 s, do: umbilical_access}",
    "adrenaline": "{at: 130 s, do: adrenaline, dose: {amount: 60 mcg, route: umbilical_vein, "
    "strength: 0.1 mg/mL, flush: 3 mL}}",
    "stop": "{at: {when: {doing: chest_compressions, observed: {heart_rate: at least 60 /min}}, "
    "after: 4 s}, stop: chest_compressions}",
    "plan": "{at: {state: recovering, after: 12 s}, do: say_plan}",
    "oxygen down": "{at: {state: recovering, after: 25 s}, set: {oxygen: 60 %}}",
    "volume": "{at: 170 s, do: volume, dose: {amount: 30 mL, route: umbilical_vein}}",
}

PRETERM: Steps = {
    "ventilation": "{at: 30 s, start: mask_ventilation, settings: {oxygen: 30 %, "
    "peak_pressure: 25 cmH2O}}",
    "oximeter": "{at: 40 s, start: oximeter}",
    "heart": "{at: 20 s, every: 25 s, do: listen_to_heart}",
}

WELL: Steps = {
    "heart": "{at: 10 s, every: 25 s, do: listen_to_heart}",
    "ventilation": "{at: 30 s, start: mask_ventilation, settings: {oxygen: 21 %, "
    "peak_pressure: 30 cmH2O}}",
}

COT: Steps = {
    "cylinder": "{at: 15 s, do: check_cylinder}",
    "pressure": "{at: 40 s, set: {peak_pressure: 30 cmH2O}}",
    "outlet": "{at: 45 s, do: occlusion_test, settings: {peak_pressure: 30 cmH2O}}",
    "relief": "{at: 60 s, do: check_relief, settings: {relief_limit: 40 cmH2O}}",
    "suction": "{at: 75 s, do: check_suction, settings: {suction_pressure: 90 mmHg}}",
    "bag": "{at: 90 s, do: check_bag}",
    "clock": "{at: 100 s, do: check_clock}",
    "purge": "{at: 115 s, do: purge_gas}",
    "ready": "{at: 130 s, do: say_cot_ready}",
}

BOOKS = {
    "table-term": TERM,
    "table-preterm": PRETERM,
    "table-well": WELL,
    "table-cot": COT,
}


def played(
    folder: Path, scenario: str, changed: Steps | None = None, protocol: str = "table"
) -> Result:
    """Play ``scenario`` by the book but for the steps ``changed``: other ones, or not done."""
    steps = {**BOOKS[scenario], **(changed or {})}
    listed = "\n".join(f"  - {text}" for text in steps.values() if text is not None)
    file = folder / "variant.yaml"
    file.write_text(
        f"format: 1\ntitle: Variant\nscenario: {scenario}\nsteps:\n{listed}\n"
        "expect: {total: at least 0 %}\n",
        encoding="utf-8",
    )
    play, book = read_file(file, _scenario(scenario, protocol))
    assert [str(problem) for problem in book.problems] == []
    assert play is not None
    result = result_of(perform(play))
    assert result.performed.never_done == ()
    return result


@cache
def _scenario(name: str, protocol: str) -> Scenario:
    return load_scenario(TABLE / f"{name}.yaml", protocol=protocol)
