"""The one thing that comes next for a person: a sentence, and where it is done.

Rules of this file:

- One step, the first that applies: a session that is planned; what is overdue, was never met or is
  due soon; leave; when the next requirement runs out; the first session of all.
- The coordinator is led to the page that plans it; the person asks their educator. Of what is
  planned the person is not told the case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from urllib.parse import urlencode

from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.page_words import SIGNS, day_words, due_words, in_order
from simengine.coordinator.planned_words import when_words, where_words
from simengine.coordinator.record_contexts import NextStep
from simengine.coordinator.who_may_read import person_address
from simengine.people.bookings import Booking
from simengine.people.currency import Currency, to_do

PLAN = "/cohort/plan"


def next_step(
    code: str,
    standing: Sequence[Currency],
    titles: Mapping[str, str],
    day: date,
    *,
    own: bool,
    ahead: Booking | None = None,
) -> NextStep:
    """Return what comes next. ``titles``: of requirements; ``ahead``: the next session planned."""
    if ahead is not None:
        where = where_words(ahead)
        key = "next_planned_at" if where else "next_planned"
        words = say(key, when=when_words(ahead), where=where)
        if own:
            return NextStep(words, f"{person_address(code)}/plan.ics", "Take it into a calendar")
        return NextStep(words, f"{PLAN}#b-{ahead.id}", "The planned session")
    open_ = to_do(standing)
    if open_:
        first = min(open_, key=in_order)
        words = say(
            "next_due_own" if own else "next_due",
            title=titles[first.requirement],
            status=SIGNS[first.status].words,
            due=due_words(first, day),
        )
        if own:
            return NextStep(words)
        return NextStep(words, f"{PLAN}?{urlencode({'who': code})}", "Plan a session for it")
    away = [entry.back for entry in standing if entry.back is not None]
    if away:
        return NextStep(say("next_leave", day=day_words(max(away))))
    if standing:
        first = min(standing, key=lambda entry: entry.until)
        return NextStep(
            say(
                "next_current",
                title=titles[first.requirement],
                day=day_words(first.until),
            )
        )
    return NextStep(say("next_nothing"))
