"""What a cohort report is made of, and which part of it each question may use."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from simengine.cohort.evidence import each_once, for_learning, for_totals
from simengine.cohort.records import SessionResult, Threat
from simengine.cohort.titles import told_apart
from simengine.people.currency import Currency
from simengine.people.roster import Roster
from simengine.people.small_groups import hidden


@dataclass(frozen=True)
class Material:
    """Everything that a report is about.

    ``results``: all sessions of the unit (all units with ``None``) in the period. ``standing``:
    where each person stands on ``today``. ``signed``: the ids of sessions with a signed outcome.
    ``published``: for readers beyond the unit's own coordinator, so that codes are left out and
    counts of fewer than five people are hidden.
    """

    title: str
    today: date
    since: date
    until: date
    unit: str | None
    results: Sequence[SessionResult]
    roster: Roster
    standing: Sequence[Currency]
    signed: Collection[str] = ()
    threats: Sequence[Threat] = ()
    published: bool = False
    notices: tuple[str, ...] = field(default=())

    @cached_property
    def once(self) -> tuple[SessionResult, ...]:
        """Each session once, in order of time."""
        once = sorted(each_once(self.results), key=lambda result: (result.wall, result.session))
        return told_apart(once)

    @cached_property
    def learning(self) -> tuple[SessionResult, ...]:
        """The sessions that tell about times and items."""
        return tuple(for_learning(self.once))

    @cached_property
    def totals(self) -> tuple[SessionResult, ...]:
        """The sessions whose totals can be compared."""
        return tuple(for_totals(self.once))

    @cached_property
    def units(self) -> tuple[str, ...]:
        """The units that held sessions, by name."""
        return tuple(sorted({session.unit for session in self.once if session.unit is not None}))

    @cached_property
    def told_units(self) -> tuple[str, ...]:
        """The units whose figures may be told: not those of fewer than five people."""
        small = hidden(_people(self.once, lambda session: session.unit), total_shown=self.published)
        return tuple(unit for unit in self.units if unit not in small)

    @cached_property
    def scenarios(self) -> dict[str, tuple[SessionResult, ...]]:
        """The learning sessions of each scenario, by id; not those of fewer than five people."""
        small = hidden(
            _people(self.learning, lambda session: session.scenario), total_shown=self.published
        )
        out: dict[str, list[SessionResult]] = {}
        for session in self.learning:
            if session.scenario not in small:
                out.setdefault(session.scenario, []).append(session)
        return {scenario: tuple(out[scenario]) for scenario in sorted(out)}

    @cached_property
    def on_unit(self) -> dict[str, str]:
        """Each person's unit on the day that the report speaks of."""
        return {
            trainee.code: stay.unit
            for trainee in self.roster.trainees
            for stay in trainee.postings
            if stay.since <= self.today and (stay.until is None or stay.until >= self.today)
        }

    @cached_property
    def asked(self) -> tuple[Currency, ...]:
        """Where the unit's people stand."""
        return tuple(
            currency
            for currency in self.standing
            if self.unit in (None, self.on_unit.get(currency.code))
        )

    @cached_property
    def people(self) -> tuple[str, ...]:
        """The codes of everybody who took part."""
        return tuple(sorted({code for session in self.once for code in _team(session)}))


def _team(session: SessionResult) -> Iterator[str]:
    return (code for held in session.team.values() for code in held)


def _people(
    results: Iterable[SessionResult], group: Callable[[SessionResult], str | None]
) -> dict[str | None, set[str]]:
    """Return who took part in each group of sessions."""
    out: dict[str | None, set[str]] = {}
    for result in results:
        out.setdefault(group(result), set()).update(_team(result))
    return out
