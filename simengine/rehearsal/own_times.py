"""One's own times: of this try, of the last one before it and the best of all, moment by moment.

Rules of this file:

- Tries are compared with tries of the same scenario by the same person, from its start or from the
  same state of the same try; nobody else's are beside them. Where several people use one machine, a
  person is whoever gave the same code, or none.
- The moments are those that the scenario's author says matter.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.cohort.records import SessionResult
from simengine.desk.session_plan import HERE, SessionPlan
from simengine.quantities.formatting import clock
from simengine.rehearsal.page_contexts import TimeRow
from simengine.rehearsal.rehearsal_sentences import say
from simengine.scenario.model import Scenario
from simengine.store import Store

IN_A_ROW = 3
"""How many tries of one moment are offered one after the other."""


def tries_of(
    store: Store, plans: Sequence[SessionPlan], plan: SessionPlan
) -> tuple[SessionResult, ...]:
    """Return the results of tries of the same, in order, up to this one and with it."""
    alike = [each.session for each in plans if _of_what(each) == _of_what(plan)]
    results = [store.result(session) for session in alike[: alike.index(plan.session) + 1]]
    return tuple(result for result in results if result is not None)


def _of_what(plan: SessionPlan) -> tuple[object, ...]:
    """Return whose try of what a session is: what has to be equal of those that are compared."""
    codes = sorted({code for codes in plan.team.values() for code in codes})
    return plan.scenario, plan.again, plan.alone, codes if plan.alone == HERE else ()


def headings(tries: int, *, in_a_row: bool) -> tuple[str, ...]:
    """Return which tries are told beside each other, and the best of all.

    ``in_a_row``: of one moment, the latest tries each; else this one and the last before it.
    """
    if in_a_row:
        first = max(1, tries - IN_A_ROW + 1)
        by_try = tuple(say("try_heading", number=number) for number in range(first, tries + 1))
    else:
        by_try = (say("time_now"), *((say("time_last"),) if tries > 1 else ()))
    return (*by_try, say("time_best"))


def time_rows(
    scenario: Scenario, tries: Sequence[SessionResult], *, in_a_row: bool
) -> tuple[TimeRow, ...]:
    """Return a row for each moment that counts, the last of ``tries`` being this one."""
    titles = {item.id: item.title for item in scenario.key}
    every = [{item.id: item.time_s for item in result.items} for result in tries]
    rows = []
    for name in scenario.key_times:
        times = [times_of.get(name) for times_of in every]
        done = [time for time in times if time is not None]
        if done:
            shown = times[-IN_A_ROW:] if in_a_row else times[:-3:-1]
            what = titles.get(name, name)
            rows.append(TimeRow(what, tuple(_words(time) for time in (*shown, min(done)))))
    return tuple(rows)


def _words(time_s: float | None) -> str:
    return say("not_done") if time_s is None else clock(round(time_s * 1000))
