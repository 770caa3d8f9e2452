"""An act as it is named in a what-if: as it was done, or as it is asked."""

from __future__ import annotations

from simengine.debrief.debrief_sentences import say
from simengine.quantities.formatting import instant, value_words
from simengine.scenario.key import Asked, AskedFault, AskedKnowledge, AskedSetting
from simengine.scenario.wanted import Value
from simengine.session.events import Event
from simengine.session.record import Session


def act_done(session: Session, asked: Asked, event: Event) -> str:
    """Tell what an entry did of what was asked."""
    vocabulary = session.scenario.vocabulary
    if isinstance(asked, AskedSetting):
        changes = session.record.changes.get(asked.setting, ())
        change = next((c for c in changes if c.event_id == event.id), None)
        return setting_at(session, asked.setting, None if change is None else change.value)
    if isinstance(asked, AskedFault) or "action" not in event.data:
        return act_asked(session, asked)
    return vocabulary.actions[str(event.data["action"])].doing


def act_asked(session: Session, asked: Asked) -> str:
    """Tell what is asked as something that is being done."""
    vocabulary = session.scenario.vocabulary
    match asked:
        case AskedSetting():
            return vocabulary.settings[asked.setting].noun
        case AskedFault(fault, status):
            key = "what_if_found" if status == "found" else "what_if_put_right"
            return say(key, shows=session.scenario.start.faults[fault].shows)
        case AskedKnowledge(observation, told):
            noun = vocabulary.observations[observation].noun
            return say("what_if_told" if told else "what_if_known", noun=noun)
        case _:
            return vocabulary.actions[asked.action].doing


def setting_at(session: Session, name: str, value: Value | None) -> str:
    """Tell a setting with its value, where that is known."""
    setting = session.scenario.vocabulary.settings[name]
    if value is None:
        return setting.noun
    told = value_words(value, setting.unit)
    return say("what_if_setting", noun=setting.noun, value=told)


def told_at(session: Session, at_ms: int) -> str:
    """Tell an instant of scenario time on the team's clock, in a sentence."""
    event = (session.scenario.start.clock or "").replace("_", " ")
    return instant(at_ms - (session.record.clock_ms or 0), event)
