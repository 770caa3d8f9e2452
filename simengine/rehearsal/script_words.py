"""The words that the page's script needs, from the catalogue."""

from __future__ import annotations

from collections.abc import Mapping

from simengine.rehearsal.rehearsal_sentences import say


def script_words() -> Mapping[str, str]:
    """Return the sentences of the script by the names that it has for them."""
    return {
        "no_answer": say("no_answer"),
        "less": say("less"),
        "more": say("more"),
        "now": say("stands_at"),
        "not_set": say("not_set"),
        "give": say("give"),
        "cancel": say("cancel"),
        "route": say("route"),
        "say": say("say_it"),
        "since": say("since"),
        "count_now": say("count_now"),
        "tell_beats": say("tell_beats"),
        "figure": say("figure"),
        "sound_on": say("sound_on"),
        "sound_off": say("sound_off"),
        "pause": say("pause"),
        "resume": say("resume"),
        "paused": say("paused"),
        "starts_in": say("starts_in"),
        "ends": say("ends"),
        "help_here": say("help_here"),
        "set_it": say("set_it"),
        "manometer": say("manometer"),
        "turn_up": say("turn_up"),
        "turn_down": say("turn_down"),
        "turned_by": say("turned_by"),
        "nothing_found": say("nothing_found"),
    }
