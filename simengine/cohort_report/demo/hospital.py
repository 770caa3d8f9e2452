"""The invented hospital's figures, read from YAML.

Rules of this file:

- Nothing about the hospital stands in Python: units, scenarios, skill and mishaps are the file's.
- Shares are fractions of 1. Every problem in the file is told at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import get_args

from simengine.cohort.records import Purpose, Threat, ThreatCategory
from simengine.problems import InputError
from simengine.resources import scenarios_dir
from simengine.scenario.place import Book, Place, text_of
from simengine.scenario.positions import read_yaml


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its share of all sessions, and that of each scenario in its own."""

    name: str
    share: float
    scenarios: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Facilitator:
    """A person who records, confirms and signs."""

    code: str
    name: str
    credentials: str


@dataclass(frozen=True, slots=True)
class Skill:
    """How skill comes and goes, on the scale of the pilot's teams (see the file)."""

    start: float
    spread_of_people: float
    assessed: float
    spread_of_days: float
    gained: float
    attempts_for_half: float
    lost: float
    months_for_half: float


@dataclass(frozen=True, slots=True)
class Drift:
    """A unit's teams lose skill from a day on, to the full amount after some months."""

    unit: str
    since: date
    lost: float
    months: float


@dataclass(frozen=True, slots=True)
class Met:
    """A real fault that the first session of a unit from a day on met by chance."""

    unit: str
    day: date
    fault: str


@dataclass(frozen=True, slots=True)
class Hospital:
    """The whole file. ``id``: begins the ids of its scenarios."""

    id: str
    title: str
    seed: int
    sessions: int
    first_day: date
    last_day: date
    units: tuple[Unit, ...]
    purposes: Mapping[Purpose, float]
    standard: Mapping[str, str]
    unrecorded: float
    confirmed: float
    second_observer_every: int
    played_by_facilitators: frozenset[str]
    facilitators: tuple[Facilitator, ...]
    skill: Skill
    drift: Drift
    overlooked: tuple[str, float]
    met: tuple[Met, ...]
    threats: tuple[Threat, ...]


STANDARD = ("pass", "essential_floor", "method", "panel", "date")
"""What the file says of the pass standard, as a scenario file does."""

_KEYS = (
    *("format", "id", "title", "seed", "sessions", "first_day", "last_day", "units"),
    *("unrecorded", "purposes", "confirmed", "second_observer_every", "standard"),
    *("played_by_facilitators", "facilitators", "skill", "drift", "overlooked", "met", "threats"),
)


def load_hospital(path: Path | None = None) -> Hospital:
    """Read the hospital (default: the shipped one). Raises ``InputError``."""
    file = path or scenarios_dir() / "cohort" / "hospital.yaml"
    document = read_yaml(file)
    if document.root is None or document.problems:
        raise InputError(document.problems)
    book = Book(str(file))
    root = _Read(Place(book, document.root))
    root.place.only(_KEYS)
    drift, overlooked, skill = root.part("drift"), root.part("overlooked"), root.part("skill")
    hospital = Hospital(
        id=root.text("id"),
        title=root.text("title"),
        seed=root.whole("seed"),
        sessions=root.whole("sessions"),
        first_day=root.day("first_day"),
        last_day=root.day("last_day"),
        units=tuple(
            Unit(name, unit.share("share"), unit.part("scenarios").shares())
            for name, unit in root.parts("units")
        ),
        purposes={
            purpose: share
            for purpose in get_args(Purpose)
            for share in (root.part("purposes").shares().get(purpose, 0.0),)
        },
        standard={name: root.part("standard").text(name) for name in STANDARD},
        unrecorded=root.share("unrecorded"),
        confirmed=root.share("confirmed"),
        second_observer_every=root.whole("second_observer_every"),
        played_by_facilitators=frozenset(root.words("played_by_facilitators")),
        facilitators=tuple(
            Facilitator(code, part.text("name"), part.text("credentials"))
            for code, part in root.parts("facilitators")
        ),
        skill=Skill(**{name: skill.number(name) for name in Skill.__dataclass_fields__}),
        drift=Drift(
            drift.text("unit"), drift.day("since"), drift.number("lost"), drift.number("months")
        ),
        overlooked=(overlooked.text("fault"), overlooked.share("share")),
        met=tuple(
            Met(part.text("unit"), part.day("day"), part.text("fault")) for part in root.list("met")
        ),
        threats=tuple(_threat(part) for part in root.list("threats")),
    )
    if book.problems:
        raise InputError(book.problems)
    return hospital


class _Read:
    """A map of the file; what is missing or odd is noted, and reading goes on."""

    def __init__(self, place: Place) -> None:
        self.place = place

    def part(self, key: str) -> _Read:
        return _Read(self.place.need(key) or self.place)

    def parts(self, key: str) -> list[tuple[str, _Read]]:
        at = self.place.need(key)
        return [(name, _Read(part)) for name, part in at.entries()] if at else []

    def list(self, key: str) -> list[_Read]:
        at = self.place.need(key)
        return [_Read(element) for element in at.elements()] if at else []

    def words(self, key: str) -> tuple[str, ...]:
        return tuple(entry.place.text() for entry in self.list(key))

    def text(self, key: str) -> str:
        return text_of(self.place.need(key))

    def whole(self, key: str) -> int:
        at = self.place.need(key)
        return at.whole() if at else 0

    def number(self, key: str) -> float:
        at = self.place.need(key)
        return at.number() if at else 0.0

    def share(self, key: str) -> float:
        at = self.place.need(key)
        return (at.quantity("%") or 0.0) / 100 if at else 0.0

    def shares(self) -> dict[str, float]:
        return {name: (share.quantity("%") or 0.0) / 100 for name, share in self.place.entries()}

    def day(self, key: str) -> date:
        at = self.place.need(key)
        return _day(at) if at else date.min

    def day_if_any(self, key: str) -> date | None:
        at = self.place.get(key)
        return _day(at) if at else None


def _day(place: Place) -> date:
    text = place.text("a day such as 2026-01-31")
    try:
        return date.fromisoformat(text)
    except ValueError:
        if text:
            place.say("a day such as 2026-01-31", "day")
        return date.min


def _threat(threat: _Read) -> Threat:
    category = threat.place.need("category")
    word: ThreatCategory = (
        category.word(get_args(ThreatCategory)) if category else "systems"  # type: ignore[assignment]
    )
    owner = threat.place.need("owner")
    return Threat(
        id=threat.text("id"),
        unit=threat.text("unit"),
        category=word,
        words=threat.text("words"),
        opened=threat.day("opened"),
        owner=owner.text() if owner and owner.is_scalar() else "",
        due=threat.day_if_any("due"),
        closed=threat.day_if_any("closed"),
        closing=text_of(threat.place.get("closing")),
    )
