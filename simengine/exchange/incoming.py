"""Take session logs and bundles into the store, each by itself.

Rules of this file:

- A file that is wrong is refused with all its problems and keeps no other out; what is here
  already is taken once. So the same command may be given again.
- A log's chain is always checked. Where the very scenario that it ran is to be had, so is whether
  each automatic transition was due; else that is told.
- What is already scored elsewhere (a bundle) is scored here anew: a score is never believed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from simengine.exchange.open_bundle import open_bundle
from simengine.exchange.scoring_jobs import kept_of
from simengine.problems import InputError, Problem
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
        return any(one.level == "error" or one.code == "cut-off" for one in self.problems)


@dataclass(slots=True)
class Intake:
    """Takes files into ``store``, one after the other; ``incoming`` tells what came of them.

    ``folders``: where scenarios are. ``unit``: where the sessions were held, if the files do not
    say or say otherwise. ``dry``: only check; then ``store`` may be ``None``.
    """

    store: Store | None
    folders: Sequence[Path]
    unit: str | None = None
    dry: bool = False
    incoming: Incoming = field(default_factory=Incoming)

    def take(self, file: Path, *, bundle: bool) -> None:
        """Take one file in. ``bundle``: it is a bundle, else a log."""
        try:
            if bundle:
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
            expected = "a log that the store can keep"
            problem = Problem(str(file), 0, 0, "", expected, str(error), "store")
            self.incoming.problems.append(problem)

    def _take_bundle(self, file: Path) -> None:
        opened = open_bundle(file)
        self.incoming.problems += opened.warnings
        unit = self.unit or opened.unit
        if self._add(file, opened.session.events, unit) and self.store and not self.dry:
            kept = kept_of(opened.session, opened.card, unit=unit)
            self.store.put_result(kept.result, kept.card)
            with self.store.begin() as connection:
                digests = (kept.result.scenario_digest, kept.result.protocol_digest)
                keep_files(connection, *digests, opened.run)

    def _take_log(self, file: Path) -> None:
        events, warnings = read_log_file(file)
        self.incoming.problems += warnings
        missing = _missing_to_check(file, events, self.folders)
        if missing:
            self.incoming.unchecked[missing] = self.incoming.unchecked.get(missing, 0) + 1
        if self._add(file, events, self.unit):
            self.incoming.unscored.append(str(events[0].data["session"]))

    def _add(self, file: Path, events: Sequence[Event], unit: str | None) -> bool:
        """Return whether the log is new here, and keep it unless this only checks."""
        session = str(events[0].data["session"])
        if self.store is None:
            new = True
        elif self.dry:
            with self.store.reading() as connection:
                new = logs.tail(connection, session) != (events[-1].seq, events[-1].hash)
        else:
            new = self.store.add_log(events, unit=unit)
        (self.incoming.new if new else self.incoming.known).append((session, file))
        return new


def _missing_to_check(file: Path, events: Sequence[Event], folders: Sequence[Path]) -> str:
    """Check that automatic transitions were due; return what was missing to do so, in words.

    Raises ``InputError`` where one was not due.
    """
    ran = events[0].data
    asked = f"scenario {ran['scenario']['id']}, digest {ran['scenario']['digest'][:12]}…"
    try:
        scenario, _ = scenario_for(ran, (file.parent, *folders))
    except InputError as error:
        told = "; ".join(str(one) for one in error.problems if one.level == "error")
        return f"{asked}: {told}"
    if scenario.digest != ran["scenario"]["digest"]:
        return f"{asked}: only version {scenario.version}, digest {scenario.digest[:12]}…, is here"
    broken = verify_log(scenario, events, file=str(file))
    if broken is not None:
        raise InputError([broken])
    return ""
