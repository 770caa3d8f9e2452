"""What a facilitator would do in a session that is played alone: decided from the log.

Rules of this file:

- The event that starts the team's clock comes after the time to get ready, unless whoever plays it
  called it sooner. Another event that a state waits for follows the action that the rules name.
- A fault that is planted later is planted so long after time zero, in the first state then that
  waits for it, if any does.
- No state is taken by hand: a state that no rule leads out of ends the session in time. A state
  that ends it is looked at for a moment, since no cot has to be returned; a session that nobody
  ends is ended.
- The record is complete as the machine took it, so it is confirmed with the end.
- Guided, the next step is told after a while without progress, as a cue like any other: in the
  scenario's own words where it has some for that action. Nobody is nagged: each hint that nothing
  came of makes the next one later.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from simengine.desk.scene import Scene
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.hint_words import Hint, hints
from simengine.scenario.conditions import names_read
from simengine.scenario.model import Scenario
from simengine.session.events import Kind
from simengine.session.fold import Fold
from simengine.session.live import LiveSession
from simengine.session.record import NEVER

Entry = tuple[Kind, Mapping[str, Any]]
_Due = tuple[int, Entry]
_DONE = frozenset(("action", "set", "note", "event"))
"""What is progress: something was done or called, or the clock has started. That a fault was found
is none of its own: whoever waits for a hint is told nothing by when it comes."""


class AloneDirector:
    """Directs one session. ``show`` makes the view of it for who plays it.

    ``cot``: the cot at hand; ``None`` where nobody has said how that of the scenario answers.
    """

    def __init__(
        self,
        scenario: Scenario,
        rules: AloneRules,
        *,
        guided: bool,
        cot: CotAtHand | None,
        show: Callable[[Scene, CotAtHand | None], object],
    ) -> None:
        self._scenario = scenario
        self._rules = rules
        self._guided = guided
        self._show = show
        self.cot = cot
        self._asked_again_ms = 0
        self._waiting_faults = {
            fault.name: _waiting_for(scenario, fault.name)
            for fault in scenario.start.faults.values()
            if not fault.planted_at_start
        }

    def due_ms(self, live: LiveSession) -> int | None:
        """Return the log time at which there may be something to do next; ``None`` for never."""
        fold = live.fold
        if live.closed or fold.times.paused:
            return None
        due = min((at for at, _ in self._coming(live)), default=NEVER)
        if self._guided:
            due = min(due, self._hint_ms(fold))
        return fold.times.log(max(due, fold.now)) if due < NEVER else None

    def next_entry(self, live: LiveSession, now_ms: int) -> Entry | None:
        """Return what is to be written down at ``now_ms`` (log time); ``None`` for nothing."""
        fold = live.fold
        if live.closed:
            return None if fold.account.record().confirmed else ("confirmed", {})
        if fold.times.paused:
            return None
        now = fold.times.scenario(now_ms)
        due = sorted(
            (pair for pair in self._coming(live) if pair[0] <= now), key=lambda pair: pair[0]
        )
        if due:
            return due[0][1]
        if self._guided and self._hint_ms(fold) <= now:
            return self._hint(Scene(fold, now_ms, 0))
        return None

    def view(self, scene: Scene) -> object:
        """Return what is shown to who plays it, as data."""
        return self._show(scene, self.cot)

    # --- what comes ------------------------------------------------------------------------------

    def _coming(self, live: LiveSession) -> Iterator[_Due]:
        fold, rules = live.fold, self._rules
        stay = fold.stay
        if stay is None:
            return
        state = self._scenario.states[stay.state]
        if state.ends:
            yield stay.entry_ms + rules.last_look_ms, ("closed", {"why": "finished"})
        yield self.longest_ms, ("closed", {"why": "stopped early"})
        for name in self._awaited(fold):
            at = self._event_ms(fold, name)
            if at is not None:
                yield at, ("event", {"name": name})
        zero = fold.account.clock_ms
        if zero is not None or self._scenario.start.clock is None:
            for fault, states in self._waiting_faults.items():
                if fault not in fold.account.fault_steps and (not states or stay.state in states):
                    at = max((zero or 0) + rules.late_fault_ms, stay.entry_ms)
                    yield at, ("fault", {"fault": fault, "status": "planted"})

    @property
    def longest_ms(self) -> int:
        """When a session that nobody ends is ended."""
        return self._rules.prepare_ms + self._rules.longest * self._scenario.planned_ms

    def _awaited(self, fold: Fold) -> Iterator[str]:
        stay = fold.stay
        given = {event.data.get("name") for event in fold.events if event.kind == "event"}
        names = [self._scenario.start.clock] if self._scenario.start.clock else []
        if stay is not None:
            names += [
                transition.on
                for transition in self._scenario.states[stay.state].next
                if transition.on
            ]
        yield from (name for name in dict.fromkeys(names) if name not in given)

    def _event_ms(self, fold: Fold, name: str) -> int | None:
        if name == self._scenario.start.clock:
            return self._rules.prepare_ms
        follows = self._rules.events.get(name)
        if follows is None:
            return None
        done = [
            performance
            for performance in fold.account.performances
            if performance.action == follows.action
        ]
        return done[0].start_ms + follows.delay_ms if done else None

    # --- guided ----------------------------------------------------------------------------------

    def _hint_ms(self, fold: Fold) -> int:
        """When the next step may be to be told: first for what can't wait, then for any."""
        return max(self._idle_ms(fold, self._rules.hint_urgent_ms), self._asked_again_ms)

    def _idle_ms(self, fold: Fold, length_ms: int) -> int:
        """When nothing was done for so long. With each hint that nothing came of it is longer."""
        if fold.account.clock_ms is None and self._scenario.start.clock is not None:
            return NEVER
        in_vain, last = 0, 0
        for event in reversed(fold.events):
            if event.kind in _DONE or event.kind == "cue":
                last = last or fold.times.scenario(event.noted_ms, event.seq)
                if event.kind in _DONE:
                    break
                in_vain += 1
        return last + (1 + in_vain) * length_ms

    def _hint(self, scene: Scene) -> Entry | None:
        """The next step that was not told twice in a row already: none is told for ever."""
        cues = [str(event.data["text"]) for event in scene.fold.events if event.kind == "cue"]
        patient_ms = self._idle_ms(scene.fold, self._rules.hint_ms)
        is_soon = scene.now < patient_ms
        for hint in hints(scene, self._rules, self.cot):
            if is_soon and not hint.cant_wait:
                break
            ways = self._ways(hint)
            if not (len(cues) > 1 and {*cues[-2:]} <= {*ways}):
                text = ways[0] if ways[0] not in cues else ways[-1]
                prompts = {} if hint.prompts is None else {"prompts": hint.prompts}
                return "cue", {"text": text, **prompts, "planned": text != hint.text}
        self._asked_again_ms = patient_ms if is_soon else scene.now + self._rules.hint_ms
        return None

    def _ways(self, hint: Hint) -> list[str]:
        """A step in words: as the scenario's own cue asks it the first time, then plainly."""
        if hint.prompts is None or hint.targets:
            return [hint.text]
        planned = [cue.text for cue in self._scenario.cues if cue.prompts == hint.prompts]
        return [*planned[:1], hint.text]


def _waiting_for(scenario: Scenario, fault: str) -> frozenset[str]:
    """Return the states that wait for a fault."""
    return frozenset(
        state.name
        for state in scenario.states.values()
        for step in state.next
        if step.when is not None and ("fault", fault) in names_read(step.when)
    )
