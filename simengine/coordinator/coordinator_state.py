"""What the coordinator's pages share beside what all pages do: what is made for them to look at."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request

from simengine.coordinator.pictures import Pictures
from simengine.coordinator.reports import Reports


@dataclass(frozen=True, slots=True)
class CoordinatorState:
    """The cohort reports and the pictures that have been drawn."""

    reports: Reports
    pictures: Pictures


def coordinator_state(request: Request) -> CoordinatorState:
    """Return the coordinator's parts."""
    made = request.app.state.coordinator
    assert isinstance(made, CoordinatorState)
    return made
