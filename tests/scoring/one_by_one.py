"""The redraws of a session as the record is marked, one by one: what the array form is held to."""

from __future__ import annotations

from uuid import UUID

import numpy as np

from simengine.scoring.at_once.achieved import are_achieved
from simengine.scoring.at_once.mark_at_once import mark_redraws
from simengine.scoring.at_once.table import MarkedRedraws
from simengine.scoring.certainty import times_redrawn
from simengine.scoring.make_plan import make_plan
from simengine.scoring.marking import mark, total_of
from simengine.scoring.outcome import is_achieved
from simengine.scoring.resample import Resample
from simengine.session.record import Session


def assert_the_same(session: Session, redraws: int) -> None:
    """Hold every figure of the array form to 1e-12 of marking one by one, and each verdict."""
    plan = make_plan(session)
    record = session.record
    mark(plan, Resample(plan, [one.at_ms for one in record.marks], record.clock_ms))
    times = times_redrawn(plan, UUID(session.session_id).int, redraws)
    found = mark_redraws(plan, times)
    asked = MarkedRedraws(plan, redraws)
    totals, achieved = np.full(redraws, np.nan), np.zeros(redraws, np.bool_)
    for number, (marks, clock) in enumerate(times):
        every = mark(plan, Resample(plan, marks, clock))
        for item in every:
            asked.put(item, np.array([number]))
            asked.deducted[item.plan.index, number] = item.deducted
        total = total_of(every)
        totals[number] = np.nan if total is None else total
        achieved[number] = is_achieved(plan, every, total)
    for laid in plan.items:
        index, name = laid.index, laid.item.id
        for one, other in (
            (found.credit[index], asked.credit[index]),
            (found.deducted[index], asked.deducted[index]),
        ):
            np.testing.assert_allclose(one, other, rtol=0.0, atol=1e-12, err_msg=name)
        for here, there in (
            (found.verdict[index], asked.verdict[index]),
            (found.has_occurred(index), asked.has_occurred(index)),
        ):
            np.testing.assert_array_equal(here, there, err_msg=name)
    np.testing.assert_allclose(found.totals(), totals, rtol=0.0, atol=1e-12)
    np.testing.assert_array_equal(are_achieved(found, found.totals()), achieved)
    ours, theirs = found.role_totals(), asked.role_totals()
    assert ours.keys() == theirs.keys()
    for role, figures in theirs.items():
        np.testing.assert_allclose(ours[role], figures, rtol=0.0, atol=1e-12, err_msg=role)
