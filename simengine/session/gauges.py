"""What the gauge of a supply shows.

Rules of this file:

- A gauge goes with the contents in a straight line: a full one shows ``full``, an empty one nought.
- A supply that nobody follows has no gauge that could be held against a reading.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from simengine.quantities import Range, format_quantity
from simengine.scenario.wanted import AsShown
from simengine.session.dynamics import supply_at
from simengine.session.record import Level

_FIGURES = 2
"""So many figures of what a gauge showed are told: nobody reads a needle more exactly."""


def gauge_at(
    wanted: AsShown, supplies: Mapping[str, Sequence[Level]], at_ms: float
) -> float | None:
    """Return what a gauge shows at an instant, in the unit of ``wanted``; ``None``: no gauge."""
    contents = supply_at(supplies.get(wanted.supply, ()), at_ms)
    return None if contents is None else wanted.full * contents / wanted.capacity


def range_shown(
    wanted: AsShown, supplies: Mapping[str, Sequence[Level]], at_ms: float
) -> Range | None:
    """Return what a reading at an instant may be, in words what the gauge showed.

    ``None`` where there is no gauge.
    """
    shown = gauge_at(wanted, supplies, at_ms)
    if shown is None:
        return None
    text = format_quantity(float(f"{shown:.{_FIGURES}g}"), wanted.unit)
    return Range(shown - wanted.within, shown + wanted.within, text=text, bare=True)
