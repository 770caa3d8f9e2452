"""Tables to publish: figures of groups, and none of fewer than five people.

Rules of this file:

- A row is a unit and scenario (and item, or fault), never a session or a person; no code, no
  session id and no day is in it.
- Where a row rests on fewer than five people its figures are empty and its note says so, and so
  is the row of the next smallest unit where one alone would be hidden, since it could be told from
  the figures of all units in the report (see ``simengine.people.small_groups``).
- Where a row rests on fewer than five sessions it says that these are too few to tell.
- Rehearsals are in no figure.
- What is kept while reading grows with units, scenarios and people, not with sessions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from simengine.cohort.records import FaultResult, ItemResult, SessionResult
from simengine.columns import Cell, Column, Table
from simengine.exchange.csv_files import write_dictionary, write_rows
from simengine.exchange.placing import Placing
from simengine.exchange.session_tables import FRACTION, people
from simengine.people.small_groups import LEAST_PEOPLE, hidden, how_many

LEAST_SESSIONS = 5
HIDDEN = f"not shown: fewer than {LEAST_PEOPLE} people, or the next smallest group"
FEW = f"fewer than {LEAST_SESSIONS} sessions: too few to tell"

RULES = (
    (
        "published",
        f"Figures of groups, to be published. A row that rests on fewer than {LEAST_PEOPLE} people "
        "has no figures, and neither has the next smallest where one alone would be hidden. "
        f"Fewer than {LEAST_SESSIONS} sessions are too few to tell. Rehearsals are left out. The "
        "coordinator's own export (without --published) holds every session and stays in the "
        "house.",
    ),
)


@dataclass(slots=True)
class Group:
    """What is known of a group so far."""

    keys: tuple[str, ...]
    words: str = ""
    codes: set[str] = field(default_factory=set)
    sessions: int = 0
    counted: int = 0
    sum: float = 0.0
    met: int = 0
    hidden: bool = False

    @property
    def note(self) -> str | None:
        """Why the figures are empty; ``None`` if they are there."""
        if self.hidden:
            return HIDDEN
        return FEW if self.sessions < LEAST_SESSIONS else None


def _shown(of: Callable[[Group], Cell]) -> Callable[[Group], Cell]:
    return lambda group: None if group.note else of(group)


def _mean(group: Group) -> Cell:
    return group.sum / group.counted if group.counted else None


def _share(group: Group) -> Cell:
    return group.met / group.counted if group.counted else None


def _people(group: Group) -> Cell:
    return None if group.hidden else how_many(group.codes)


def _sessions(group: Group) -> Cell:
    return None if group.hidden else group.sessions


def _key(name: str, place: int, meaning: str) -> Column[Group]:
    return Column(name, "text", meaning, lambda group: group.keys[place])


_UNIT = _key("unit", 0, "the unit; '(not said)' where nobody said")
_SCENARIO = _key("scenario", 1, "the scenario's id")
_PEOPLE: Column[Group] = Column(
    "people",
    "whole number",
    "how many people held a role; empty where they are not shown",
    _people,
    optional=True,
)
_SESSIONS: Column[Group] = Column(
    "sessions",
    "whole number",
    "how many sessions it rests on; empty where they are not shown",
    _sessions,
    optional=True,
)
_NOTE: Column[Group] = Column(
    "note",
    "text",
    "why figures are empty; empty if they are there",
    lambda group: group.note,
    allowed=(HIDDEN, FEW),
    optional=True,
)


def _figure(name: str, meaning: str, of: Callable[[Group], Cell]) -> Column[Group]:
    return Column(name, "number", meaning, _shown(of), FRACTION, ("0 to 1",), optional=True)


def _none(_: SessionResult) -> Iterator[Group]:
    """Groups come from all results together, not from one."""
    return iter(())


PUBLISHED_SESSIONS: Table[Group] = Table(
    "published-sessions",
    "one row for each unit and scenario",
    (
        _UNIT,
        _SCENARIO,
        Column("title", "text", "the scenario's title", lambda group: group.words),
        _PEOPLE,
        _SESSIONS,
        _figure("mean_total", "mean of the totals of sessions in which anything applied", _mean),
        _NOTE,
    ),
    _none,
)
PUBLISHED_ITEMS: Table[Group] = Table(
    "published-items",
    "one row for each unit, scenario and item of the marking guide that was reached",
    (
        _UNIT,
        _SCENARIO,
        _key("item", 2, "the item's id in the scenario"),
        Column("title", "text", "the item in words", lambda group: group.words),
        _PEOPLE,
        _SESSIONS,
        _figure("mean_credit", "mean of its credits", _mean),
        _figure("met", "share of sessions in which it had full credit", _share),
        _NOTE,
    ),
    _none,
)
PUBLISHED_FAULTS: Table[Group] = Table(
    "published-faults",
    "one row for each unit, scenario and planted fault of the equipment",
    (
        _UNIT,
        _SCENARIO,
        _key("fault", 2, "the fault's id in the scenario"),
        Column("title", "text", "the fault in words", lambda group: group.words),
        _PEOPLE,
        _SESSIONS,
        _figure("found", "share of sessions in which it was found", _share),
        _NOTE,
    ),
    _none,
)
PUBLISHED: tuple[Table[Group], ...] = (PUBLISHED_SESSIONS, PUBLISHED_ITEMS, PUBLISHED_FAULTS)


@dataclass(slots=True)
class Groups:
    """The groups of each published table."""

    sessions: dict[tuple[str, ...], Group] = field(default_factory=dict)
    items: dict[tuple[str, ...], Group] = field(default_factory=dict)
    faults: dict[tuple[str, ...], Group] = field(default_factory=dict)

    def take(self, result: SessionResult) -> None:
        """Take in one session."""
        if result.purpose == "rehearsal":
            return
        codes = people(result)
        unit = result.unit or "(not said)"
        group = _group(self.sessions, (unit, result.scenario), result.scenario_title, codes)
        if result.total is not None:
            group.counted += 1
            group.sum += result.total
        for item in result.items:
            if item.credit is not None:
                self._take_item((unit, result.scenario, item.id), item, codes)
        for fault in result.faults:
            if fault.planted:
                self._take_fault((unit, result.scenario, fault.id), fault, codes)

    def _take_item(self, keys: tuple[str, ...], item: ItemResult, codes: Sequence[str]) -> None:
        group = _group(self.items, keys, item.title, codes)
        credit = item.credit or 0.0
        group.counted += 1
        group.sum += credit
        group.met += credit >= 1

    def _take_fault(self, keys: tuple[str, ...], fault: FaultResult, codes: Sequence[str]) -> None:
        group = _group(self.faults, keys, fault.title, codes)
        group.counted += 1
        group.met += fault.found_s is not None

    def rows(self) -> Iterator[tuple[Table[Group], Iterator[tuple[Cell, ...]]]]:
        """Yield each table with its rows, sorted by their keys."""
        for table, groups in zip(PUBLISHED, (self.sessions, self.items, self.faults), strict=True):
            _hide(groups)
            yield (
                table,
                (
                    tuple(column.of(groups[keys]) for column in table.columns)
                    for keys in sorted(groups)
                ),
            )


def _group(
    groups: dict[tuple[str, ...], Group], keys: tuple[str, ...], words: str, codes: Sequence[str]
) -> Group:
    group = groups.setdefault(keys, Group(keys))
    group.words = words
    group.codes.update(codes)
    group.sessions += 1
    return group


def _hide(groups: Mapping[tuple[str, ...], Group]) -> None:
    """Mark the groups that are not to be shown: of one scenario and item, unit by unit."""
    units: dict[tuple[str, ...], dict[str, Group]] = {}
    for (unit, *rest), group in groups.items():
        units.setdefault(tuple(rest), {})[unit] = group
    for each in units.values():
        small = hidden({unit: group.codes for unit, group in each.items()})
        for unit, group in each.items():
            group.hidden = unit in small or how_many(group.codes) < LEAST_PEOPLE


def write_published(results: Iterable[SessionResult], folder: Path) -> list[Path]:
    """Write the published tables as CSV, with their dictionary, and return the files."""
    groups = Groups()
    for result in results:
        groups.take(result)
    with ExitStack() as stack:
        placing = stack.enter_context(Placing(folder))
        for table, rows in groups.rows():
            header: list[Any] = [[column.name for column in table.columns]]
            write_rows(stack, placing, f"{table.name}.csv", [*header, *rows])
        write_dictionary(stack, placing, PUBLISHED, "published-dictionary.csv", RULES)
    return placing.files
