"""The invented hospital's own copies of shipped scenarios.

Rules of this file:

- A copy has an id of its own and the hospital's pass standard; all else is the shipped text. So its
  digest is its own too, and nobody takes it for the shipped one.
"""

from __future__ import annotations

import re
from pathlib import Path

from simengine.cohort_report.demo.hospital import STANDARD, Hospital
from simengine.scenario import load_scenario, scenario_file
from simengine.scenario.model import Scenario

_OWN_SCORING = re.compile(r"^(?:#.*\n)*scoring:\n(?: .*\n)+", re.MULTILINE)
_OWN_ID = re.compile(r"^id: ", re.MULTILINE)


def scenario_text(hospital: Hospital, shipped: str) -> str:
    """Return the file of the hospital's copy of a shipped scenario (by its id)."""
    text = scenario_file(shipped).read_text(encoding="utf-8")
    text = _OWN_ID.sub(f"id: {hospital.id}-", _OWN_SCORING.sub("", text), count=1)
    rule = {name: hospital.standard[name] for name in STANDARD}
    return (
        f"{text}\n# The invented hospital's pass standard.\nscoring:\n"
        f"  pass: {rule['pass']}\n  essential_floor: {rule['essential_floor']}\n  standard:\n"
        f"    method: {rule['method']}\n    panel: {rule['panel']}\n    date: {rule['date']}\n"
    )


def write_scenarios(hospital: Hospital, folder: Path) -> dict[str, Path]:
    """Write the copies into a folder; return the file of each by the shipped scenario's id."""
    folder.mkdir(parents=True, exist_ok=True)
    names = dict.fromkeys(name for unit in hospital.units for name in unit.scenarios)
    files = {name: folder / f"{hospital.id}-{name}.yaml" for name in names}
    for name, file in files.items():
        file.write_text(scenario_text(hospital, name), encoding="utf-8", newline="\n")
    return files


def load_scenarios(files: dict[str, Path]) -> dict[str, Scenario]:
    """Return the copies by the shipped scenarios' ids."""
    return {name: load_scenario(file) for name, file in files.items()}
