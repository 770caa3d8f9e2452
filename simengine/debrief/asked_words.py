"""An act as it is named in a what-if: as it was done, or as it is asked."""

from __future__ import annotations

from simengine.debrief.debrief_sentences import say
from simengine.quantities.formatting import instant, value_words
from simengine.scenario.key import Asked, AskedFault, AskedKnowledge, AskedSetting
from simengine.scenario.wanted import Value
from simengine.session.events import Event
from simengine.session.record import Session


def act_done(session: Session, act: Asked, event: Event) -> str:
    """Tell what an entry did of what was asked.

    What put a fault right may be a plain act, or a dial that was turned: it is called just that.
    """
    if isinstance(act, AskedSetting):
        return _set(session, act.setting, event)
    if event.kind == "set" and isinstance(act, AskedFault):
        return _set(session, str(event.data["setting"]), event)
    if "action" in event.data:
        return session.scenario.vocabulary.actions[str(event.data["action"])].doing
    return act_asked(session, act)


def _set(session: Session, name: str, event: Event) -> str:
    """Tell a setting with the value that an entry gave it."""
    changes = session.record.changes.get(name, ())
    change = next((change for change in changes if change.event_id == event.id), None)
    return setting_at(session, name, None if change is None else change.value)


def act_asked(session: Session, act: Asked) -> str:
    """Tell what is asked as something that is being done."""
    vocabulary = session.scenario.vocabulary
    match act:
        case AskedSetting():
            return vocabulary.settings[act.setting].noun
        case AskedFault(fault, status):
            key = "what_if_found" if status == "found" else "what_if_put_right"
            return say(key, shows=session.scenario.start.faults[fault].shows)
        case AskedKnowledge(observation, aloud):
            noun = vocabulary.observations[observation].noun
            return say("what_if_told" if aloud else "what_if_known", noun=noun)
        case _:
            return vocabulary.actions[act.action].doing


def setting_at(session: Session, name: str, value: Value | None) -> str:
    """Tell a setting with its value, where that is known."""
    setting = session.scenario.vocabulary.settings[name]
    if value is None:
        return setting.noun
    words = value_words(value, setting.unit)
    return say("what_if_setting", noun=setting.noun, value=words)


def told_at(session: Session, at_ms: int) -> str:
    """Tell an instant of scenario time on the team's clock, in a sentence."""
    event = (session.scenario.start.clock or "").replace("_", " ")
    return instant(at_ms - (session.record.clock_ms or 0), event)
