"""How long each cylinder lasts, as found and full, as the session engine itself reckons.

Rules of this file:

- The engine plays one second with the settings as they should be, and tells what is drawn: there
  is no second sum here.
- What runs as found (``start.doing``) is left out of the first rows, and has rows of its own.
- Contents are of the size that the vocabulary names; another size lasts another time.
- Minutes keep the supply's reserve back, as whoever goes by a gauge does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from simengine.quantities import format_quantity
from simengine.quantities.formatting import percent
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Value
from simengine.session.full_speed import Timed, play
from simengine.setup_pack.pack_sentences import say

_A_MINUTE_MS = 60_000


@dataclass(frozen=True, slots=True)
class Lasting:
    """One supply under one use: drawn a minute, and minutes as found and full, in words."""

    supply: str
    contents: str
    use: str
    drawn: str
    as_found: str
    full: str


def lasting(
    scenario: Scenario, settings: Mapping[str, Value], uses: Sequence[str]
) -> list[Lasting]:
    """Return how long the supplies last with ``settings``, and with each of ``uses`` besides."""
    rows = []
    for use in dict.fromkeys((None, *scenario.start.doing, *uses)):
        rates = _rates(scenario, settings, use)
        for name, contents in scenario.start.supplies.items():
            supply = scenario.vocabulary.supplies[name]
            full = format_quantity(supply.capacity, supply.unit)
            drawn = rates.get(name, 0.0) * _A_MINUTE_MS
            if use is not None and drawn <= _rates(scenario, settings, None)[name] * _A_MINUTE_MS:
                continue
            rows.append(
                Lasting(
                    supply.label,
                    say("lasting_of", contents=percent(contents / supply.capacity), full=full),
                    _use(scenario, settings, use),
                    format_quantity(drawn, f"{supply.unit}/min", 2),
                    _minutes(contents * (1.0 - supply.reserve), drawn),
                    _minutes(supply.capacity * (1.0 - supply.reserve), drawn),
                )
            )
    return rows


def _rates(scenario: Scenario, settings: Mapping[str, Value], use: str | None) -> dict[str, float]:
    script = [
        Timed(0, "set", {"setting": name, **_reading(scenario, name, value)})
        for name, value in settings.items()
    ]
    script += [
        Timed(0, "action", {"action": running, "phase": "stop"})
        for running in scenario.start.doing
        if running != use
    ]
    if use is not None and use not in scenario.start.doing:
        script.append(Timed(0, "action", {"action": use, "phase": "start"}))
    session = play(scenario, script, until_ms=0)
    return {name: levels[-1].rate_per_ms for name, levels in session.supplies.items()}


def _reading(scenario: Scenario, name: str, value: Value) -> dict[str, Value]:
    unit = scenario.vocabulary.settings[name].unit
    return {"value": value} if unit is None else {"value": value, "unit": unit}


def _use(scenario: Scenario, settings: Mapping[str, Value], use: str | None) -> str:
    """Say what draws: the settings that any supply's drain names, and the action."""
    named = dict.fromkeys(
        name
        for supply in scenario.vocabulary.supplies.values()
        for drain in supply.drains
        for name in (drain.flow, drain.blend)
        if name is not None
    )
    known = scenario.vocabulary.settings
    parts = [
        f"{known[name].label.lower()} {format_quantity(value, known[name].unit or '')}"
        for name in named
        if isinstance(value := settings.get(name), float)
    ]
    if use is not None:
        note = say("use_as_found") if use in scenario.start.doing else ""
        parts.append(
            say("use_running", label=scenario.vocabulary.actions[use].label.lower(), found=note)
        )
    return ", ".join(parts)


def _minutes(contents: float, drawn: float) -> str:
    """Whole minutes, cut down: nobody should count on the last part of one."""
    return (
        say("minutes_not_used")
        if drawn <= 0
        else say("minutes_min", minutes=int(contents / drawn + 1e-09))
    )
