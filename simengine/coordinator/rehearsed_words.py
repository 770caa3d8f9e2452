"""How much people rehearsed of late, in words: practice, and nothing that counts for anything."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

from simengine.coordinator.coordinator_sentences import say
from simengine.quantities.formatting import count
from simengine.store import Store
from simengine.store.lists import rehearsed
from simengine.web.local_time import local_day

_DAYS = 90


def rehearsed_words(store: Store, codes: Collection[str], day: date) -> str:
    """Tell how often people rehearsed in the last months; empty where nobody did."""
    counts = rehearsed(store, codes, (day - timedelta(days=_DAYS)).isoformat())
    if not counts:
        return ""
    tries = count(sum(number for number, _ in counts.values()), "rehearsal")
    return say("rehearsed_by", tries=tries, people=count(len(counts), "person", "people"))


def own_rehearsed_words(store: Store, code: str, day: date) -> str:
    """Tell how often one person rehearsed in the last months; empty where they did not."""
    own = rehearsed(store, [code], (day - timedelta(days=_DAYS)).isoformat()).get(code)
    if own is None:
        return ""
    return say("rehearsed", tries=count(own[0], "rehearsal"), last=local_day(own[1]))
