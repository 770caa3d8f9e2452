"""The scenarios and protocols that there are to choose from.

Rules of this file:

- A page reads an index that is there: what each file is, or what is wrong with it. Whatever lies in
  the folders, the page stands.
- The index is kept by the digest of a file's bytes and of all that it may be read by (vocabularies,
  protocols, physiology …), so that a file is checked once for as long as none of them changes.
- What is new or changed is checked in a process of its own, and is there to choose afterwards.
- By the same digest a scenario that was loaded for one page is there for the next, the last few.
- A file that does not load is told with its problems and keeps no other from being chosen.
"""

from __future__ import annotations

import asyncio
import hashlib
import logging
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import orjson

from simengine import __version__
from simengine.limits import YAML_BYTES
from simengine.private_files import write_private
from simengine.quantities import QuantityError, format_duration
from simengine.quantities.formatting import weight
from simengine.resources import scenarios_dir
from simengine.scenario import find_scenario, load_scenario, scenario_ids
from simengine.scenario.as_typed import typed_gestation, typed_weight
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.titles import titles_apart
from simengine.web.own_process import EndedBadlyError, ran

_DAYS_PER_WEEK = 7
_LONGEST_CHECK_S = 120
_MOST_LOADED = 16
_COMMAND = "from simengine.web.check_files import main; main()"
_LOG = logging.getLogger("simengine.console")


@dataclass(frozen=True, slots=True)
class ShelfScenario:
    """A scenario to choose. ``has_standard``: an outcome can be signed in it."""

    id: str
    title: str
    planned: str
    learners: str
    roles: dict[str, str]
    gestation: str
    weight: str
    protocol: str
    faults: int
    has_standard: bool


@dataclass(frozen=True, slots=True)
class OnShelf:
    """What there is: scenarios to choose, the problems of other files, protocols as (id, title).

    ``checking``: how many files are still being checked.
    """

    scenarios: tuple[ShelfScenario, ...]
    broken: tuple[str, ...]
    protocols: tuple[tuple[str, str], ...]
    checking: int


@dataclass(frozen=True, slots=True)
class _File:
    kind: str
    path: Path
    key: str


def _told_apart(scenarios: Sequence[ShelfScenario]) -> list[ShelfScenario]:
    """Return scenarios whose titles say which is meant, where copies share one."""
    titles = titles_apart((scenario.id, scenario.title) for scenario in scenarios)
    return [replace(scenario, title=titles[scenario.id, scenario.title]) for scenario in scenarios]


