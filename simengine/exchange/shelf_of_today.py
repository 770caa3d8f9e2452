"""The scenarios that stored logs name, each read once.

Rules of this file:

- A scenario is looked for by the id in the log, in the folders given and then among the shipped
  ones; the protocol by the log's id, or by another that was asked for.
- ``exact``: of several files with the id the one with the log's digest, if there is one; without
  it the first one found, whatever its version: the scenario of today.
- Files are read once for as long as a shelf lives, so one run sees one version of each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from simengine.problems import InputError
from simengine.scenario.model import Scenario
from simengine.session.from_file import scenario_for


class ShelfOfToday:
    """Scenarios in ``folders``, then the shipped ones."""

    def __init__(
        self, folders: Sequence[Path], *, exact: bool = False, protocol: str | None = None
    ) -> None:
        self._folders = tuple(folders)
        self._exact = exact
        self._protocol = protocol
        self._kept: dict[tuple[object, ...], Scenario | InputError] = {}

    def scenario(self, ran: Mapping[str, Any]) -> Scenario:
        """Return the scenario for a log. ``ran``: the data of its ``opened``.

        Raises ``InputError`` where there is none, or it has errors.
        """
        infant = ran.get("infant") or {}
        key = (
            ran["scenario"]["id"],
            ran["scenario"]["digest"] if self._exact else None,
            ran["protocol"]["id"],
            *sorted(infant.items()),
        )
        if key not in self._kept:
            self._kept[key] = self._read(ran)
        found = self._kept[key]
        if isinstance(found, InputError):
            raise found
        return found

    def _read(self, ran: Mapping[str, Any]) -> Scenario | InputError:
        try:
            found, _ = scenario_for(
                ran, self._folders, today=not self._exact, protocol=self._protocol
            )
        except InputError as error:
            return error
        return found
