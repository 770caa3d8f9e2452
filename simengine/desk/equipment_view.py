"""The equipment: settings as last read, supplies and when they run out, planted faults."""

from __future__ import annotations

from simengine.desk.desk_sentences import say
from simengine.desk.scene import Scene
from simengine.desk.view import FaultView, Figure, SettingView, SupplyView
from simengine.quantities import format_quantity
from simengine.scenario.usual import setting_limits, usual_values
from simengine.scenario.vocabulary import Setting, Supply
from simengine.session.dynamics import empty_at, level_at
from simengine.session.record import NEVER

_MS_PER_MINUTE = 60_000


def settings_of(scene: Scene) -> dict[str, SettingView]:
    """Return every setting of the vocabulary, by name."""
    return {
        setting.name: _setting(scene, setting)
        for setting in scene.scenario.vocabulary.settings.values()
    }


def _setting(scene: Scene, setting: Setting) -> SettingView:
    changes = scene.session.record.changes.get(setting.name, ())
    last = changes[-1] if changes else None
    now: Figure | None = None
    stands = scene.scenario.start.as_found.get(setting.name)
    if last is not None and last.as_read is not None:
        now = Figure(last.as_read.value, last.as_read.unit or setting.unit)
    elif last is not None and stands is not None and not last.touched:
        now = Figure(stands.value, stands.unit)
    elif last is not None:
        now = Figure(last.value, setting.unit)
    return SettingView(
        name=setting.name,
        label=setting.label,
        unit=setting.unit,
        units=(setting.unit, *setting.read_in) if setting.unit else (),
        step=setting.step or 1.0,
        usual=usual_values(scene.scenario, setting),
        usual_steps=setting.usual_steps,
        limits=setting_limits(setting),
        words=setting.words,
        now=now,
        changed_ms=last.at_ms if last is not None and last.touched else None,
    )


def supplies_of(scene: Scene) -> tuple[SupplyView, ...]:
    """Return the supplies that the session has."""
    out = []
    for name, levels in scene.session.supplies.items():
        supply = scene.scenario.vocabulary.supplies[name]
        level = levels[-1]
        empties = empty_at(level)
        left = level_at(level, scene.now)
        stands = gauge_words(supply, left)
        if left <= 0.0:
            words = say(
                "supply_empty" if supply.gauge is None else "supply_empty_gauge", gauge=stands
            )
        elif empties >= NEVER:
            words = say("supply_not_running", gauge=stands)
        else:
            minutes = (empties - scene.now) * (1.0 - supply.reserve) / _MS_PER_MINUTE
            scene.changes_at(empties)
            words = say(
                "supply_running_to_reserve" if supply.reserve else "supply_running",
                gauge=stands,
                minutes=_minutes(minutes),
                share=format_quantity(100.0 * supply.reserve, "%", 0),
            )
        out.append(
            SupplyView(
                name=name,
                label=supply.label,
                unit=supply.unit,
                capacity=supply.capacity,
                start_ms=level.start_ms,
                contents=level.contents,
                rate_per_ms=level.rate_per_ms,
                empty_ms=empties if empties < NEVER else None,
                words=words,
                gauge=Figure(supply.gauge.full, supply.gauge.unit) if supply.gauge else None,
                reserve=supply.reserve,
            )
        )
    return tuple(out)


def gauge_words(supply: Supply, left: float) -> str:
    """Tell what is left as the supply's own dial shows it, and how much of a full one that is."""
    share, gauge = _share(left, supply.capacity), supply.gauge
    if gauge is None:
        return share
    return f"{format_quantity(gauge.full * left / supply.capacity, gauge.unit, 0)} ({share})"


def _share(left: float, capacity: float) -> str:
    return format_quantity(100.0 * left / capacity, "%", 0)


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 1.0 else "under 1 min"


def faults_of(scene: Scene) -> tuple[FaultView, ...]:
    """Return the scenario's faults, each with how it stands."""
    last = {event.fault: event.status for event in scene.session.record.faults}
    out = []
    for fault in scene.scenario.start.faults.values():
        status = last.get(fault.name)
        out.append(
            FaultView(
                name=fault.name,
                shows=fault.shows,
                plant=fault.plant,
                status="not planted"
                if status is None
                else ("put right" if status == "mended" else status),
            )
        )
    return tuple(out)
