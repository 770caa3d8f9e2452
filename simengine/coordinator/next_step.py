"""The one thing that comes next for a person: a sentence, and where it is done.

Rules of this file:

- One step, the first that applies: a session that is planned; what is overdue, was never met or is
  due soon; leave; when the next requirement runs out; the first session of all.
- The coordinator is led to the page that plans it; the person asks their educator.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from urllib.parse import urlencode

from simengine.coordinator.page_words import SIGNS, day_words, due_words, in_order
from simengine.coordinator.record_contexts import NextStep
from simengine.people.currency import Currency, to_do

PLAN = "/cohort/plan"


def next_step(
    code: str,
    standing: Sequence[Currency],
    titles: Mapping[str, str],
    day: date,
    *,
    own: bool,
    planned: NextStep | None = None,
) -> NextStep:
    """Return what comes next. ``titles``: of requirements; ``planned``: a session ahead, if any."""
    if planned is not None:
        return planned
    open_ = to_do(standing)
    if open_:
        first = min(open_, key=in_order)
        words = (
            f"{titles[first.requirement]}: {SIGNS[first.status].words}, {due_words(first, day)}."
        )
        if own:
            return NextStep(f"{words} Ask your educator for a session.")
        return NextStep(words, f"{PLAN}?{urlencode({'who': code})}", "Plan a session for it")
    away = [one.back for one in standing if one.back is not None]
    if away:
        return NextStep(f"On leave until {day_words(max(away))}; nothing is asked meanwhile.")
    if standing:
        first = min(standing, key=lambda one: one.until)
        return NextStep(
            f"Nothing now: current in all that is asked. {titles[first.requirement]} holds until "
            f"{day_words(first.until)}."
        )
    return NextStep("Nothing is asked at present.")
