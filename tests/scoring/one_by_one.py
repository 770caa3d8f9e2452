"""The redraws of a session as the record is marked, one by one: what the array form is held to."""

from __future__ import annotations

from uuid import UUID

import numpy as np

from simengine.scoring.at_once.achieved import are_achieved
from simengine.scoring.at_once.mark_at_once import mark_redraws
from simengine.scoring.at_once.table import MarkedRedraws
from simengine.scoring.make_plan import make_plan
from simengine.scoring.marking import mark, total_of
from simengine.scoring.outcome import is_achieved
from simengine.scoring.redrawn_times import times_redrawn
from simengine.scoring.resample import Resample
from simengine.session.record import Session


def assert_the_same(session: Session, redraws: int) -> None:
    """Hold every figure of the array form to 1e-12 of marking one by one, and each verdict."""
    plan = make_plan(session)
    record = session.record
    mark(plan, Resample(plan, [event.at_ms for event in record.marks], record.clock_ms))
    times = times_redrawn(plan, UUID(session.session_id).int, redraws)
    at_once = mark_redraws(plan, times)
    one_by_one = MarkedRedraws(plan, redraws)
    totals, achieved = np.full(redraws, np.nan), np.zeros(redraws, np.bool_)
    for number, (marks, clock) in enumerate(times):
        every = mark(plan, Resample(plan, marks, clock))
        for item in every:
            one_by_one.put(item, np.array([number]))
            one_by_one.deducted[item.plan.index, number] = item.deducted
        total = total_of(every)
        totals[number] = np.nan if total is None else total
        achieved[number] = is_achieved(plan, every, total)
    for laid in plan.items:
        index, name = laid.index, laid.item.id
        for value, other in (
            (at_once.credit[index], one_by_one.credit[index]),
            (at_once.deducted[index], one_by_one.deducted[index]),
        ):
            np.testing.assert_allclose(value, other, rtol=0.0, atol=1e-12, err_msg=name)
        for here, there in (
            (at_once.verdict[index], one_by_one.verdict[index]),
            (at_once.has_occurred(index), one_by_one.has_occurred(index)),
        ):
            np.testing.assert_array_equal(here, there, err_msg=name)
    np.testing.assert_allclose(at_once.totals(), totals, rtol=0.0, atol=1e-12)
    np.testing.assert_array_equal(are_achieved(at_once, at_once.totals()), achieved)
    ours, theirs = at_once.role_totals(), one_by_one.role_totals()
    assert ours.keys() == theirs.keys()
    for role, figures in theirs.items():
        np.testing.assert_allclose(ours[role], figures, rtol=0.0, atol=1e-12, err_msg=role)
