"""One person who plays alone what a team does by a play, by touches of the page.

Rules of this file:

- Each step comes when the play has it: at a time, so long after a state or an action of this very
  rehearsal, or once what it waits for is so. It is done by a button, a dial, or a hand on the cot.
- What one's own hands are too full for is told to help that is there. A hand that is not free is
  waited for: what was refused for want of one is touched again a second later, and what else is due
  is done meanwhile.
- A rate is called out as it was counted, once the beats are over: beats by the time they took.
- What a facilitator does in a play (events, faults planted later) is left to the director; what the
  team does after such a fault it does as long after it here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

from starlette.testclient import TestClient

from simengine.plays.files import FOLDER, read_file
from simengine.plays.play_model import Act, Play, Step, When
from simengine.quantities.formatting import capitalised
from simengine.quantities.units import convert
from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.baby import counting_of
from simengine.rehearsal.bench.bench_model import Control
from simengine.rehearsal.bench.parts import row_of, words_of
from simengine.rehearsal.cot import LOOK, NOT_RIGHT, Part, bench_of, cot_of, parts_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.director import AloneDirector
from simengine.rehearsal.hands import hands_at
from simengine.rehearsal.rehearsal_sentences import say
from simengine.rehearsal.show import groups_of
from simengine.resources import scenarios_dir
from simengine.scenario.conditions import names_read
from simengine.scenario.vocabulary import Action
from simengine.session.fold import Fold
from simengine.session.live import LiveSession
from simengine.session.readings import sensing
from simengine.session.truth import Timeline, truth
from tests import shipped
from tests.rehearsal.playing import Player

_TICK_MS = 1_000
_NEVER = float("inf")
_NO_HAND = [
    say(key, who="", doing="", do="").partition(":")[0]
    for key in ("no_free_hand", "one_hand_busy", "help_no_free_hand", "help_one_hand_busy")
]
_ONE_PERSON = say("takes_two", do="")


def by_the_book(name: str) -> Play:
    """What a careful team does in a shipped scenario."""
    file = scenarios_dir() / FOLDER / name / "by-the-book.yaml"
    play, book = read_file(file, shipped.scenario(name))
    assert play is not None, book.problems
    return play


class NoHandError(Exception):
    """Nobody at the cot has a hand free for it."""


@dataclass(frozen=True, slots=True)
class Due:
    """What a step does, at a time (scenario time, ms)."""

    at_ms: int
    step: Step
    act: Act


class OnePerson:
    """Plays a play alone, at a console whose clock is set. ``without``: actions that are left out.

    ``refused``: what nothing came of, each with the words that refused it.
    """

    def __init__(self, player: Player, play: Play, without: Collection[str] = ()) -> None:
        self.player, self.play, self.scenario = player, play, play.scenario
        bench = bench_of(self.scenario)
        assert bench is not None
        cot = CotAtHand(bench)
        self.bench, self.by_hand = bench, cot.by_hand
        self.parts: dict[str, Part] = {part.name: part for part in parts_of(bench)}
        groups = groups_of(self.scenario, cot)
        self.dials = {dial.name for group in groups for dial in group.dials}
        self.refused: list[str] = []
        self._without = without
        self._zero_ms = min(play.clock_at_ms, alone_rules().prepare_ms)
        self._due: list[Due] = []
        self._coming = list(play.steps)
        self._again: list[tuple[int, Step]] = []
        self._read = 0

    def plays(self) -> LiveSession:
        """Play it all; return the session once it has come to its end."""
        running = self.player.begin(self.scenario.id).desk.hub.running(self.player.session)
        client = self.player.desk.client
        assert isinstance(client, TestClient)
        assert client.portal is not None
        while not running.closed:
            scene = running.scene()
            assert scene is not None
            self._do_what_is_due(scene.now)
            self._call_out()
            self.player.wait(_TICK_MS / 1000)
            client.portal.call(running.catch_up)
        self.refused += [f"{due.act.data}: it ended before" for due in self._due]
        return self._live

    # --- when ------------------------------------------------------------------------------------

    def _do_what_is_due(self, now: int) -> None:
        if (
            self.scenario.start.clock
            and self._fold.account.clock_ms is None
            and now >= self._zero_ms
        ):
            self.player.touch("begin")
        for step in [step for step in self._coming if self._at_ms(step.when, now) <= now]:
            self._coming.remove(step)
            self._again.append((now, step))
        for at, step in [each for each in self._again if each[0] <= now]:
            self._again.remove((at, step))
            if step.until is not None and self._at_ms(step.until, now) <= now:
                continue
            self._due += [Due(now, step, act) for act in step.acts]
            if step.every_ms is not None:
                self._again.append((at + step.every_ms, step))
        self._due = [due for due in self._due if not self._is_done(due.act)]

    def _at_ms(self, when: When, now: int) -> float:
        """When something comes (scenario time, ms); infinity as long as nobody knows."""
        if when.kind == "start":
            return when.after_ms
        if when.kind == "clock":
            return self._since_the_fault(when.after_ms)
        if when.kind == "condition":
            assert when.condition is not None
            stretches = truth(when.condition, self._timeline(when), 0, now + 1)
            held = (
                start + when.lasting_ms for start, end in stretches if start + when.lasting_ms < end
            )
            return min(held, default=_NEVER) + when.after_ms
        if when.kind == "state":
            entered = (
                stay.entry_ms for stay in self._live.session().stays if stay.state == when.name
            )
            return min(entered, default=_NEVER) + when.after_ms
        done = self._fold.account.performances
        began = (each.start_ms for each in done if each.action == when.name)
        return min(began, default=_NEVER) + when.after_ms

    def _since_the_fault(self, after_ms: int) -> float:
        """What follows a fault that is planted later comes as long after it as in the play."""
        for step in self.play.steps:
            for act in step.acts:
                if act.data.get("status") == "planted" and step.when.after_ms <= after_ms:
                    planted = self._fold.account.fault_steps.get(act.data["fault"])
                    later = after_ms - step.when.after_ms
                    return _NEVER if planted is None else planted[0][0] + later
        return self._zero_ms + after_ms

    def _timeline(self, when: When) -> Timeline:
        """What is known now, with what was read where a condition asks for that."""
        assert when.condition is not None
        known = self._fold.account.record()
        observations = self.scenario.vocabulary.observations
        read = {
            name: sensing(observations[name], known.performances, known.shown)
            for kind, name in names_read(when.condition)
            if kind == "seen"
        }
        seen = {name: readings.first_known for name, readings in read.items()}
        return replace(self._fold.timeline, seen=seen, sensing=read)

    # --- what ------------------------------------------------------------------------------------

    def _is_done(self, act: Act) -> bool:
        """Do it; return whether it is over with: not yet where no hand is free for it."""
        kind, data = act.kind, act.data
        try:
            if kind == "action" and data["action"] not in self._without:
                self._action(data)
            elif kind == "set":
                self._turn(data["setting"], data["value"], data.get("unit"))
            elif kind == "fault":
                self._fault(data["fault"], data["status"])
        except NoHandError:
            return False
        return True

    def _action(self, data: Mapping[str, Any]) -> None:
        action = self.scenario.vocabulary.actions[data["action"]]
        runs = action.name in self._fold.account.running
        if data["phase"] == ("start" if runs else "stop"):
            return
        control = self._control_of(action.name)
        carried = {} if control is not None and control[2].sets else data.get("settings", {})
        for setting, given in carried.items():
            self._turn(setting, given["value"], given.get("unit"))
        if action.name in self.by_hand:
            self._by_hand(action)
            return
        if words := self._touch("action", action.name, **self._chosen(action, data)):
            self.refused.append(f"{action.name}: {words}")

    def _chosen(self, action: Action, data: Mapping[str, Any]) -> dict[str, Any]:
        """What is chosen with it on the page: a dose for this weight, or a value that is judged."""
        chosen: dict[str, Any] = {}
        for name, given in data.get("dose", {}).items():
            chosen[name] = given["value"]
            if str(given.get("unit", "")).endswith("/kg"):
                chosen[name] = given["value"] * self.scenario.infant.weight_g / 1000
        judged = data.get("spoken", {}).get(action.reads, {}).get("value")
        return {**chosen, "told": judged} if isinstance(judged, str) else chosen

    def _call_out(self) -> None:
        """Call out the rate that was counted, once the beats are over."""
        scene = self.player.desk.hub.running(self.player.session).scene()
        counting = counting_of(scene) if scene is not None else None
        if counting is None or scene is None or scene.now < counting.until_ms:
            return
        rate = round(len(counting.beats) * 60_000 / (counting.until_ms - counting.from_ms))
        words = self._touch("tell", counting.id, observation=counting.observation, value=rate)
        assert not words, words

    # --- at the cot ------------------------------------------------------------------------------

    def _by_hand(self, action: Action) -> None:
        """Do by hand what has no button."""
        control = self._control_of(action.name)
        if control is None:
            self._look_or_put_right(action)
        elif control[2].holds == "cap":
            self._holds("t_piece", "outlet", "cap")
        elif control[2].holds == "tubing":
            self._works("suction", "suction_running", "On")
            self._holds("suction", "tubing")
            self._works("suction", "suction_running", "Off")
        elif control[2].runs:
            self._works(control[0], control[1], "Off" if control[2].off == action.name else "On")
        else:
            self._works(control[0], control[1])

    def _look_or_put_right(self, action: Action) -> None:
        equipment = self.scenario.vocabulary.equipment
        assert equipment is not None
        for row in equipment.rows.values():
            if row.check == action.name:
                self._works(row.name, LOOK)
                return
        words = capitalised(action.do)
        for part in self.parts.values():
            if any(handle.label == words for handle in part.handles):
                self._puts_right(part.name, words)
                return
        # What is done by turning a dial is done once that is turned.

    def _control_of(self, action: str) -> tuple[str, str, Control] | None:
        """The part and the control by which a hand does an action."""
        for part, described in self.bench.file.parts.items():
            for name, control in described.controls.items():
                if action in (control.does, control.reads, control.runs, control.off):
                    return part, name, control
        return None

    def _turn(self, setting: str, value: float | str, unit: str | None) -> None:
        """Turn a dial to a value, if it stands at another; a gauge can be read alone."""
        stands = cot_of(self.bench, self._fold, ()).value(setting)
        known = self.scenario.vocabulary.settings[setting]
        if isinstance(value, int | float) and unit and known.unit:
            value = convert(value, unit, known.unit)
        if value == stands:
            return
        if setting in self.dials:
            words = self._touch("set", setting, value=value)
            if words:
                self.refused.append(f"{setting} {value}: {words}")
            return
        for name, fault in self.scenario.start.faults.items():
            mends = getattr(fault.mended_by, "setting", "") == setting
            if mends and fault.put_right and name in self._fold.account.fault_steps:
                self._puts_right(row_of(self.bench, fault), fault.put_right)
                return
        for part, described in self.bench.file.parts.items():
            for name, control in described.controls.items():
                if control.turns == setting:
                    self._turn_at(part, name, value, stands)
                    return

    def _turn_at(self, part: str, name: str, value: float | str, stands: Any) -> None:
        handle = next(each for each in self.parts[part].handles if each.name == name)
        if handle.kind == "turn" and isinstance(value, int | float):
            assert handle.scale is not None
            turned = self.bench.file.parts[part].controls[name].turns
            unit = self.scenario.vocabulary.settings[turned].unit
            assert unit is not None
            by = convert(value - float(stands or 0), unit, handle.scale.unit)
            self._works(part, name, round(by, 1))
        else:
            self._works(part, name, value)

    def _fault(self, name: str, status: str) -> None:
        fault = self.scenario.start.faults[name]
        if status == "found":
            self._works(row_of(self.bench, fault), NOT_RIGHT)
        elif status == "mended":
            self._puts_right(row_of(self.bench, fault), words_of(self.bench, fault))

    def _puts_right(self, part: str, words: str) -> None:
        handle = next(each for each in self.parts[part].handles if each.label == capitalised(words))
        self._works(part, handle.name)

    def _holds(self, part: str, *holds: str) -> None:
        """Keep something closed, and let go of it."""
        for closed in (True, False):
            for hold in holds:
                self._works(part, hold, closed)

    def _works(self, part: str, control: str, value: Any = None) -> None:
        """Look at a part and do something there."""
        self._touch("cot", part, control=LOOK)
        if control == LOOK:
            return
        words = self._touch("cot", part, control=control, value=value)
        if words:
            self.refused.append(f"{part}, {control}: {words}")

    # --- the page --------------------------------------------------------------------------------

    def _touch(self, do: str, name: str, **chosen: Any) -> str:
        """Touch something; return the words that refuse it, if any.

        Raises ``NoHandError`` where nobody has a hand for it.
        """
        for by in self._people():
            answer = self.player.touch(do, name, by=by, **chosen)
            words = "" if answer.status_code == 200 else str(answer.json()["words"])
            if not any(each in words for each in (*_NO_HAND, _ONE_PERSON)):
                return words
        raise NoHandError(words)

    def _people(self) -> list[str]:
        """Who is at the cot, as a touch names them: oneself first."""
        running = self.player.desk.hub.running(self.player.session)
        scene, director = running.scene(), running.director
        assert scene is not None
        assert isinstance(director, AloneDirector)
        return [person.by for person in hands_at(scene, alone_rules(), director.cot).people]

    @property
    def _live(self) -> LiveSession:
        live = self.player.desk.hub.running(self.player.session).live
        assert live is not None
        return live

    @property
    def _fold(self) -> Fold:
        return self._live.fold
