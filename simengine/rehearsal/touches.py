"""What a touch becomes in the log, for who plays alone.

Rules of this file:

- A touch names what it does and no more than whoever plays chose: what stands on the dials goes
  with an action by itself, a figure that a sensor shows goes with reading it out.
- What takes more hands than are free is refused in words, and nothing is recorded.
- So is whatever is done in a pause: it would all be done at one instant, in no time that counts.
- Nothing is trusted: what the page sends is held against the vocabulary before the engine sees it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from simengine.desk.scene import Scene
from simengine.quantities.formatting import capitalised, in_a_sentence
from simengine.rehearsal.alone_rules import AloneRules, Task
from simengine.rehearsal.cot import Entry, NotWorkedError, is_put_right
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.hand_words import closed_loop, no_free_hand
from simengine.rehearsal.hands import ONESELF, Hands, called_of, hands_at, has_baby, who_did
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action, Observation
from simengine.scenario.whose import whose
from simengine.session.events import Kind
from simengine.session.readings import true_value

_NOT_IN_A_PAUSE = frozenset(("action", "take over", "cot", "set", "tell", "begin", "skip"))
_MOST_LETTERS = 40
_MOST = 1e6


class NotDoneError(Exception):
    """A touch that nothing comes of; the words are for whoever touched."""


@dataclass(frozen=True, slots=True)
class Touch:
    """What a page sends: what to ``do`` (``action``, ``set`` …), its name, and what was chosen."""

    id: str
    do: str
    name: str
    chosen: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Entered:
    """An entry that is to be recorded."""

    kind: Kind
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Done:
    """What is to be recorded of a touch, and what answers it in words."""

    entries: tuple[Entered, ...]
    words: str = ""


def done_by(touch: Touch, scene: Scene, rules: AloneRules, cot: CotAtHand | None, own: str) -> Done:
    """Return what a touch becomes. ``own``: under which key entries of whoever plays are written.

    Raises ``NotDoneError`` with the reason in words.
    """
    if touch.do in _NOT_IN_A_PAUSE and scene.fold.times.paused:
        raise NotDoneError(say("stands_still"))
    match touch.do:
        case "action":
            return _action(touch, scene, rules, cot)
        case "take over":
            return _taken_over(touch, scene, rules, cot)
        case "cot":
            return _worked(touch, scene, rules, cot)
        case "set":
            return Done((_set(touch, scene, rules, cot),))
        case "tell":
            return Done((_tell(touch, scene, own),))
        case "begin":
            return Done((_begin(scene),))
        case "skip":
            return Done((_skip(touch, rules),))
        case "pause" | "resume":
            return Done((Entered("pause" if touch.do == "pause" else "resume", {}),))
        case "end":
            return Done((Entered("closed", {"why": "stopped early"}),))
        case "stop":
            return Done((Entered("closed", {"why": "safety stop"}),))
    raise NotDoneError(say("no_such_touch"))


def _by(touch: Touch, hands: Hands) -> str:
    """Return who is to do it: whoever plays, or help that is there."""
    by = touch.chosen.get("by", ONESELF)
    if not isinstance(by, str) or hands.of(by) is None:
        raise NotDoneError(say("not_there"))
    return by


# --- the cot ------------------------------------------------------------------------------------


def _worked(touch: Touch, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Done:
    """Work the cot: what that writes down is written as whoever does such work does it.

    Where no baby waits, putting a part right takes its time, whatever was wrong with it, and is
    written down once it is done.
    """
    control, value = touch.chosen.get("control"), touch.chosen.get("value")
    if cot is None:
        raise NotDoneError(say("no_cot"))
    if not cot.has(touch.name) or not isinstance(control, str):
        raise NotDoneError(say("no_such_touch"))
    if value is not None and not isinstance(value, float | int | str | bool):
        raise NotDoneError(say("no_such_touch"))
    hands = hands_at(scene, rules, cot)
    by = _by(touch, hands)
    if cot.needs_a_hand(touch.name, control, value, by) and not hands.can_work_the_cot(by):
        raise NotDoneError(no_free_hand(hands, Task(1), by))
    try:
        done = cot.work(scene, touch.name, control, value, by)
    except NotWorkedError as error:
        raise NotDoneError(str(error)) from error
    called = called_of(rules, by)
    words = say("helper_says", who=called, words=done.words) if called and done.words else ""
    entries = tuple(_as_role(scene.scenario, entry, called) for entry in done.entries)
    if is_put_right(control) and not has_baby(scene.scenario):
        entries = (Entered("skip", {"ms": rules.put_right_ms}), *entries)
    return Done(entries, words or done.words)


def _as_role(scenario: Scenario, entry: Entry, called: str) -> Entered:
    action = scenario.vocabulary.actions.get(str(entry.data.get("action", "")))
    role = called or (whose(scenario, action) if action is not None else None)
    if role is None or entry.kind == "note":
        return Entered(entry.kind, entry.data)
    return Entered(entry.kind, {**entry.data, "role": role})


# --- the clock ----------------------------------------------------------------------------------


def _begin(scene: Scene) -> Entered:
    event = scene.scenario.start.clock
    if event is None or scene.fold.account.clock_ms is not None:
        raise NotDoneError(say("begun_already"))
    return Entered("event", {"name": event})


def _skip(touch: Touch, rules: AloneRules) -> Entered:
    ms = number(touch.chosen.get("ms"))
    if ms not in rules.skips_ms:
        raise NotDoneError(say("no_such_touch"))
    return Entered("skip", {"ms": int(ms)})


# --- what is done -------------------------------------------------------------------------------


def _action(touch: Touch, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Done:
    scenario = scene.scenario
    action = scenario.vocabulary.actions.get(touch.name)
    if action is None:
        raise NotDoneError(say("no_such_touch"))
    if action.lasting and action.name in scene.fold.account.running:
        return _stopped(action, scene, rules)
    if action.on_baby and scenario.start.clock and scene.fold.account.clock_ms is None:
        raise NotDoneError(say("no_baby_yet"))
    hands = hands_at(scene, rules, cot)
    by = _by(touch, hands)
    if cot is not None and cot.goes_to_the_face(action.name):
        # The hand that kept the T-piece closed takes it to the face.
        hands = hands_at(scene, rules, cot.without_outlet())
    task = rules.task(action)
    lacks = hands.lacking(task, by)
    if lacks == "people":
        raise NotDoneError(say("takes_two", do=capitalised(action.do or action.label)))
    if lacks == "hands":
        raise NotDoneError(no_free_hand(hands, task, by))
    data = _begun(action, scene, called_of(rules, by))
    if action.dose is not None:
        data["dose"] = _dose(touch, action)
    if spoken := _spoken(touch, action, scene):
        data["spoken"] = spoken
    return Done((Entered("action", data),), closed_loop(action, called_of(rules, by), "start"))


def _begun(action: Action, scene: Scene, called: str) -> dict[str, Any]:
    """Return the entry of an action that is done or begun, by whom and as the dials stand."""
    scenario = scene.scenario
    role = called or whose(scenario, action) or next(iter(scenario.roles), None)
    data: dict[str, Any] = {
        "action": action.name,
        "phase": "start" if action.lasting else "done",
        **({"role": role} if role is not None else {}),
    }
    if settings := _standing(action, scene):
        data["settings"] = settings
    return data


def _stopped(action: Action, scene: Scene, rules: AloneRules) -> Done:
    """Stop what is running: whoever does it stops."""
    role = _running_role(action, scene)
    data = {"action": action.name, "phase": "stop", **({"role": role} if role else {})}
    called = called_of(rules, who_did(rules, role))
    return Done((Entered("action", data),), closed_loop(action, called, "stop"))


def _running_role(action: Action, scene: Scene) -> str | None:
    account = scene.fold.account
    return account.performances[account.running[action.name]].role


def _taken_over(touch: Touch, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Done:
    """Let somebody else go on with what is running.

    Where their hands are full of what they were at, the two change places.
    """
    action = scene.scenario.vocabulary.actions.get(touch.name)
    if action is None or action.name not in scene.fold.account.running:
        raise NotDoneError(say("no_such_touch"))
    hands = hands_at(scene, rules, cot)
    by, before = _by(touch, hands), who_did(rules, _running_role(action, scene))
    if by == before:
        raise NotDoneError(say("no_such_touch"))
    given = {action: by, **dict.fromkeys(_given_back(action, by, scene, rules, cot), before)}
    entries: list[Entered] = []
    words: list[str] = []
    for begun in given:
        entries += _stopped(begun, scene, rules).entries
    for begun, to in given.items():
        called = called_of(rules, to)
        entries.append(Entered("action", _begun(begun, scene, called)))
        words.append(
            say("takes_over", who=called, noun=begun.noun)
            if called
            else say("you_take_over", noun=begun.noun)
        )
    return Done(tuple(entries), " ".join(words))


def _given_back(
    action: Action, by: str, scene: Scene, rules: AloneRules, cot: CotAtHand | None
) -> tuple[Action, ...]:
    """Return what somebody gives to who did ``action`` before, to have hands for it.

    Raises ``NotDoneError`` where either would lack hands for what they take.
    """
    actions = scene.scenario.vocabulary.actions
    before = who_did(rules, _running_role(action, scene))
    hands, task = hands_at(scene, rules, cot, [action.name]), rules.task(action)
    if not hands.lacking(task, by):
        return ()
    person = hands.of(by)
    assert person is not None
    lasting = [actions[kept.action] for kept in person.keeps if kept.frees and kept.action]
    changed = hands_at(scene, rules, cot, [action.name, *(held.name for held in lasting)])
    wanted = Task(sum(rules.task(held).hands for held in lasting))
    if not lasting or changed.lacking(task, by) or changed.lacking(wanted, before):
        raise NotDoneError(no_free_hand(hands, task, by))
    return tuple(lasting)


def _standing(action: Action, scene: Scene) -> dict[str, Any]:
    """What stands on the dials that an action has to do with."""
    settings = scene.scenario.vocabulary.settings
    values = scene.fold.account.values
    out: dict[str, Any] = {}
    for name in action.settings:
        value = values.get(name)
        if value is None:
            continue
        unit = settings[name].unit
        out[name] = {
            "value": value,
            **({"unit": unit} if unit and not isinstance(value, str) else {}),
        }
    return out


def _dose(touch: Touch, action: Action) -> dict[str, Any]:
    dose = action.dose
    assert dose is not None
    out: dict[str, Any] = {}
    units = {
        "volume": (dose.strength_unit or "").partition("/")[2],
        "strength": dose.strength_unit or "",
        "amount": dose.unit.partition("/")[0],
        "flush": dose.flush_unit or "",
    }
    for name, unit in units.items():
        value = touch.chosen.get(name)
        if unit and value is not None:
            out[name] = {"value": number(value), "unit": unit}
    route = touch.chosen.get("route")
    if dose.routes:
        if route not in dose.routes:
            raise NotDoneError(say("no_route", do=action.do or in_a_sentence(action.label)))
        out["route"] = {"value": route}
    if "volume" not in out and "amount" not in out:
        raise NotDoneError(say("no_dose"))
    return out


def _spoken(touch: Touch, action: Action, scene: Scene) -> dict[str, Any]:
    """What is told with an action: a sensor's figure as it is read out, or what was chosen."""
    observation = scene.scenario.vocabulary.observations.get(action.reads or "")
    if observation is None:
        return {}
    chosen = touch.chosen.get("told")
    if chosen is not None:
        if chosen not in observation.words:
            raise NotDoneError(say("no_such_touch"))
        return {observation.name: {"value": chosen}}
    if observation.adds_up is not None:
        raise NotDoneError(say("nothing_chosen", label=observation.label))
    if not action.by_voice:
        return {}
    if not scene.sensing[observation.name].streams_at(scene.now):
        raise NotDoneError(say("nothing_to_read", noun=observation.noun or observation.label))
    return {observation.name: _reading(observation, scene)}


