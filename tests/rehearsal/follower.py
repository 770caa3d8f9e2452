"""A trainee who follows every hint as it is told, and does nothing else.

Rules of this file:

- The words of the hint are all that is gone by: a button of that name is touched, a dial is turned
  to the figure, a part is looked at and tried, or called not as it should be. A cue of the
  scenario's own is taken for what it prompts.
- What the page itself asks is answered: a rate that was counted is called out, a score or a dose is
  chosen. A dose is the marking guide's own: it is what a trainee has to know.
- Before the start the page is read, and begun.
"""

from __future__ import annotations

import re
from typing import Any

from simengine.pilot.entries import dose_data
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.quantities import parse_quantity
from simengine.quantities.formatting import capitalised, in_a_sentence
from simengine.quantities.units import convert
from simengine.rehearsal.baby import counting_of
from simengine.rehearsal.hands import hands_at
from simengine.rehearsal.touches import NotDoneError
from simengine.scenario.vocabulary import Action, Setting
from simengine.session.readings import true_value
from tests.rehearsal.by_oneself import ByOneself

THINKS_MS = 3_000
"""How long it takes from a hint to a hand."""


def follow(player: ByOneself) -> list[str]:
    """Play to the end; what was hinted and what was done about it, with when, in words."""
    diary: list[str] = []
    player.wait(10)
    player.touch("begin")
    followed = 0
    while not is_over(player):
        due = [at for at in (player.live.next_due(), player.director.due_ms(player.live)) if at]
        player.comes_to(max(player.now + 1, min(due)))
        cues = [event.data for event in player.live.events if event.kind == "cue"]
        for cue in cues[followed:]:
            player.comes_to(player.now + THINKS_MS)
            if not is_over(player):
                did = _Follower(player).follows(str(cue["text"]), cue.get("prompts"))
                at = player.scene.now - (player.live.fold.account.clock_ms or 0)
                diary.append(f"{at / 1000:6.1f} s [{player.live.fold.state}] {cue['text']} → {did}")
        followed = len(cues)
    return diary


def is_over(player: ByOneself) -> bool:
    return player.live.closed


