"""What a pilot found out about a scenario, as numbers.

Rules of this file:

- Shares and credits are fractions of 1, times whole ms; ``None`` where nothing can be told.
- Levels are in order from slow to steady; "slow" and "steady" are the first and the last.
- An item's discrimination is its correlation, over all skilled teams that it applied to, with
  the total of the other items (point-biserial where credits are 0 or 1).
- What is worth a warning is decided here and worded in ``page``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from simengine.pilot.run_pilot import COMPARED, FAULTLESS, NOTHING, STOPS, Played
from simengine.pilot.skills import Skills
from simengine.pilot.statistics import Spread, area_under_curve, correlation, spread, wilson
from simengine.scenario.key import Windowed
from simengine.scenario.model import Scenario
from simengine.scoring.card import EQUAL

BY_OMISSION = 0.25
"""The total that a team which does nothing, or stops, must not pass."""
TELLS_APART = 0.95
"""The least area under the curve between slow and steady teams."""
WEAK = 0.1
"""The least discrimination of an item that tells teams apart."""
ATTAINED = 0.8
"""The least credit that a team without a mistake should have for an item."""
FEW = 30
"""Fewer teams of a level than this are called few."""


@dataclass(frozen=True, slots=True)
class Share:
    """``many`` of ``of`` teams; ``low`` and ``high``: the 95 % interval of the share (Wilson)."""

    many: int
    of: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LevelFound:
    """One skill level: its totals, lengths (ms) and outcomes.

    ``short_of``: essential items that teams got less for than a pass asks, with how many teams,
    the most first. ``None`` and empty where no outcome is proposed.
    """

    name: str
    label: str
    teams: int
    totals: tuple[float, ...]
    total: Spread | None
    length: Spread | None
    stopped_early: int
    below_pass: Share | None
    not_achieved: Share | None
    short_of: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class ItemFound:
    """One item. ``credits``: mean credit by level, in order; ``delays``: of those that did it.

    ``done``: by level, the share of teams it applied to that did it at all.
    """

    id: str
    title: str
    applied: int
    credits: tuple[float | None, ...]
    difficulty: float | None
    discrimination: float | None


@dataclass(frozen=True, slots=True)
class KeyTime:
    """One key time: asked by ``ideal_ms``; for each level, delays in ms and the share that did."""

    id: str
    title: str
    ideal_ms: int
    latest_ms: int
    delays: tuple[Spread | None, ...]
    done: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class DeductionFound:
    """An item that deducts: for each level the share of teams that it cost something."""

    id: str
    title: str
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """Teams of one kind to compare with: the median total, and how many achieved.

    ``last_state``: where most of them ended.
    """

    name: str
    teams: int
    total: float | None
    achieved: int
    last_state: str


@dataclass(frozen=True, slots=True)
class Findings:
    """All that a pilot found."""

    runs: int
    seed: int
    levels: tuple[LevelFound, ...]
    compared: tuple[Compared, ...]
    items: tuple[ItemFound, ...]
    key_times: tuple[KeyTime, ...]
    deductions: tuple[DeductionFound, ...]
    area: float | None
    never_reached: tuple[str, ...]
    never_entered: tuple[str, ...]
    tell_nothing: tuple[str, ...]
    left_at_once: tuple[str, ...]
    gaming: tuple[str, ...]
    not_attained: tuple[str, ...]

    @property
    def few(self) -> bool:
        """Whether so few teams played that the figures may be chance."""
        return self.runs < FEW

    @property
    def tells_apart(self) -> bool:
        """Whether slow and steady teams are told apart well enough."""
        return self.area is not None and self.area >= TELLS_APART


def find(
    scenario: Scenario, skills: Skills, played: Sequence[Played], *, runs: int, seed: int
) -> Findings:
    """Return what the sessions of a pilot tell about ``scenario``."""
    by_level = {
        level.name: [team for team in played if team.level == level.name] for level in skills.levels
    }
    skilled = [team for teams in by_level.values() for team in teams]
    levels = tuple(
        _level(scenario, level.name, level.label, by_level[level.name]) for level in skills.levels
    )
    compared = tuple(
        _compared(name, [team for team in played if team.level == name]) for name in COMPARED
    )
    items = tuple(
        _item(scenario, item.id, item.title, by_level, skilled)
        for item in scenario.key
        if item.credited
    )
    entered = {state for team in played for state in team.states}
    return Findings(
        runs=runs,
        seed=seed,
        levels=levels,
        compared=compared,
        items=items,
        key_times=_key_times(scenario, by_level),
        deductions=_deductions(scenario, by_level),
        area=area_under_curve(levels[0].totals, levels[-1].totals),
        never_reached=tuple(item.id for item in items if not item.applied),
        never_entered=tuple(name for name in scenario.states if name not in entered),
        tell_nothing=tuple(item.id for item in items if _tells_nothing(item)),
        left_at_once=tuple(sorted({words for team in played for words in team.left_at_once})),
        gaming=tuple(_gamed(compared)),
        not_attained=tuple(
            item
            for team in played
            if team.level == FAULTLESS
            for item, result in team.items.items()
            if (result.credit is not None and result.credit < ATTAINED) or item in team.deductions
        ),
    )


def _level(scenario: Scenario, name: str, label: str, teams: Sequence[Played]) -> LevelFound:
    totals = tuple(team.total for team in teams if team.total is not None)
    mark = scenario.scoring.pass_mark
    judged = [team for team in teams if team.outcome is not None]
    return LevelFound(
        name=name,
        label=label,
        teams=len(teams),
        totals=totals,
        total=spread(totals),
        length=spread([float(team.length_ms) for team in teams]),
        stopped_early=sum(team.closed != "finished" for team in teams),
        below_pass=None if mark is None else _share([total < mark for total in totals]),
        not_achieved=_share([team.outcome != "achieved" for team in judged]),
        short_of=_short_of(scenario, judged),
    )


def _share(those: Sequence[bool]) -> Share | None:
    many, of = sum(those), len(those)
    interval = wilson(many, of)
    return None if interval is None else Share(many, of, *interval)


def _short_of(scenario: Scenario, judged: Sequence[Played]) -> tuple[tuple[str, int], ...]:
    floor = scenario.scoring.essential_floor
    counted = Counter(
        item.id
        for item in scenario.key
        if item.importance == "essential"
        for team in judged
        if (credit := _credit(team, item.id)) is not None and credit < floor - EQUAL
    )
    return tuple(counted.most_common())


def _compared(name: str, teams: Sequence[Played]) -> Compared:
    totals = spread([team.total for team in teams if team.total is not None])
    ends = [team.states[-1] for team in teams]
    return Compared(
        name,
        len(teams),
        totals.median if totals else None,
        sum(team.outcome == "achieved" for team in teams),
        max(ends, key=ends.count),
    )


def _item(
    scenario: Scenario,
    id_: str,
    title: str,
    by_level: Mapping[str, Sequence[Played]],
    skilled: Sequence[Played],
) -> ItemFound:
    weights = {item.id: scenario.scoring.weights[item.importance] for item in scenario.key}
    pairs = [
        (credit, rest)
        for team in skilled
        if (credit := _credit(team, id_)) is not None
        and (rest := _rest(team, id_, weights)) is not None
    ]
    credits_ = [credit for team in skilled if (credit := _credit(team, id_)) is not None]
    return ItemFound(
        id=id_,
        title=title,
        applied=len(credits_),
        credits=tuple(
            _mean([credit for team in teams if (credit := _credit(team, id_)) is not None])
            for teams in by_level.values()
        ),
        difficulty=_mean(credits_),
        discrimination=correlation([a for a, _ in pairs], [b for _, b in pairs]),
    )


def _credit(team: Played, id_: str) -> float | None:
    item = team.items.get(id_)
    return None if item is None else item.credit


def _rest(team: Played, id_: str, weights: Mapping[str, float]) -> float | None:
    """Return the total of all other items that applied, without deductions."""
    others = [
        (weights[other], item.credit)
        for other, item in team.items.items()
        if other != id_ and item.credit is not None
    ]
    weight = sum(part for part, _ in others)
    return sum(part * credit for part, credit in others) / weight if weight else None


def _mean(values: Sequence[float]) -> float | None:
    return fmean(values) if values else None


def _tells_nothing(item: ItemFound) -> bool:
    if item.applied < FEW:
        return False
    return item.discrimination is None or item.discrimination < WEAK


def _key_times(scenario: Scenario, by_level: Mapping[str, Sequence[Played]]) -> tuple[KeyTime, ...]:
    items = {item.id: item for item in scenario.key}
    key_times = []
    for id_ in scenario.key_times:
        item = items[id_]
        if not isinstance(item, Windowed):
            continue
        delays, shares = [], []
        for teams in by_level.values():
            applied = [team.items[id_] for team in teams if _credit(team, id_) is not None]
            done = [float(result.delay_ms) for result in applied if result.delay_ms is not None]
            delays.append(spread(done))
            shares.append(len(done) / len(applied) if applied else None)
        key_times.append(
            KeyTime(id_, item.title, item.ideal_ms, item.latest_ms, tuple(delays), tuple(shares))
        )
    return tuple(key_times)


def _deductions(
    scenario: Scenario, by_level: Mapping[str, Sequence[Played]]
) -> tuple[DeductionFound, ...]:
    return tuple(
        DeductionFound(
            item.id,
            item.title,
            tuple(
                sum(item.id in team.deductions for team in teams) / len(teams) if teams else 0.0
                for teams in by_level.values()
            ),
        )
        for item in scenario.key
        if not item.credited
    )


def _gamed(compared: Sequence[Compared]) -> list[str]:
    """Return the names of the teams that must not be rewarded and are."""
    return [
        team.name
        for team in compared
        if (team.achieved and team.name != FAULTLESS)
        or (team.name in (NOTHING, STOPS) and (team.total or 0.0) > BY_OMISSION)
    ]
