"""The training cot that must not be brought to a baby: what every screen says of it.

Rules of this file:

- Until a cot with planted faults is back in service it is no cot for a baby, however the session
  ended. What stands here is said first and large once the session is over; while it runs it is for
  the facilitator's screen alone, which shows it at the touch of STOP.
- A fault that the record calls put right is left out of the list; that nobody has checked the cot
  is said all the same.
"""

from __future__ import annotations

from simengine.desk.equipment_view import faults_of
from simengine.desk.scene import Scene
from simengine.desk.view import CotView

_NOT_RIGHT = ("planted", "found")


def cot_of(scene: Scene) -> CotView | None:
    """Return what is to be said of the cot; ``None`` where it is, or was always, fit for use."""
    fold = scene.fold
    if not fold.must_return:
        return None
    faults = tuple(fault.shows for fault in faults_of(scene) if fault.status in _NOT_RIGHT)
    return CotView(faults, fold.other_cot)


def cot_after_the_end(scene: Scene) -> CotView | None:
    """Return what is to be said of the cot on every screen; ``None`` while the session runs."""
    return cot_of(scene) if scene.fold.closed is not None else None
