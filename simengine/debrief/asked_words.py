"""An act as it is named in a what-if: as it was done, or as it is asked."""

from __future__ import annotations

from simengine.debrief.debrief_sentences import say
from simengine.quantities.formatting import instant, value_words
from simengine.scenario.key import Asked, AskedFault, AskedKnowledge, AskedSetting
from simengine.scenario.wanted import Value
from simengine.session.events import Event
from simengine.session.record import Session


def act_done(session: Session, act: Asked, event: Event) -> str:
    """Tell what an entry did of what was asked."""
    vocabulary = session.scenario.vocabulary
    if isinstance(act, AskedSetting):
        changes = session.record.changes.get(act.setting, ())
        change = next((c for c in changes if c.event_id == event.id), None)
        return setting_at(session, act.setting, None if change is None else change.value)
    if isinstance(act, AskedFault) or "action" not in event.data:
        return act_asked(session, act)
    return vocabulary.actions[str(event.data["action"])].doing


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