class _Follower:
    def __init__(self, player: ByOneself) -> None:
        self.player = player
        self.vocabulary = player.scenario.vocabulary

    def follows(self, text: str, prompts: str | None) -> str:
        """Follow it oneself, or let help do it where one's own hands are busy."""
        player, refused = self.player, ""
        for person in hands_at(player.scene, player.rules, player.cot).people:
            player.by = person.by
            try:
                return self._follows(text, prompts)
            except NotDoneError as error:
                refused = refused or f"refused: {error}"
            finally:
                player.by = ""
        return refused

    def _follows(self, text: str, prompts: str | None) -> str:
        words = text.removesuffix(".")
        if text in {cue.text for cue in self.player.scenario.cues}:
            assert prompts is not None, text
            words = capitalised(self.vocabulary.actions[prompts].do)
        if part := self._part(words, ": is everything as it should be? If not, say so"):
            self.player.works(part, "look")
            return self.player.works(part, "not_right")
        if match := re.fullmatch(r"Set (.+) to (.+)", words):
            return self._sets(match[1], match[2])
        if match := re.fullmatch(r"Turn (.+) (up|down|on|off)", words):
            return self._turns(match[1], match[2])
        if words.startswith("Stop "):
            return self._stops(words.removeprefix("Stop "))
        for known in self._parts():
            if words.startswith(f"{known.label}: "):
                self.player.works(known.name, "look")
                words = capitalised(words.removeprefix(f"{known.label}: "))
                return self._does(words, known.name)
        do, _, settings = words.partition(", with ")
        if settings and self._action(do) is not None:
            for setting in re.split(r", | and ", settings):
                noun, _, value = setting.rpartition(" at ")
                self._sets(noun, value)
            words = do
        return self._does(words)

    # --- by name ---------------------------------------------------------------------------------

    def _parts(self) -> Any:
        return self.player.cot._parts.values()

    def _part(self, words: str, end: str) -> str:
        return next((part.name for part in self._parts() if f"{part.label}{end}" == words), "")

    def _action(self, words: str) -> Action | None:
        actions = self.vocabulary.actions.values()
        return next((action for action in actions if capitalised(action.do) == words), None)

    def _setting(self, noun: str) -> Setting:
        return next(
            setting
            for setting in self.vocabulary.settings.values()
            if noun in (setting.noun, in_a_sentence(setting.label))
        )

    # --- what is done ----------------------------------------------------------------------------

    def _does(self, words: str, at: str = "") -> str:
        action = self._action(words)
        for part in self._parts():
            for handle in part.handles:
                if handle.label == words and (not at or part.name == at):
                    self.player.works(part.name, "look")
                    value = handle.words[-1] if handle.kind == "switch" else None
                    return self.player.works(part.name, handle.name, value)
        if action is None:
            raise AssertionError(f"no button of this name: {words}")
        if action.name in self.player.cot.by_hand:
            return self._by_hand(action)
        chosen: dict[str, Any] = {}
        if action.dose is not None:
            chosen = self._dose(action)
        observation = self.vocabulary.observations.get(action.reads or "")
        if observation is not None and observation.adds_up is not None:
            chosen["told"] = observation.words[len(observation.words) // 2]
        self.player.touch("action", action.name, **chosen)
        self._calls_out()
        return "done"

    def _by_hand(self, action: Action) -> str:
        """What has no button of its own is done at the cot: looked at, or held closed."""
        equipment = self.vocabulary.equipment
        assert equipment is not None
        for part in self._parts():
            known = self.player.cot.bench.file.parts[part.name]
            for control in known.controls.values():
                if action.name in (control.does, control.reads, control.off):
                    self.player.works(part.name, "look")
                    if control.reads:
                        return self._tries(part.name, control.name)
                    value = "Off" if control.off else None
                    return self.player.works(part.name, control.name, value)
        for row in equipment.rows.values():
            if row.check == action.name:
                self.player.works(row.name, "look")
                return "looked"
        raise AssertionError(f"nothing does this: {action.name}")

    def _tries(self, part: str, control: str) -> str:
        """Close what has to be closed for a reading, with gas or suction on, and let go again."""
        player = self.player
        if control == "tubing":
            player.works(part, "suction_running", "On")
            words = player.works(part, control, True)
            player.works(part, control, False)
            player.works(part, "suction_running", "Off")
            return words
        flow = player.live.fold.account.values.get("gas_flow")
        if not flow:
            player.works("flow", "gas_flow", 8)
        player.works(part, "outlet", True)
        words = player.works(part, control, True)
        player.works(part, control, False)
        player.works(part, "outlet", False)
        return words

    def _dose(self, action: Action) -> dict[str, Any]:
        dose = asked_of_teams(self.player.scenario).doses[action.name]
        assert dose is not None
        assert action.dose is not None
        data = dose_data(dose, action.dose)
        kg = self.player.scenario.infant.weight_g / 1000
        chosen: dict[str, Any] = {}
        if "route" in data:
            chosen["route"] = self._route(data["route"])
        for name in ("strength", "flush", "amount"):
            if name in data:
                chosen[name] = data[name]["value"]
        if action.dose.unit.endswith("/kg") and "amount" in chosen:
            chosen["amount"] *= kg
        return chosen

    def _route(self, first: str) -> str:
        done = {
            performance.action for performance in self.player.live.session().record.performances
        }
        for access, route in (
            ("umbilical_access", "umbilical_vein"),
            ("intraosseous_access", "intraosseous"),
        ):
            if access in done:
                return route
        return first

    def _calls_out(self) -> None:
        """Wait until beats are counted, and call the rate out."""
        counting = counting_of(self.player.scene)
        if counting is None:
            return
        self.player.comes_to(self.player.live.fold.times.log(counting.until_ms))
        session = self.player.live.session()
        if self.player.live.closed:
            return
        rate = true_value(counting.observation, session.curves, {}, self.player.scene.now)
        assert isinstance(rate, float)
        spoken = {"observation": counting.observation, "value": round(rate)}
        self.player.touch("tell", counting.id, **spoken)

    def _stops(self, noun: str) -> str:
        action = next(each for each in self.vocabulary.actions.values() if each.noun == noun)
        self.player.touch("action", action.name)
        return "stopped"

    def _sets(self, noun: str, words: str) -> str:
        setting = self._setting(noun)
        value = words if setting.words else parse_quantity(words).value
        return self._brings(setting, value)

    def _turns(self, noun: str, way: str) -> str:
        setting = self._setting(noun)
        if way in ("on", "off"):
            return self._brings(setting, way)
        at = self.player.live.fold.account.values[setting.name]
        assert isinstance(at, float)
        by = max(setting.least_change, setting.step or 0.0)
        return self._brings(setting, at + (by if way == "up" else -by))

    def _brings(self, setting: Setting, value: Any) -> str:
        """Turn a dial, at the cot if it is there, till it shows the figure."""
        for part in self._parts():
            for handle in part.handles:
                control = self.player.cot.bench.file.parts[part.name].controls.get(handle.name)
                if control is None or control.turns != setting.name:
                    continue
                self.player.works(part.name, "look")
                if handle.kind != "turn":
                    return self.player.works(part.name, handle.name, value)
                at = self.player.cot.now(self.player.live.fold).number(setting.name)
                assert handle.scale is not None
                unit = handle.scale.unit
                ends = [convert(figure, setting.unit or "", unit) for figure in (value, at)]
                return self.player.works(part.name, handle.name, ends[0] - ends[1])
        chosen = {"value": value, **({"unit": setting.unit} if setting.unit else {})}
        self.player.touch("set", setting.name, **chosen)
        return "set"