class Shelf:
    """Scenarios in ``folders``, then the shipped ones. ``index``: the file of what is known."""

    def __init__(self, folders: Sequence[Path], index: Path | None = None) -> None:
        self.folders = tuple(folders)
        self._index = index
        self._known: dict[str, dict[str, Any]] = _read(index)
        self._digests: dict[Path, tuple[tuple[int, int], str]] = {}
        self._checking: asyncio.Task[None] | None = None

    def look(self) -> OnShelf:
        """Return what is known of the files as they are now."""
        return self._told(self._files())

    async def look_and_check(self, patience_s: float = 0.0) -> OnShelf:
        """Return what is known, once whatever is new is being checked.

        ``patience_s``: wait so long for it at most.
        """
        files = await asyncio.to_thread(self._files)
        if any(file.key not in self._known for file in files):
            if self._checking is None or self._checking.done():
                self._checking = asyncio.create_task(self._check(files))
            await asyncio.wait([self._checking], timeout=patience_s)
        return self._told(files)

    async def checked(self) -> OnShelf:
        """Return everything that there is, once all of it has been checked."""
        shelf = await self.look_and_check(_LONGEST_CHECK_S)
        return shelf if not shelf.checking else await self.look_and_check(_LONGEST_CHECK_S)

    async def stop(self) -> None:
        """Give up what is still being checked."""
        checking, self._checking = self._checking, None
        if checking is not None:
            checking.cancel()
            await asyncio.gather(checking, return_exceptions=True)

    def _told(self, files: Sequence[_File]) -> OnShelf:
        checked = [(file, self._known[file.key]) for file in files if file.key in self._known]
        scenarios = _told_apart(
            [ShelfScenario(**row["scenario"]) for _, row in checked if row.get("scenario")]
        )
        protocols: dict[str, str] = {}
        for _, row in checked:
            if row.get("protocol"):
                id_, title = row["protocol"]
                protocols.setdefault(id_, title)
        return OnShelf(
            tuple(sorted(scenarios, key=lambda scenario: scenario.title)),
            tuple(words for _, row in checked for words in row["problems"]),
            tuple(sorted(protocols.items(), key=lambda item: item[1])),
            len(files) - len(checked),
        )

    def _files(self) -> list[_File]:
        below = self._below()
        beneath = self._beneath(below)
        scenarios = (find_scenario(name, self.folders) for name in scenario_ids(self.folders))
        kinds = [("scenario", file) for file in scenarios if file is not None]
        kinds += [("protocol", file) for file in below if file.parent.name == "protocols"]
        return [_File(kind, file, self._key(kind, file, beneath)) for kind, file in kinds]

    def _below(self) -> list[Path]:
        """Return the files that scenarios and protocols may be read by."""
        folders = [*self.folders, scenarios_dir()]
        return [
            file for folder in folders for file in sorted(folder.glob("*/*.yaml")) if file.is_file()
        ]

    def _beneath(self, below: Sequence[Path] | None = None) -> bytes:
        """Return the digest of all that they may be read by."""
        digest = hashlib.sha256(__version__.encode())
        for file in self._below() if below is None else below:
            digest.update(f"{file}\0{self._digest(file)}\n".encode())
        return digest.digest()

    def _key(self, kind: str, file: Path, beneath: bytes) -> str:
        own = f"{kind}\0{file}\0{self._digest(file)}".encode()
        return hashlib.sha256(beneath + own).hexdigest()

    def _digest(self, file: Path) -> str:
        """Return the digest of a file's bytes, read again once it was touched."""
        try:
            stat = file.stat()
            stamp = (stat.st_mtime_ns, stat.st_size)
            known = self._digests.get(file)
            if known is not None and known[0] == stamp:
                return known[1]
            with file.open("rb") as opened:
                digest = hashlib.sha256(opened.read(YAML_BYTES + 1)).hexdigest()
        except OSError as error:
            return f"unreadable: {error.errno}"
        self._digests[file] = (stamp, digest)
        return digest

    async def _check(self, files: Sequence[_File]) -> None:
        new = [file for file in files if file.key not in self._known]
        request = {
            "folders": [str(folder) for folder in self.folders],
            "files": [(file.kind, str(file.path)) for file in new],
        }
        try:
            async with asyncio.timeout(_LONGEST_CHECK_S):
                rows = orjson.loads(await ran(_COMMAND, told=orjson.dumps(request)))
        except (EndedBadlyError, TimeoutError) as error:
            _LOG.error("scenario files can't be checked: %s", str(error) or "it took too long")
            words = "could not be checked; the reason stands in the console's log file"
            rows = [{"problems": [f"{file.path}: {words}"]} for file in new]
            self._known.update(zip((file.key for file in new), rows, strict=True))
            return
        for row in rows:
            if "trace" in row:
                _LOG.error("%s\n%s", row["problems"][0], row.pop("trace"))
        self._known.update(zip((file.key for file in new), rows, strict=True))
        known = {file.key: self._known[file.key] for file in files if file.key in self._known}
        if self._index is not None:
            try:
                write_private(self._index, orjson.dumps(known))
            except OSError as error:
                _LOG.error("%s can't be written: %s", self._index, error)

    def scenario(self, name: str, *, protocol: str, gestation: str, weight: str) -> Scenario:
        """Load a scenario; empty texts mean the scenario's own.

        Raises ``InputError`` or ``QuantityError`` with what is wrong.
        """
        file = self.file(name)
        key = self._key("scenario", file, self._beneath())
        return _loaded(key, file, self.folders, protocol, gestation, weight)

    def file(self, name: str) -> Path:
        """Return a scenario's file. Raises ``LookupError`` if there is none of that name."""
        file = find_scenario(name, self.folders)
        if file is None:
            raise LookupError(name)
        return file


@lru_cache(maxsize=_MOST_LOADED)
def _loaded(
    key: str,
    file: Path,
    folders: tuple[Path, ...],
    protocol: str,
    gestation: str,
    weight: str,
) -> Scenario:
    infant: Infant | None = None
    if gestation or weight:
        own = load_scenario(file, search=folders).infant
        infant = Infant(
            typed_gestation(gestation) if gestation else own.gestation_days,
            typed_weight(weight) if weight else own.weight_g,
        )
        if infant.gestation_days <= 0 or infant.weight_g <= 0:
            raise QuantityError("more than 0", "negative")
    return load_scenario(file, protocol=protocol or None, infant=infant, search=folders)


def choice_of(scenario: Scenario) -> Mapping[str, Any]:
    """Return what the index keeps of a scenario."""
    return asdict(
        ShelfScenario(
            id=scenario.id,
            title=scenario.title,
            planned=planned_words(scenario),
            learners=scenario.briefing.get("learners", ""),
            roles=dict(scenario.roles),
            gestation=gestation_words(scenario.infant),
            weight=weight_words(scenario.infant),
            protocol=scenario.protocol.id,
            faults=len(scenario.start.faults),
            has_standard=scenario.scoring.is_set,
        )
    )


def _read(index: Path | None) -> dict[str, dict[str, Any]]:
    """Read an index; one that can't be read is made anew, since all that it holds can be."""
    try:
        known = orjson.loads(index.read_bytes()) if index is not None else {}
        return {key: row for key, row in known.items() if _is_whole(row)}
    except (OSError, ValueError, AttributeError, TypeError):
        return {}


def _is_whole(row: Mapping[str, Any]) -> bool:
    """Whether a row of an index has what a page reads. Raises ``TypeError`` for other keys."""
    if row.get("scenario") is not None:
        ShelfScenario(**row["scenario"])
    return isinstance(row.get("problems"), list)


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