def _reading(observation: Observation, scene: Scene) -> dict[str, Any]:
    session = scene.session
    value = true_value(observation.name, session.curves, session.words, scene.now)
    if value is None:
        raise NotDoneError(say("nothing_to_read", noun=observation.noun or observation.label))
    if isinstance(value, str):
        return {"value": value}
    return {"value": round(value, observation.decimals), "unit": observation.unit}


def _set(touch: Touch, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Entered:
    """Set what is no dial of the cot: how something is done, such as a rate."""
    setting = scene.scenario.vocabulary.settings.get(touch.name)
    if setting is None or (cot is not None and setting.name in cot.turned):
        raise NotDoneError(say("no_such_touch"))
    called = called_of(rules, _by(touch, hands_at(scene, rules, cot)))
    data: dict[str, Any] = {"setting": setting.name, **({"role": called} if called else {})}
    value = touch.chosen.get("value")
    if setting.words:
        if value not in setting.words:
            raise NotDoneError(say("no_such_touch"))
        return Entered("set", {**data, "value": value})
    unit = touch.chosen.get("unit", setting.unit)
    if unit not in (setting.unit, *setting.read_in):
        raise NotDoneError(say("no_such_touch"))
    return Entered("set", {**data, "value": number(value), "unit": unit})


def _tell(touch: Touch, scene: Scene, own: str) -> Entered:
    """Call out what was counted: it is told with the entry that it was counted in."""
    event = next(
        (entry for entry in scene.fold.events if entry.id == touch.name and entry.kind == "action"),
        None,
    )
    observation = scene.scenario.vocabulary.observations.get(
        str(touch.chosen.get("observation", ""))[:_MOST_LETTERS]
    )
    if event is None or observation is None or event.by != own:
        raise NotDoneError(say("no_such_touch"))
    value = touch.chosen.get("value")
    spoken: dict[str, Any] = {"value": str(value)[:_MOST_LETTERS]}
    if isinstance(value, int | float):
        spoken = {"value": number(value), "unit": observation.unit}
    return Entered("amend", {"id": event.id, "fields": {"spoken": {observation.name: spoken}}})


def number(value: object) -> float:
    """Return a number that a page sent. Raises ``NotDoneError`` for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise NotDoneError(say("no_number"))
    if abs(value) > _MOST:
        raise NotDoneError(say("no_number"))
    return value
