"""The view of a session for who plays it alone, and what can be done in it at all.

Rules of this file:

- What can be done is the whole vocabulary of the phases that a scenario has to do with, in their
  order: nothing is led to by being there.
- What the baby needs is not shown, and neither is what the guide asks; a hint is a cue.
- What is wrong with the cot is shown nowhere: it is seen, heard or felt there.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from simengine.desk.marks import clock_of
from simengine.desk.scene import Scene, now_of
from simengine.desk.view import Figure
from simengine.quantities import Range
from simengine.quantities.formatting import capitalised, in_a_sentence
from simengine.rehearsal.alone_rules import AloneRules
from simengine.rehearsal.baby import counting_of, found_lines
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.hand_words import doing_words
from simengine.rehearsal.hands import AtTheCot, Hands, hands_at, has_baby, who_did
from simengine.rehearsal.play_view import (
    Act,
    Dial,
    DoseAsked,
    Group,
    HandsLine,
    Happened,
    PlayView,
    Running,
    TakeOver,
)
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.model import Scenario
from simengine.scenario.usual import amount_units, volume_unit
from simengine.scenario.vocabulary import Action, Dose, Setting
from simengine.session.account import PROGRAM
from simengine.session.entry_words import entry_words
from simengine.session.events import Event
from simengine.session.record import Performance

_MOST_HAPPENED = 12
_TOLD = frozenset(("action", "set", "event", "cue", "information", "note"))
"""What is told of what has happened. Faults are not: a note tells which part was called wrong, or
what was done about it, and what was wrong with it is seen there, or told in the debrief."""


def play_view(scene: Scene, rules: AloneRules, cot: CotAtHand | None) -> PlayView:
    """Return what is shown now."""
    fold, scenario = scene.fold, scene.scenario
    clock = clock_of(scene)
    waits = clock.event is not None and clock.zero_ms is None and not scene.session.closed
    hands = hands_at(scene, rules, cot)
    scene.changes_at(hands.changes_ms)
    stay = fold.stay
    ends = stay is not None and scenario.states[stay.state].ends
    happened = _happened(scene, cot)
    return PlayView(
        session=scene.session.session_id,
        version=len(happened),
        now=now_of(scene),
        clock=clock,
        starts_ms=rules.prepare_ms if waits else None,
        ready=say("ready", event=event_words(clock.event)) if waits else "",
        baby=has_baby(scenario),
        lines=found_lines(scene, rules),
        hands=_hands(hands),
        running=tuple(
            _running(scenario, rules, performance, hands)
            for index in fold.account.running.values()
            if (performance := fold.account.performances[index]).event_id
        ),
        counting=None if scene.session.closed else counting_of(scene),
        happened=tuple(_one(scene, event) for event in happened[-_MOST_HAPPENED:]),
        settings=_standing(scene, cot),
        cot=None if cot is None or scene.session.closed else cot.show(scene),
        manometer=cot.manometer(scene) if cot is not None and has_baby(scenario) else None,
        hint=_hint(scene),
        ending=scenario.states[stay.state].title if stay is not None and ends else "",
        closed=scene.session.closed,
    )


def groups_of(scenario: Scenario, cot: CotAtHand | None) -> tuple[Group, ...]:
    """Return what can be done and set, by phase; the cot as it is worked comes first.

    What is done by working the cot has no button of its own. A dial that is turned at the cot is
    the cot's wherever it stands, and the manometer stands beside its valves.
    """
    vocabulary = scenario.vocabulary
    out = [] if cot is None else [Group("cot", say("cot"), (), (), cot.places())]
    with_buttons = _with_buttons(scenario, cot)
    for phase, label in vocabulary.phases.items():
        actions = [action for action in with_buttons if action.phase == phase]
        if actions:
            acts = tuple(_act(scenario, action) for action in actions)
            settings = _dials(scenario, actions)
            turned = cot.turned if cot is not None else {}
            dials = tuple(
                _dial(vocabulary.settings[name]) for name in settings if name not in turned
            )
            cot_dials = cot.dials(settings) if cot is not None else ()
            valves = any(dial.handle.kind == "turn" for dial in cot_dials)
            out.append(Group(phase, label, acts, dials, cot_dials=cot_dials, manometer=valves))
    return tuple(out)


def _with_buttons(scenario: Scenario, cot: CotAtHand | None) -> list[Action]:
    baby, by_hand = has_baby(scenario), cot.by_hand if cot is not None else frozenset()
    return [
        action
        for action in scenario.vocabulary.actions.values()
        if action.name not in by_hand and (baby or not _is_of_a_baby(scenario, action))
    ]


def _dials(scenario: Scenario, actions: Sequence[Action]) -> list[str]:
    """Return the settings that have a dial beside the buttons of some actions."""
    if not has_baby(scenario):
        return []
    return list(dict.fromkeys(name for action in actions for name in action.settings))


def _is_of_a_baby(scenario: Scenario, action: Action) -> bool:
    """Whether something is done to a baby, or tells of one."""
    reveals = any(
        by.action == action.name
        for observation in scenario.vocabulary.observations.values()
        for by in observation.revealed_by
    )
    return action.on_baby or action.reads is not None or reveals


def _standing(scene: Scene, cot: CotAtHand | None) -> dict[str, Figure]:
    """What the dials beside the buttons stand at; what is turned by a needle has no marks.

    Those that are at the cot alone are read by looking there.
    """
    scenario, values = scene.scenario, scene.fold.account.values
    settings = scenario.vocabulary.settings
    unmarked = cot.unmarked if cot is not None else frozenset()
    return {
        name: Figure(value, settings[name].unit if not isinstance(value, str) else None)
        for name in _dials(scenario, _with_buttons(scenario, cot))
        if name not in unmarked and (value := values.get(name)) is not None
    }


def _dial(setting: Setting) -> Dial:
    plausible = setting.plausible or Range()
    return Dial(
        name=setting.name,
        label=setting.label,
        unit=setting.unit or "",
        step=setting.step or 1.0,
        least=plausible.low if isfinite(plausible.low) else None,
        most=plausible.high if isfinite(plausible.high) else None,
        words=setting.words,
        usual=tuple(sorted(setting.usual)),
    )


def _act(scenario: Scenario, action: Action) -> Act:
    reads = scenario.vocabulary.observations.get(action.reads or "")
    asks = reads is not None and not reads.bands and _is_judged(scenario, action)
    return Act(
        name=action.name,
        do=capitalised(action.do or action.label),
        lasts=action.lasting,
        stop=_stop(scenario, action),
        asks=reads.label if reads is not None and asks else "",
        choices=reads.words if reads is not None and asks else (),
        dose=_dose(scenario, action.dose),
    )


def _dose(scenario: Scenario, dose: Dose | None) -> DoseAsked | None:
    if dose is None:
        return None
    figures = []
    drawn = volume_unit(dose)
    if drawn is not None and dose.strength_unit is not None:
        figures.append(("volume", say("dose_volume"), drawn))
        figures.append(("strength", say("dose_strength"), dose.strength_unit))
    else:
        figures.append(("amount", say("dose_amount"), amount_units(dose)[-1]))
    if dose.flush_unit is not None:
        figures.append(("flush", say("dose_flush"), dose.flush_unit))
    return DoseAsked(tuple(figures), tuple(dose.routes.items()), scenario.vocabulary.caution)


def _is_judged(scenario: Scenario, action: Action) -> bool:
    """Whether a value is whoever's own who tells it, since nothing shows it."""
    reads = scenario.vocabulary.observations.get(action.reads or "")
    return reads is not None and reads.adds_up is not None


