"""The gauge of a supply, as a setting whose value is a reading of it.

Rules of this file:

- A reading is held against what the gauge showed as it was read, near by the vocabulary's
  ``told_within``; a gauge without one is never read wrong.
"""

from __future__ import annotations

from simengine.quantities.units import convert
from simengine.scenario.vocabulary import Supply, Vocabulary
from simengine.scenario.wanted import AsShown


def supply_read_as(setting: str, vocabulary: Vocabulary) -> Supply | None:
    """Return the supply whose gauge is written down as ``setting``; ``None`` if there is none."""
    return next(
        (
            supply
            for supply in vocabulary.supplies.values()
            if supply.gauge is not None and supply.gauge.setting == setting
        ),
        None,
    )


def as_shown(setting: str, vocabulary: Vocabulary) -> AsShown | None:
    """Return what a reading written down as ``setting`` is held against; ``None`` for nothing."""
    supply = supply_read_as(setting, vocabulary)
    gauge = supply.gauge if supply is not None else None
    if supply is None or gauge is None or gauge.told_within is None:
        return None
    unit = vocabulary.settings[setting].unit or gauge.unit
    full = convert(gauge.full, gauge.unit, unit)
    within = convert(gauge.told_within, gauge.unit, unit)
    return AsShown(supply.name, unit, full, supply.capacity, within)
