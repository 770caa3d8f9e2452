"""The scenarios and protocols that there are to choose from.

Rules of this file:

- Files are read again once any of them has changed, so that an edited scenario is there at once.
- One that does not load is told with all its problems and keeps no other from loading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simengine.problems import InputError
from simengine.quantities import QuantityError, format_duration
from simengine.quantities.wording import weight
from simengine.resources import scenarios_dir
from simengine.scenario import find_scenario, load_protocol, load_scenario, scenario_ids
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.read_scenario import read_infant

_DAYS_PER_WEEK = 7


_Stamps = tuple[tuple[str, int, int], ...]
"""Each file with when it was changed and its size."""


@dataclass(frozen=True, slots=True)
class OnShelf:
    """What there is: scenarios that load, the problems of the others, protocols as (id, title)."""

    scenarios: tuple[Scenario, ...]
    broken: tuple[str, ...]
    protocols: tuple[tuple[str, str], ...]


class Shelf:
    """Scenarios in ``folders``, then the shipped ones."""

    def __init__(self, folders: Sequence[Path]) -> None:
        self.folders = tuple(folders)
        self._kept: tuple[_Stamps, OnShelf] | None = None

    def look(self) -> OnShelf:
        """Return everything that there is to choose from."""
        stamps = self._stamps()
        if self._kept is None or self._kept[0] != stamps:
            self._kept = (stamps, self._look())
        return self._kept[1]

    def _stamps(self) -> _Stamps:
        return tuple(
            (str(file), file.stat().st_mtime_ns, file.stat().st_size)
            for folder in (*self.folders, scenarios_dir())
            for pattern in ("*.yaml", "*/*.yaml")
            for file in sorted(folder.glob(pattern))
        )

    def _look(self) -> OnShelf:
        scenarios, broken = [], []
        for name in scenario_ids(self.folders):
            file = find_scenario(name, self.folders)
            if file is None:
                continue
            try:
                scenarios.append(load_scenario(file, search=self.folders))
            except InputError as error:
                broken += [str(problem) for problem in error.problems if problem.level == "error"]
        scenarios.sort(key=lambda scenario: scenario.title)
        return OnShelf(tuple(scenarios), tuple(broken), self._protocols(broken))

    def scenario(self, name: str, *, protocol: str, gestation: str, weight: str) -> Scenario:
        """Load a scenario; empty texts mean the scenario's own.

        Raises ``InputError`` or ``QuantityError`` with what is wrong.
        """
        file = self.file(name)
        infant: Infant | None = None
        if gestation or weight:
            own = load_scenario(file, search=self.folders).infant
            infant = read_infant(
                gestation or f"{own.gestation_days:g} d", weight or f"{own.weight_g:g} g"
            )
            if infant.gestation_days <= 0 or infant.weight_g <= 0:
                raise QuantityError("more than 0", "negative")
        return load_scenario(file, protocol=protocol or None, infant=infant, search=self.folders)

    def file(self, name: str) -> Path:
        """Return a scenario's file. Raises ``LookupError`` if there is none of that name."""
        file = find_scenario(name, self.folders)
        if file is None:
            raise LookupError(name)
        return file

    def _protocols(self, broken: list[str]) -> tuple[tuple[str, str], ...]:
        found: dict[str, str] = {}
        for folder in (*self.folders, scenarios_dir()):
            for file in sorted((folder / "protocols").glob("*.yaml")):
                try:
                    protocol = load_protocol(file, search=self.folders)
                except InputError as error:
                    broken += [str(p) for p in error.problems if p.level == "error"]
                    continue
                found.setdefault(protocol.id, f"{protocol.title}, edition {protocol.edition}")
        return tuple(sorted(found.items(), key=lambda one: one[1]))


def gestation_words(infant: Infant) -> str:
    """Write a gestation as forms and logs take it: ``30 wk``, ``30 wk 4 d``."""
    weeks, days = divmod(round(infant.gestation_days), _DAYS_PER_WEEK)
    return f"{weeks} wk {days} d" if days else f"{weeks} wk"


def weight_words(infant: Infant) -> str:
    """Write a weight as forms and logs take it: ``1.2 kg``."""
    return weight(infant.weight_g)


def planned_words(scenario: Scenario) -> str:
    """Tell how long a scenario is planned to last."""
    return format_duration(scenario.planned_ms)
