"""What is kept from draw to draw is what would be worked out anew."""

from __future__ import annotations

from hypothesis import given

from simengine.scoring.make_plan import make_plan
from simengine.scoring.marking import mark, total_of
from simengine.scoring.redrawn_times import times_redrawn
from simengine.scoring.resample import Resample
from tests.scoring.case import session
from tests.scoring.test_properties import KEY, RECORDS


@given(RECORDS)
def test_a_draw_is_marked_alike_by_a_plan_that_has_marked_others(record: str) -> None:
    ran = session(KEY + "- {expect: sample, from: start, ideal: 5 s}\n- {avoid: probe}", record)
    shared = make_plan(ran)
    for marks, clock in times_redrawn(shared, 1, 4):
        marked = mark(shared, Resample(shared, marks, clock))
        fresh = make_plan(ran)
        other = mark(fresh, Resample(fresh, marks, clock))
        assert [(item.credit, item.verdict, item.why) for item in marked] == [
            (item.credit, item.verdict, item.why) for item in other
        ]
        assert total_of(marked) == total_of(other)
