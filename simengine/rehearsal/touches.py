"""What a touch becomes in the log, for who plays alone.

Rules of this file:

- A touch names what it does and no more than whoever plays chose: what stands on the dials goes
  with an action by itself, a figure that a sensor shows goes with reading it out.
- What takes more hands than are free is refused in words, and nothing is recorded.
- Nothing is trusted: what the page sends is held against the vocabulary before the engine sees it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from simengine.desk.scene import Scene
from simengine.quantities.formatting import capitalised, in_a_sentence, listed
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.cot import Entry, NotWorkedError, is_put_right
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.hands import Hands, hands_at, has_baby, lacking
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action, Observation
from simengine.scenario.whose import whose
from simengine.session.events import Kind
from simengine.session.readings import true_value

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
    if touch.do == "cot":
        return _worked(touch, scene, rules, cot)
    return Done((_one_entry(touch, scene, rules, own),))


def _one_entry(touch: Touch, scene: Scene, rules: AloneRules, own: str) -> Entered:
    match touch.do:
        case "action":
            return _action(touch, scene, rules)
        case "set":
            return _set(touch, scene.scenario)
        case "tell":
            return _tell(touch, scene, own)
        case "begin":
            return _begin(scene)
        case "skip":
            return _skip(touch, rules)
        case "pause" | "resume":
            return Entered("pause" if touch.do == "pause" else "resume", {})
        case "end":
            return Entered("closed", {"why": "stopped early"})
        case "stop":
            return Entered("closed", {"why": "safety stop"})
    raise NotDoneError(say("no_such_touch"))


def _worked(touch: Touch, scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> Done:
    """Work the cot: what that writes down is written as whoever does such work does it.

    Where nobody counts hands, putting a part right takes its time, whatever was wrong with it, and
    is written down once it is done.
    """
    control, value = touch.chosen.get("control"), touch.chosen.get("value")
    if cot is None:
        raise NotDoneError(say("no_cot"))
    if not cot.has(touch.name) or not isinstance(control, str):
        raise NotDoneError(say("no_such_touch"))
    if value is not None and not isinstance(value, float | int | str | bool):
        raise NotDoneError(say("no_such_touch"))
    try:
        done = cot.work(scene, touch.name, control, value)
    except NotWorkedError as error:
        raise NotDoneError(str(error)) from error
    entries = tuple(_as_role(scene.scenario, entry) for entry in done.entries)
    if is_put_right(control) and not has_baby(scene.scenario):
        entries = (Entered("skip", {"ms": rules.put_right_ms}), *entries)
    return Done(entries, done.words)


def _as_role(scenario: Scenario, entry: Entry) -> Entered:
    action = scenario.vocabulary.actions.get(str(entry.data.get("action", "")))
    role = whose(scenario, action) if action is not None else None
    if role is None or entry.kind == "note":
        return Entered(entry.kind, entry.data)
    return Entered(entry.kind, {**entry.data, "role": role})


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


def _action(touch: Touch, scene: Scene, rules: AloneRules) -> Entered:
    scenario = scene.scenario
    action = scenario.vocabulary.actions.get(touch.name)
    if action is None:
        raise NotDoneError(say("no_such_touch"))
    role = whose(scenario, action) or next(iter(scenario.roles), None)
    data: dict[str, Any] = {"action": action.name, "phase": "done"}
    if role is not None:
        data["role"] = role
    if action.lasting and action.name in scene.fold.account.running:
        return Entered("action", {**data, "phase": "stop"})
    if action.on_baby and scenario.start.clock and scene.fold.account.clock_ms is None:
        raise NotDoneError(say("no_baby_yet"))
    if has_baby(scenario):
        hands = hands_at(scenario, rules, scene.session.record.performances, scene.now)
        _hands_for(action, scenario, rules, hands)
    if action.lasting:
        data["phase"] = "start"
    if settings := _standing(action, scene):
        data["settings"] = settings
    if action.dose is not None:
        data["dose"] = _dose(touch, action)
    if spoken := _spoken(touch, action, scene):
        data["spoken"] = spoken
    return Entered("action", data)


def _hands_for(action: Action, scenario: Scenario, rules: AloneRules, hands: Hands) -> None:
    lacks = lacking(hands, rules.task(action))
    if lacks == "people":
        raise NotDoneError(say("takes_two", do=capitalised(action.do or action.label)))
    if lacks == "hands":
        actions = scenario.vocabulary.actions
        doing = listed(
            list(
                dict.fromkeys(
                    actions[name].doing
                    for person in hands.people
                    for name in person.doing
                    if name is not None
                )
            )
        )
        raise NotDoneError(say("no_free_hand", doing=doing))


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


def _set(touch: Touch, scenario: Scenario) -> Entered:
    setting = scenario.vocabulary.settings.get(touch.name)
    if setting is None:
        raise NotDoneError(say("no_such_touch"))
    value = touch.chosen.get("value")
    if setting.words:
        if value not in setting.words:
            raise NotDoneError(say("no_such_touch"))
        return Entered("set", {"setting": setting.name, "value": value})
    unit = touch.chosen.get("unit", setting.unit)
    if unit not in (setting.unit, *setting.read_in):
        raise NotDoneError(say("no_such_touch"))
    return Entered("set", {"setting": setting.name, "value": number(value), "unit": unit})


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
