"""The states and transitions of a scenario as a ``transitions`` machine: the one typed wrapper.

Rules of this file:

- States and transitions are data: no method is attached to an object of ours, no callback runs.
- The machine is built once for a scenario; what differs from run to run is one ``Place``.
- It keeps the law (this transition leads from here to there); when, the engine decides.
"""

from __future__ import annotations

from transitions import EventData, Machine
from transitions.core import Transition

from simengine.scenario.model import Scenario


class Place:
    """Where one run of a scenario is. ``state`` is the name under which the machine keeps it."""

    __slots__ = ("state",)

    def __init__(self, state: str) -> None:
        self.state = state


class _Step(Transition):
    """A transition that tells nobody: there are no callbacks, so only the place changes."""

    def execute(self, event_data: EventData) -> bool:
        event_data.machine.set_state(self.dest or self.source, event_data.model)
        return True


class _Machine(Machine):
    transition_cls = _Step


class StateMachine:
    """The transitions of a scenario, to be taken by their index in the state that is left."""

    def __init__(self, scenario: Scenario) -> None:
        self._machine = _Machine(
            model=None,
            states=list(scenario.states),
            initial=scenario.start.state,
            transitions=[
                {"trigger": _taken(transition.index), "source": name, "dest": transition.to}
                for name, state in scenario.states.items()
                for transition in state.next
            ]
            + [
                {"trigger": _gone_to(name), "source": "*", "dest": name} for name in scenario.states
            ],
            auto_transitions=False,
            send_event=False,
        )
        events = self._machine.events
        self._ways = {
            (name, way.index): (way.to, events[_taken(way.index)])
            for name, state in scenario.states.items()
            for way in state.next
        }
        self._gone_to = {name: events[_gone_to(name)] for name in scenario.states}

    def fire(self, place: Place, index: int) -> bool:
        """Take the transition ``index`` out of the present state; false if there is none."""
        way = self._ways.get((place.state, index))
        return way is not None and bool(way[1].trigger(place))

    def leads_to(self, state: str, index: int) -> str | None:
        """Return where transition ``index`` out of ``state`` leads; ``None`` if there is none."""
        way = self._ways.get((state, index))
        return None if way is None else way[0]

    def go_to(self, place: Place, state: str) -> bool:
        """Go to any state by hand; false if the scenario has no such state."""
        event = self._gone_to.get(state)
        return event is not None and bool(event.trigger(place))


def _taken(index: int) -> str:
    return f"next {index}"


def _gone_to(state: str) -> str:
    return f"to {state}"
