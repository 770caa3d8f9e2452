"""A step in words, as it is hinted: where to look, or what to do and its target.

Rules of this file:

- No planted fault is named before it was called or put right: first where to look is told, then to
  say whether it is as it should be, and once it was called what is to be done.
- No range is told: one figure is the target, the guide's own if it has one, else the nearest that
  is usual.
- What nobody can do now, for want of hands or of a baby, is not hinted; calling help then is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from simengine.desk.scene import Scene
from simengine.pilot.entries import asked_settings
from simengine.pilot.values import is_right, right_value, wanted_now
from simengine.quantities import Range
from simengine.quantities.formatting import capitalised, in_a_sentence, listed, value_words
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.cot import row_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.moment import Moment
from simengine.rehearsal.next_step import Step, steps_of
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.equipment import Row
from simengine.scenario.model import Fault, MendedBySetting
from simengine.scenario.usual import usual_values
from simengine.scenario.vocabulary import Action, Setting
from simengine.scenario.wanted import AsShown, Told, Value


@dataclass(frozen=True, slots=True)
class Hint:
    """A hint in words. ``prompts``: the action that it names, if it names one.

    ``targets``: it tells figures to be set as well. ``cant_wait``: it is told sooner.
    """

    text: str
    prompts: str | None
    targets: bool = False
    cant_wait: bool = False


def hints(scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Iterator[Hint]:
    """Go through the hints that can be given now, what comes first first."""
    moment = Moment(scene, rules, cot)
    words = _HintWords(moment, cot)
    for step in steps_of(moment):
        hint = words.of(step)
        if hint is not None:
            yield replace(hint, cant_wait=step.cant_wait)


class _HintWords:
    """The words of steps at one moment; ``None`` for what can't be done then, or is done."""

    def __init__(self, moment: Moment, cot: CotAtHand | None) -> None:
        self._moment = moment
        self._cot = cot
        self._scenario = moment.scenario
        self._vocabulary = moment.scenario.vocabulary

    def of(self, step: Step) -> Hint | None:
        if step.stop:
            return self._to_stop(step.stop)
        if step.fault:
            return self._to_put_right(self._scenario.start.faults[step.fault], step.only_called)
        if step.setting and step.direction is not None:
            key = "hint_lower" if step.direction == "lower" else "hint_higher"
            return Hint(say(key, noun=_noun(self._vocabulary.settings[step.setting])), None)
        if step.setting:
            return self._to_set(self._vocabulary.settings[step.setting], step.wanted)
        return self._first_of(step.actions, step.settings)

    def _to_stop(self, action: str) -> Hint | None:
        if not self._moment.runs(action):
            return None
        return Hint(say("hint_stop", noun=self._vocabulary.actions[action].noun), None)

    # --- doing ----------------------------------------------------------------------------------

    def _first_of(self, actions: tuple[str, ...], settings: Mapping[str, Told]) -> Hint | None:
        ways = (self._to_do(self._vocabulary.actions[name], settings) for name in actions)
        return next((hint for hint in ways if hint is not None), None)

    def _to_do(self, action: Action, settings: Mapping[str, Told]) -> Hint | None:
        moment = self._moment
        has_to_wait = action.on_baby and self._scenario.start.clock and moment.clock_ms is None
        if has_to_wait or (action.lasting and moment.runs(action.name)):
            return None
        if fault := self._uncalled(action.name):
            return self._to_put_right(fault, only_called=False)
        if moment.is_unsafe(action.name) or moment.reads_nothing(action):
            return None
        task = moment.rules.task(action)
        if task.after and moment.done.isdisjoint(task.after):
            return self._first_of(task.after, {})
        if not moment.hands.anybody_can(task):
            return self._to_call()
        targets = [
            say("hint_target", noun=_noun(setting), value=_words(setting, value))
            for name, wanted in settings.items()
            if action.on_baby
            and (value := self._target(setting := self._vocabulary.settings[name], wanted))
            is not None
        ]
        if targets:
            words = say("hint_do_with", do=capitalised(action.do), settings=listed(targets))
            return Hint(words, action.name, targets=True)
        return Hint(_do(action.do), action.name)

    def _to_call(self) -> Hint | None:
        """Whom to call, where hands are wanted that nobody has."""
        actions = self._vocabulary.actions
        calls = [
            name
            for name in self._moment.rules.help
            if name in actions and name not in self._moment.done
        ]
        return Hint(_do(actions[calls[0]].do), calls[0]) if calls else None

    # --- setting --------------------------------------------------------------------------------

    def _to_set(self, setting: Setting, wanted: Told | None) -> Hint | None:
        value = self._target(setting, wanted)
        if value is None:
            return None
        if set(setting.words) == {"on", "off"}:
            return Hint(say("hint_switch", noun=_noun(setting), word=str(value)), None)
        return Hint(say("hint_set", noun=_noun(setting), value=_words(setting, value)), None)

    def _target(self, setting: Setting, wanted: Told | None) -> Value | None:
        """The one figure to be set: ``None`` where it stands so, or nothing can be said of it."""
        if wanted is None or isinstance(wanted, AsShown):
            return None
        now = wanted_now(wanted, self._moment.clock_ms)
        stands = self._moment.value(setting.name)
        if now is None or is_right(stands, now):
            return None
        middle = right_value(now, setting)
        if not isinstance(now, Range) or isinstance(middle, str) or now.bare:
            return middle
        of_the_guide = wanted_now(
            asked_settings(self._scenario).get(setting.name, now), self._moment.clock_ms
        )
        if of_the_guide is not None and of_the_guide != now:
            figure = right_value(of_the_guide, setting)
            if is_right(figure, now):
                return figure
        usual = [value for value in usual_values(self._scenario, setting) if is_right(value, now)]
        near = stands if isinstance(stands, float) else middle
        return min(usual, key=lambda value: abs(value - near), default=middle)

    # --- faults ---------------------------------------------------------------------------------

    def _uncalled(self, action: str) -> Fault | None:
        """A planted fault that an action would put right, and nobody has called."""
        for fault in self._scenario.start.faults.values():
            if fault.mended_by == action and self._moment.fault(fault.name) == "planted":
                return fault
        return None

    def _to_put_right(self, fault: Fault, only_called: bool) -> Hint | None:
        status, equipment = self._moment.fault(fault.name), self._vocabulary.equipment
        if self._cot is None or equipment is None or status not in ("planted", "found"):
            return None
        row = equipment.rows[row_of(self._cot.bench, fault)]
        if status == "found":
            return None if only_called else self._repair(fault, row)
        if row.name in self._cot.looked and row.check in self._moment.done:
            return Hint(say("hint_is_it_right", part=row.label), None)
        do = self._vocabulary.actions[row.check].do
        # Where one look goes for several parts, it is told at which.
        alike = [other for other in equipment.rows.values() if other.check == row.check]
        return Hint(_at(row, do) if len(alike) > 1 else _do(do), row.check)

    def _repair(self, fault: Fault, row: Row) -> Hint | None:
        if fault.put_right:
            return Hint(_at(row, fault.put_right), None)
        if isinstance(fault.mended_by, MendedBySetting):
            setting = self._vocabulary.settings[fault.mended_by.setting]
            return self._to_set(setting, fault.mended_by.wanted)
        if fault.mended_by is None:
            return None
        return Hint(_do(self._vocabulary.actions[fault.mended_by].do), fault.mended_by)


def _do(do: str) -> str:
    return say("hint_do", do=capitalised(do))


def _at(row: Row, do: str) -> str:
    return say("hint_at_part", part=row.label, do=do)


def _noun(setting: Setting) -> str:
    return setting.noun or in_a_sentence(setting.label)


def _words(setting: Setting, value: Value) -> str:
    return value_words(value, setting.unit or "")
