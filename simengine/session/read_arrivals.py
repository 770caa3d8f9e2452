"""How settings arrive, as the opening of a log says it.

Rules of this file:

- What makes no sense is told with its place in the entry, all at once, and its setting then acts at
  once as a whole: nothing is guessed.
- Figures are read in any unit of their kind, and are in the vocabulary's own from then on.
- Only a flow carries anything, so delays stand at flows above nought, each of them once.
"""

from __future__ import annotations

from collections.abc import Mapping

from simengine.quantities import format_quantity
from simengine.scenario.vocabulary import Setting
from simengine.session.arrival import Arrival
from simengine.session.events import Event
from simengine.session.reading import Unreadable, in_units_of, reading_of


def read_arrivals(
    opened: Event, settings: Mapping[str, Setting]
) -> tuple[dict[str, Arrival], tuple[str, ...]]:
    """Return how each setting arrives that arrives late, and in words what makes no sense of it."""
    raw = opened.data.get("arrives", {})
    reader = _Reader(settings)
    if not isinstance(raw, Mapping):
        reader.wrong("arrives", "a map of settings to how they arrive", raw)
        return {}, tuple(reader.problems)
    arrivals = (reader.arrival(str(name), how) for name, how in raw.items())
    known = {arrival.setting: arrival for arrival in arrivals if arrival is not None}
    return known, tuple(reader.problems)


class _Reader:
    def __init__(self, settings: Mapping[str, Setting]) -> None:
        self.problems: list[str] = []
        self._settings = settings

    def wrong(self, place: str, expected: str, raw: object) -> None:
        written = raw if isinstance(raw, str) else repr(raw)
        self.problems.append(f"{place}: expected {expected}, found {written}")

    def arrival(self, name: str, raw: object) -> Arrival | None:
        place, before = f"arrives › {name}", len(self.problems)
        if not isinstance(raw, Mapping):
            self.wrong(place, "how it arrives", raw)
            return None
        dial, flow = self._dial(place, name), self._dial(f"{place} › flow", raw.get("flow"))
        if dial is None or flow is None:
            return None
        if dial is flow:
            self.wrong(f"{place} › flow", "another setting than the one that arrives", name)
            return None
        stands = self._number(f"{place} › found", dial, raw.get("found"))
        flows = self._number(f"{place} › flow_found", flow, raw.get("flow_found"))
        delays = self._delays(f"{place} › delays", flow, raw.get("delays"))
        if stands is None or flows is None or len(self.problems) > before:
            return None
        return Arrival(name, stands, flow.name, flows, delays)

    def _dial(self, place: str, name: object) -> Setting | None:
        setting = self._settings.get(name) if isinstance(name, str) else None
        if setting is None:
            self.wrong(place, "a setting of the vocabulary", name)
        elif setting.unit is None:
            self.wrong(place, "a setting that is a number", name)
            return None
        return setting

    def _delays(self, place: str, flow: Setting, raw: object) -> tuple[tuple[float, float], ...]:
        delays: dict[float, float] = {}
        if not isinstance(raw, list | tuple) or not raw:
            self.wrong(place, "a list of delays", raw)
            return ()
        for number, delay in enumerate(raw):
            here = f"{place}[{number}]"
            if not isinstance(delay, Mapping):
                self.wrong(here, "a delay", delay)
                continue
            at, ms = self._number(f"{here} › at", flow, delay.get("at")), delay.get("ms")
            if at is not None and (at <= 0.0 or at in delays):
                unit = flow.unit or ""
                expected = f"a flow above {format_quantity(0.0, unit)}, each once"
                self.wrong(f"{here} › at", expected, format_quantity(at, unit))
            if isinstance(ms, bool) or not isinstance(ms, int | float) or ms < 1 or ms % 1:
                self.wrong(f"{here} › ms", "whole milliseconds from 1 on", ms)
            elif at is not None:
                delays[at] = float(ms)
        return tuple(sorted(delays.items()))

    def _number(self, place: str, setting: Setting, raw: object) -> float | None:
        value = in_units_of(setting, reading_of(raw))
        if isinstance(value, float):
            return value
        assert isinstance(value, Unreadable)
        self.problems.append(f"{place}: {value.words}")
        return None
