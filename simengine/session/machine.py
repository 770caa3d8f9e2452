"""The states and transitions of a scenario as a ``transitions`` machine: the one typed wrapper.

Rules of this file:

- States and transitions are data: no method is attached to an object of ours, no callback runs.
- The machine is built once for a scenario; what differs from run to run is one ``Place``.
- It keeps the law (this transition leads from here to there); when, the engine decides.
"""

from __future__ import annotations

from transitions import Machine, MachineError

from simengine.scenario.model import Scenario


class Place:
    """Where one run of a scenario is. ``state`` is the name under which the machine keeps it."""

    __slots__ = ("state",)

    def __init__(self, state: str) -> None:
        self.state = state


class StateMachine:
    """The transitions of a scenario, to be taken by their index in the state that is left."""

    def __init__(self, scenario: Scenario) -> None:
        self._machine = Machine(
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
        self._events = self._machine.events
        self._taken = {
            (name, transition.index): transition.to
            for name, state in scenario.states.items()
            for transition in state.next
        }

    def fire(self, place: Place, index: int) -> bool:
        """Take the transition ``index`` out of the present state; false if there is none."""
        try:
            return bool(self._events[_taken(index)].trigger(place))
        except (KeyError, MachineError):
            return False

    def leads_to(self, state: str, index: int | None) -> str | None:
        """Return where transition ``index`` out of ``state`` leads; ``None`` if there is none."""
        return None if index is None else self._taken.get((state, index))

    def go_to(self, place: Place, state: str) -> bool:
        """Go to any state by hand; false if the scenario has no such state."""
        try:
            return bool(self._events[_gone_to(state)].trigger(place))
        except KeyError:
            return False


def _taken(index: int) -> str:
    return f"next {index}"


def _gone_to(state: str) -> str:
    return f"to {state}"
