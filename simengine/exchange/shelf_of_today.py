"""The scenarios that stored logs name, read once for all sessions of each.

Rules of this file:

- A scenario is looked for by the id in the log, in the folders given and then among the shipped
  ones; the protocol by the log's id, or by another that was asked for.
- Without ``run_in`` it is the first one found, whatever its version: the scenario of today. With
  it, the very one that was run if it is here or kept in that store, else the one of today.
- What was read last is kept. A run takes its sessions scenario by scenario, so that it reads each
  once and sees one version of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from simengine.exchange.as_run import as_run
from simengine.problems import InputError
from simengine.scenario.kept import KEPT
from simengine.scenario.model import Scenario
from simengine.session.from_file import scenario_for
from simengine.store import Store


class ShelfOfToday:
    """Scenarios in ``folders``, then the shipped ones."""

    def __init__(
        self, folders: Sequence[Path], *, run_in: Store | None = None, protocol: str | None = None
    ) -> None:
        self._folders = tuple(folders)
        self._run_in = run_in
        self._protocol = protocol
        self._kept: dict[tuple[object, ...], Scenario | InputError] = {}

    def scenario(self, ran: Mapping[str, Any]) -> Scenario:
        """Return the scenario for a log. ``ran``: the data of its ``opened``.

        Raises ``InputError`` where there is none, or it has errors.
        """
        infant = ran.get("infant") or {}
        key = (
            ran["scenario"]["id"],
            *((ran["scenario"]["digest"], ran["protocol"]["digest"]) if self._run_in else ()),
            ran["protocol"]["id"],
            *sorted(infant.items()),
        )
        if key not in self._kept:
            if len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = self._read(ran)
        kept = self._kept[key]
        if isinstance(kept, InputError):
            raise kept
        return kept

    def _read(self, ran: Mapping[str, Any]) -> Scenario | InputError:
        if self._run_in is not None:
            with suppress(InputError):
                return as_run(self._run_in, ran, self._folders)[0]
        try:
            return scenario_for(ran, self._folders, today=True, protocol=self._protocol)[0]
        except InputError as error:
            return error
