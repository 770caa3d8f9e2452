"""Every action as a screen needs it: how it stands, and what it asks with it.

Rules of this file:

- What stands through the whole session is worked out once for a scenario.
- An action asks only for the settings that the marking guide checks with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from simengine.desk.fixed_lanes import settings_checked
from simengine.desk.scene import Scene, curve_of, stretch_of, word_at
from simengine.desk.view import (
    ActionView,
    Ask,
    DoseView,
    Expected,
    Figure,
    SpokenView,
    UsualDoseView,
    Words,
)
from simengine.quantities import Range
from simengine.quantities.formatting import format_range
from simengine.scenario.kept import kept_by_scenario
from simengine.scenario.model import Scenario
from simengine.scenario.usual import (
    UsualDose,
    amount_units,
    dose_limits,
    usual_doses,
    volume_unit,
)
from simengine.scenario.vocabulary import Action
from simengine.scenario.whose import whose
from simengine.session.entry_words import plain
from simengine.session.readings import COUNTS
from simengine.session.record import Performance


@dataclass(frozen=True, slots=True)
class _Fixed:
    """What of an action's view stands still, its ``dose`` and ``spoken`` but for what is last."""

    role: str | None
    dose: DoseView | None
    spoken: SpokenView | None


@kept_by_scenario
def _fixed(scenario: Scenario) -> dict[str, _Fixed]:
    return {
        action.name: _Fixed(
            whose(scenario, action), _dose(scenario, action), _spoken(scenario, action)
        )
        for action in scenario.vocabulary.actions.values()
    }


def actions_of(scene: Scene, expected: tuple[Expected, ...]) -> dict[str, ActionView]:
    """Return every action of the vocabulary, by name."""
    asks = _asks(expected)
    checked = settings_checked(scene.scenario)
    fixed = _fixed(scene.scenario)
    performed: dict[str, list[Performance]] = {}
    for performance in scene.session.record.performances:
        performed.setdefault(performance.action, []).append(performance)
    away = {str(kit.get("action")) for kit in scene.session.record.unavailable}
    reads = _reads_at(scene)
    out = {}
    for action in scene.scenario.vocabulary.actions.values():
        done = performed.get(action.name, [])
        running = _running(scene, action.name)
        standing = fixed[action.name]
        out[action.name] = ActionView(
            name=action.name,
            label=action.label,
            phase=action.phase,
            role=standing.role,
            key=action.key,
            lasting=action.lasting,
            running_ms=running.start_ms if running is not None else None,
            running_id=running.event_id or None if running is not None else None,
            asked=asks.get(action.name),
            settings=checked.get(action.name, ()),
            dose=_with_last(standing.dose, done),
            spoken=_with_suggestion(scene, standing.spoken),
            reads_at_ms=reads.get(action.name),
            last_ms=done[-1].start_ms if done else None,
            times=sum(1 for performance in done if performance.way in COUNTS),
            away=action.name in away,
        )
    return out


def _asks(expected: tuple[Expected, ...]) -> dict[str, Ask]:
    """The soonest open item of each action; ``expected`` comes soonest first."""
    out: dict[str, Ask] = {}
    for item in expected:
        if item.standing == "open" and item.action is not None and item.action not in out:
            out[item.action] = Ask(
                item.item, item.title, item.opens_ms, item.ideal_ms, item.latest_ms
            )
    return out


def _running(scene: Scene, action: str) -> Performance | None:
    index = scene.fold.account.running.get(action)
    return scene.fold.account.performances[index] if index is not None else None


def _reads_at(scene: Scene) -> dict[str, int]:
    """When what an action began will read: the soonest of what it reveals."""
    out: dict[str, int] = {}
    for observation in scene.scenario.vocabulary.observations.values():
        for by in observation.revealed_by:
            last = next(
                (
                    performance
                    for performance in reversed(scene.session.record.performances)
                    if performance.action == by.action and performance.way in COUNTS
                ),
                None,
            )
            if last is None or (last.stop_ms is not None and last.stop_ms <= scene.now):
                continue
            reads = last.start_ms + by.delay_ms
            if reads > scene.now:
                out[by.action] = min(reads, out.get(by.action, reads))
                scene.changes_at(reads)
    return out


def _spoken(scenario: Scenario, action: Action) -> SpokenView | None:
    if action.reads is None:
        return None
    observation = scenario.vocabulary.observations[action.reads]
    return SpokenView(
        observation=observation.name,
        label=observation.label,
        unit=observation.unit,
        decimals=observation.decimals,
        words=observation.words,
        bands=tuple(_band_words(band, observation.unit) for band in observation.bands),
        suggestion=Words("unknown", ""),
    )


def _with_suggestion(scene: Scene, spoken: SpokenView | None) -> SpokenView | None:
    if spoken is None:
        return None
    observation = scene.scenario.vocabulary.observations[spoken.observation]
    segment = stretch_of(scene, observation.name)
    if segment is not None:
        label = plain(observation.label)
        suggestion = Words("true", f"{label} {{value}}", curve_of(segment, observation))
        return replace(spoken, suggestion=suggestion)
    word = word_at(scene.session, observation.name, scene.now)
    return replace(spoken, suggestion=Words("true", word)) if word is not None else spoken


def _dose(scenario: Scenario, action: Action) -> DoseView | None:
    dose = action.dose
    if dose is None:
        return None
    drawn = volume_unit(dose)
    return DoseView(
        amount_units=amount_units(dose),
        volume_units=(drawn,) if drawn is not None else (),
        strength_units=(dose.strength_unit,) if dose.strength_unit else (),
        flush_units=(dose.flush_unit,) if dose.flush_unit else (),
        over_units=(dose.over_unit,) if dose.over_unit else (),
        routes=tuple(dose.routes.items()),
        usual=tuple(_usual(amount) for amount in usual_doses(scenario, action)),
        flushes=tuple(Figure(value, dose.flush_unit) for value in dose.usual_flush),
        overs=tuple(Figure(value, dose.over_unit) for value in dose.usual_over),
        limits=dose_limits(scenario, action),
        last=(),
        caution=scenario.vocabulary.caution,
    )


def _with_last(dose: DoseView | None, done: list[Performance]) -> DoseView | None:
    if dose is None or not done:
        return dose
    last = done[-1].dose.items()
    return replace(
        dose, last=tuple((name, Figure(figure.value, figure.unit)) for name, figure in last)
    )


def _usual(dose: UsualDose) -> UsualDoseView:
    parts = {"amount": dose.amount, "volume": dose.volume, "strength": dose.strength}
    given = [
        (name, Figure(part.value, part.unit)) for name, part in parts.items() if part is not None
    ]
    return UsualDoseView(dose.words, (*given, ("route", Figure(dose.route))))


def _band_words(band: Range, unit: str | None) -> str:
    """Tell a band without its unit, which stands in the control's label."""
    return format_range(band, unit or "").removesuffix(f" {unit}")
