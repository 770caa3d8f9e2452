"""A folded session at an instant, and its curves as a table.

Rules of this file:

- Instants are scenario time in ms. States, curves and supplies are what was shown; settings,
  actions and faults are the best account, corrections applied.
- What is true is told apart from what the team knew.
- When a supply runs out is told for the draw at that instant, as if nothing changed afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from simengine.scenario.wanted import Value
from simengine.session.dynamics import empty_at, level_at
from simengine.session.readings import Known, known_at, sensing, true_value
from simengine.session.record import NEVER, Change, Session, Stay


@dataclass(frozen=True, slots=True)
class ObservationNow:
    """An observation: its true value, what the team knew, and when what was begun will read.

    ``unit`` is ``None`` for one told in words; ``reads_in_ms`` where a reading is on its way.
    """

    name: str
    label: str
    unit: str | None
    value: Value | None
    known: Known | None
    reads_in_ms: int | None


@dataclass(frozen=True, slots=True)
class SettingNow:
    """A setting in force since ``since_ms``; ``touched``: somebody set it, it is not as found."""

    name: str
    label: str
    unit: str | None
    value: Value
    since_ms: int
    touched: bool


@dataclass(frozen=True, slots=True)
class SupplyNow:
    """A supply's contents, the draw per minute, and the time left (``None``: it lasts)."""

    name: str
    label: str
    unit: str
    contents: float
    rate_per_min: float
    lasts_ms: int | None


@dataclass(frozen=True, slots=True)
class ActionNow:
    """A lasting action that is running."""

    name: str
    label: str
    since_ms: int
    role: str | None


@dataclass(frozen=True, slots=True)
class Moment:
    """A session at one instant. ``clock_ms``: the team's clock, ``None`` before it starts.

    ``state`` and ``state_title`` are ``None`` before the first state.
    """

    at_ms: int
    clock_ms: int | None
    state: str | None
    state_title: str | None
    state_since_ms: int | None
    observations: tuple[ObservationNow, ...]
    settings: tuple[SettingNow, ...]
    supplies: tuple[SupplyNow, ...]
    doing: tuple[ActionNow, ...]
    faults: dict[str, str]


def state_at(session: Session, at_ms: int) -> Moment:
    """Return everything there is to know of ``session`` at an instant."""
    clock = session.record.clock_ms
    stay = stay_at(session, at_ms)
    faults: dict[str, str] = {}
    for fault in session.record.faults:
        if fault.at_ms <= at_ms:
            faults[fault.fault] = fault.status
    return Moment(
        at_ms=at_ms,
        clock_ms=at_ms - clock if clock is not None and at_ms >= clock else None,
        state=stay.state if stay is not None else None,
        state_title=session.scenario.states[stay.state].title if stay is not None else None,
        state_since_ms=stay.entry_ms if stay is not None else None,
        observations=_observations(session, at_ms),
        settings=_settings(session, at_ms),
        supplies=_supplies(session, at_ms),
        doing=_doing(session, at_ms),
        faults=faults,
    )


def stay_at(session: Session, at_ms: int) -> Stay | None:
    """Return the stay that was shown at an instant; the last one goes on after the end."""
    for stay in session.undone:
        if stay.entry_ms <= at_ms < stay.exit_ms:
            return stay
    begun = [stay for stay in session.stays if stay.entry_ms <= at_ms]
    return begun[-1] if begun else None


def _observations(session: Session, at_ms: int) -> tuple[ObservationNow, ...]:
    out = []
    for name, observation in session.scenario.vocabulary.observations.items():
        value = true_value(name, session.curves, session.words, at_ms)
        if value is None:
            continue
        record = session.record
        reads = sensing(observation, record.performances, record.shown).next_reading(at_ms)
        out.append(
            ObservationNow(
                name,
                observation.label,
                observation.unit,
                value,
                known_at(session, name, at_ms),
                None if reads is None else reads - at_ms,
            )
        )
    return tuple(out)


def _settings(session: Session, at_ms: int) -> tuple[SettingNow, ...]:
    out = []
    for name, setting in session.scenario.vocabulary.settings.items():
        change = _in_force(session.record.changes.get(name, ()), at_ms)
        if change is not None:
            out.append(
                SettingNow(
                    name, setting.label, setting.unit, change.value, change.at_ms, change.touched
                )
            )
    return tuple(out)


def _in_force(changes: tuple[Change, ...], at_ms: int) -> Change | None:
    made = [change for change in changes if change.at_ms <= at_ms]
    return made[-1] if made else None


def _supplies(session: Session, at_ms: int) -> tuple[SupplyNow, ...]:
    out = []
    for name, levels in session.supplies.items():
        begun = [level for level in levels if level.start_ms <= at_ms]
        if not begun:
            continue
        supply = session.scenario.vocabulary.supplies[name]
        empty = empty_at(begun[-1])
        out.append(
            SupplyNow(
                name,
                supply.label,
                supply.unit,
                level_at(begun[-1], at_ms),
                begun[-1].rate_per_ms * 60_000,
                None if empty == NEVER else max(0, empty - at_ms),
            )
        )
    return tuple(out)


def _doing(session: Session, at_ms: int) -> tuple[ActionNow, ...]:
    return tuple(
        ActionNow(
            performance.action,
            session.scenario.vocabulary.actions[performance.action].label,
            performance.start_ms,
            performance.role,
        )
        for performance in session.record.performances
        if performance.stop_ms is not None
        and performance.acts
        and performance.start_ms <= at_ms < performance.stop_ms
    )


def curve_columns(session: Session) -> tuple[str, ...]:
    """Return the column names of ``curve_rows``; each name of a number ends in its unit."""
    observations = session.scenario.vocabulary.observations
    shown = [name for name in observations if name in session.curves or name in session.words]
    settings = session.scenario.vocabulary.settings
    return (
        "scenario_time (ms)",
        "clock (ms)",
        "state",
        *(_headed(name, observations[name].unit) for name in shown),
        *(_headed(f"known: {name}", observations[name].unit) for name in shown),
        *(_headed(f"set: {name}", settings[name].unit) for name in session.record.changes),
        *(
            _headed(f"left: {name}", session.scenario.vocabulary.supplies[name].unit)
            for name in session.supplies
        ),
    )


def _headed(name: str, unit: str | None) -> str:
    return f"{name} ({unit})" if unit else name


def curve_rows(session: Session, every_ms: int = 1_000) -> Iterator[tuple[Value | None, ...]]:
    """Yield the session as a table: a row for each step of time from 0 to the end.

    Columns as ``curve_columns``; ``None`` where there is no value yet. The last row is the end.
    """
    instants = [*range(0, session.end_ms, every_ms), session.end_ms]
    for at_ms in instants:
        moment = state_at(session, at_ms)
        values = {observation.name: observation for observation in moment.observations}
        settings = {setting.name: setting.value for setting in moment.settings}
        supplies = {supply.name: supply.contents for supply in moment.supplies}
        shown = [
            name
            for name in session.scenario.vocabulary.observations
            if name in session.curves or name in session.words
        ]
        known = {name: value.known for name, value in values.items()}
        yield (
            at_ms,
            moment.clock_ms,
            moment.state,
            *(values[name].value if name in values else None for name in shown),
            *(
                reading.value if (reading := known.get(name)) is not None else None
                for name in shown
            ),
            *(settings.get(name) for name in session.record.changes),
            *(supplies.get(name) for name in session.supplies),
        )