def _stop(scenario: Scenario, action: Action) -> str:
    if not action.lasting:
        return ""
    noun = action.noun or in_a_sentence(action.label)
    is_sensor = any(
        by.action == action.name and by.streams
        for observation in scenario.vocabulary.observations.values()
        for by in observation.revealed_by
    )
    return say("take_off" if is_sensor else "stop", noun=noun)


def event_words(event: str | None) -> str:
    """Return the name of an event as it is said after its article: ``birth``, ``call``."""
    return (event or "").replace("_", " ").removeprefix("the ")


def _running(
    scenario: Scenario, rules: AloneRules, performance: Performance, hands: Hands
) -> Running:
    action = scenario.vocabulary.actions[performance.action]
    keeps, before = hands.keeps(action.name), who_did(rules, performance.role)
    others = [person for person in hands.people if keeps and person.by != before]
    return Running(
        action.name,
        _stop(scenario, action),
        performance.start_ms,
        keeps,
        tuple(TakeOver(person.by, _take_over(person, action)) for person in others),
    )


def _take_over(person: AtTheCot, action: Action) -> str:
    if person.called:
        return say("touch_take_over", who=person.called, noun=action.noun)
    return say("touch_you_take_over", noun=action.noun)


def _hands(hands: Hands) -> tuple[HandsLine, ...]:
    lines = [_person(person) for person in hands.people]
    lines += [
        HandsLine(helper.by, helper.called, say("on_the_way"), helper.at_ms)
        for helper in hands.coming
    ]
    return tuple(lines)


def _person(person: AtTheCot) -> HandsLine:
    who = person.called or say("you")
    if not person.keeps:
        return HandsLine(person.by, who, say("hands_free"))
    key = "hand_free" if person.free else "hands_full"
    return HandsLine(person.by, who, say(key, doing=doing_words(person)))


def _happened(scene: Scene, cot: CotAtHand | None) -> list[Event]:
    """Return every entry that is told of."""
    unmarked = cot.unmarked if cot is not None else frozenset()
    return [
        event
        for event in scene.session.effective
        if event.kind in _TOLD
        and (event.kind != "set" or event.data.get("setting") not in unmarked)
    ]


def _one(scene: Scene, event: Event) -> Happened:
    at = scene.fold.times.scenario(event.at_ms, event.seq)
    return Happened(event.id, at, entry_words(scene.scenario, event), event.by != PROGRAM)


def _hint(scene: Scene) -> str:
    last = next((event for event in reversed(scene.fold.events) if event.kind in _TOLD), None)
    if last is None or last.kind != "cue":
        return ""
    return say("hint", text=str(last.data["text"]))
