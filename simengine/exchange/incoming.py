"""Take session logs and bundles into the store, each by itself.

Rules of this file:

- A file that is wrong is refused with all its problems and keeps no other out; what is here
  already is taken once. So the same command may be given again, also after one that was stopped.
- Logs are kept many in a transaction; a scenario is read once for all of them.
- A log's chain is always checked. Where the very scenario that it ran is to be had, so is whether
  each automatic transition was due; else that is told.
- A unit or a code that the roster does not know is asked about: a unit that the command names has
  to be there or be said to be new, what a file names is a warning.
- What is already scored elsewhere (a bundle) is scored here anew: a score is never believed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from simengine.exchange.open_bundle import open_bundle
from simengine.exchange.scoring_jobs import kept_of
from simengine.people.whereabouts import unit_of_roster, unknown_codes, unknown_unit
from simengine.problems import InputError, Problem
from simengine.scenario.model import Scenario
from simengine.session.events import Event
from simengine.session.from_file import scenario_for
from simengine.session.log_file import read_log_file
from simengine.session.verify import verify_log
from simengine.store import Store, StoreError, logs
from simengine.store.scenario_files import keep_files


@dataclass(slots=True)
class Incoming:
    """What came of some files. ``new`` and ``known``: (session, file) that were added, or here.

    ``unscored``: sessions that were added and have no result yet.
    """

    new: list[tuple[str, Path]] = field(default_factory=list)
    known: list[tuple[str, Path]] = field(default_factory=list)
    unscored: list[str] = field(default_factory=list)
    unchecked: dict[str, int] = field(default_factory=dict)
    """What was missing to check all of a log, and of how many logs it was."""
    problems: list[Problem] = field(default_factory=list)
    """Of refused files, and warnings of others."""

    @property
    def refused(self) -> bool:
        """Whether any file was refused, or only a part of one could be read."""
        return any(
            problem.level == "error" or problem.code == "cut-off" for problem in self.problems
        )


TOGETHER = 50
"""So many logs are kept in one transaction."""


@dataclass(slots=True)
class Intake:
    """Takes files into ``store``, one after the other; ``incoming`` tells what came of them.

    ``folders``: where scenarios are. ``unit``: where the sessions were held, if the files do not
    say or say otherwise. ``dry``: only check; then ``store`` may be ``None``. ``units`` and
    ``codes``: those of the roster, empty where there is none.
    """

    store: Store | None
    folders: Sequence[Path]
    unit: str | None = None
    dry: bool = False
    units: Collection[str] = ()
    codes: Collection[str] = ()
    incoming: Incoming = field(default_factory=Incoming)
    _read: list[tuple[Path, Sequence[Event]]] = field(default_factory=list)
    _scenarios: dict[tuple[object, ...], Scenario | InputError] = field(default_factory=dict)

    def take(self, file: Path, *, bundle: bool) -> None:
        """Take one file in. ``bundle``: it is a bundle, else a log, which waits for ``finish``."""
        try:
            if bundle:
                self.finish()
                self._take_bundle(file)
            else:
                self._take_log(file)
        except InputError as error:
            self.incoming.problems += error.problems
        except OSError as error:
            words = (error.strerror or "an error while reading").lower()
            problem = Problem(str(file), 0, 0, "", "a file that can be read", words, "unreadable")
            self.incoming.problems.append(problem)
        except StoreError as error:
            self._refuse(file, error)

    def finish(self) -> None:
        """Keep the logs that were read and wait to be kept, all in one transaction."""
        read, self._read = self._read, []
        if not read:
            return
        several = [events for _, events in read]
        for (file, events), new in zip(read, self._added(several, self.unit), strict=True):
            if isinstance(new, StoreError):
                self._refuse(file, new)
            elif self._note(file, events, new):
                self.incoming.unscored.append(str(events[0].data["session"]))

    def _refuse(self, file: Path, error: StoreError) -> None:
        expected = "a log that the store can keep"
        problem = Problem(str(file), 0, 0, "", expected, str(error), "store")
        self.incoming.problems.append(problem)

    def _take_bundle(self, file: Path) -> None:
        opened = open_bundle(file)
        self.incoming.problems += opened.warnings
        unit = self.unit or self._unit_in(file, opened.unit)
        (new,) = self._added([opened.session.events], unit)
        if isinstance(new, StoreError):
            raise new
        if self._note(file, opened.session.events, new) and self.store and not self.dry:
            kept = kept_of(opened.session, opened.card, unit=unit)
            self.store.put_result(kept.result, kept.card)
            with self.store.begin() as connection:
                digests = (kept.result.scenario_digest, kept.result.protocol_digest)
                keep_files(connection, *digests, opened.run)

    def _take_log(self, file: Path) -> None:
        events, warnings = read_log_file(file)
        self.incoming.problems += warnings
        missing = self._missing_to_check(file, events)
        if missing:
            self.incoming.unchecked[missing] = self.incoming.unchecked.get(missing, 0) + 1
        self._read.append((file, events))
        if len(self._read) == TOGETHER:
            self.finish()

    def _added(
        self, several: Sequence[Sequence[Event]], unit: str | None
    ) -> Sequence[bool | StoreError]:
        """Add logs, unless this only checks; for each whether it is new, or why it can't be."""
        if self.store is not None and not self.dry:
            return self.store.add_logs(several, unit=unit)
        return [self._is_new(events) for events in several]

    def _unit_in(self, file: Path, unit: str | None) -> str | None:
        """Return the unit that a file names, as the roster spells it."""
        if unit is None:
            return None
        spelt = unit_of_roster(unit, self.units)
        if spelt is None:
            hint = "simengine store unit sets it right"
            question = unknown_unit(str(file), unit, self.units, hint)
            self.incoming.problems.append(replace(question, level="warning"))
        return spelt or unit

    def _is_new(self, events: Sequence[Event]) -> bool:
        if self.store is None:
            return True
        with self.store.reading() as connection:
            tail = logs.tail(connection, str(events[0].data["session"]))
        return tail != (events[-1].seq, events[-1].hash)

    def _note(self, file: Path, events: Sequence[Event], new: bool) -> bool:
        session = str(events[0].data["session"])
        team = events[0].data.get("team") or {}
        held = (code for codes in team.values() for code in codes)
        self.incoming.problems += unknown_codes(str(file), held, self.codes)
        (self.incoming.new if new else self.incoming.known).append((session, file))
        return new

    def _scenario(self, ran: Mapping[str, Any], folder: Path) -> Scenario:
        """Return the scenario of a log, each read once; raise ``InputError`` where it can't be."""
        infant = ran.get("infant") or {}
        scenario, protocol = ran["scenario"], ran["protocol"]
        key = (
            *(folder, scenario["id"], scenario["digest"]),
            *(protocol["id"], protocol["digest"], *sorted(infant.items())),
        )
        scenario_or_error = self._scenarios.get(key)
        if scenario_or_error is None:
            try:
                scenario_or_error = scenario_for(ran, (folder, *self.folders))[0]
            except InputError as error:
                scenario_or_error = error
            self._scenarios[key] = scenario_or_error
        if isinstance(scenario_or_error, InputError):
            raise scenario_or_error
        return scenario_or_error

    def _missing_to_check(self, file: Path, events: Sequence[Event]) -> str:
        """Check that automatic transitions were due; return what was missing to do so, in words.

        Raises ``InputError`` where one was not due.
        """
        ran = events[0].data
        needed = f"scenario {ran['scenario']['id']}, digest {ran['scenario']['digest'][:12]}…"
        try:
            scenario = self._scenario(ran, file.parent)
        except InputError as error:
            errors = "; ".join(
                str(problem) for problem in error.problems if problem.level == "error"
            )
            return f"{needed}: {errors}"
        return _missing(scenario, ran, needed) or _checked(scenario, events, file)


def _missing(scenario: Scenario, ran: Mapping[str, Any], needed: str) -> str:
    if scenario.digest != ran["scenario"]["digest"]:
        return f"{needed}: only version {scenario.version}, digest {scenario.digest[:12]}…, is here"
    return ""


def _checked(scenario: Scenario, events: Sequence[Event], file: Path) -> str:
    """Return nothing where each automatic transition was due, else raise ``InputError``."""
    broken = verify_log(scenario, events, file=str(file))
    if broken is not None:
        raise InputError([broken])
    return ""
