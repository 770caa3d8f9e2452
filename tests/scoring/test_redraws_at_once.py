"""All redraws at once: the same figures, to 1e-12, as marking one by one.

One-by-one marking is the statement of the rules, and the reference here. The guides ask by every
kind of item; records are random, and all shipped sessions and plays are held to it too.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from simengine.plays.files import plays_of, read_file
from simengine.plays.run_play import perform
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.scoring.at_once import mark_at_once
from simengine.scoring.at_once.mark_at_once import mark_one_by_one
from simengine.scoring.at_once.matching import by_trying
from simengine.scoring.at_once.stretches import Stretches, holds
from simengine.scoring.guide import guide_of
from simengine.scoring.matching import best_matching
from simengine.session.record import NEVER
from tests import shipped
from tests.amount import seeds
from tests.scoring import test_any_record_of_the_second_edition as second
from tests.scoring import test_properties as first
from tests.scoring.case import session
from tests.scoring.one_by_one import assert_the_same

MORE = """
- {expect: call, from: {action: look}, ideal: 10 s, latest: 40 s, each: true, must_reach: true}
- {expect: read_gauge, from: birth, ideal: 40 s, latest: 90 s, settings: {gauge: as shown}}
- {expect: {know: rate}, from: birth, ideal: 40 s, settings: {gauge: as shown, oxygen: 60 %}}
- {expect: call, from: birth, ideal: 5 s, latest: 60 s, during: [idle], importance: essential}
- {expect: call, from: {fault: leak}, ideal: 60 s, latest: 90 s, importance: helpful}
- {expect: call, from: {state: high}, not_before: -20 s, ideal: 20 s, latest: 30 s, each: true}
- expect: pump
  from: {state: low}
  ideal: 20 s
  latest: 40 s
  settings: {pressure: 28 to 32 cmH2O, oxygen: 50 ± 10 %}
  must: [pressure]
  importance: essential
  each: true
- {expect: {set: pressure, to: at least 30 cmH2O}, from: birth, ideal: 40 s, latest: 80 s}
- {expect: {set: oxygen, change: higher}, from: {state: low}, ideal: 20 s, each: true}
- {expect: {find: leak}, ideal: 30 s, latest: 90 s}
- {expect: {mend: dial}, ideal: 30 s, latest: 90 s, must_reach: true}
- respond: call
  whenever: {any: [{observed: {rate: below 60 /min}}, {doing: pump}], not: {done: swap}}
  lasting: 5 s
  ideal: 10 s
  latest: 30 s
  importance: essential
- respond: pump
  whenever: {observed: {rate: below 60 /min}}
  lasting: 5 s
  ideal: 30 s
  unseen: true
- respond: {set: oxygen, change: higher}
  whenever: {observed: {level: below 50 %}}
  lasting: 5 s
  ideal: 20 s
- {repeat: call, every: 20 s, grace: 5 s, during: [low, high], importance: essential}
- {repeat: {know: rate}, every: 15 s}
- {keep: {doing: pump}, during: [low], share: 60 %}
- {keep: {settings: {pressure: at most 30 cmH2O}}}
- {order: [call, look, swap], during: [idle, low], importance: essential}
- {avoid: pump, while: {observed: {rate: at least 100 /min}}, lasting: 5 s, at_most: 7 %}
- {avoid: call, during: [high], deduct: 8 %, stops_pass: true}
- {avoid: {doing: pump, settings: {pressure: above 35 cmH2O}}, lasting: 5 s}
- {avoid: {read: {rate: at least 60 /min, within: 20 s}, doing: press}, lasting: 5 s}
- {avoid: {lately: {of: {doing: pump}, within: 20 s}, done: look}, lasting: 10 s}
"""


@given(first.RECORDS)
def test_any_record_gives_the_same_figures(record: str) -> None:
    assert_the_same(session(first.KEY, record, purpose="summative"), 6)


@given(second.RECORDS)
def test_any_record_gives_the_same_figures_under_the_second_edition(record: str) -> None:
    ran = session(second.KEY, record, protocol="small-unsafe", purpose="summative")
    assert_the_same(ran, 6)


@given(second.RECORDS)
def test_any_record_gives_the_same_figures_for_all_that_can_be_asked(record: str) -> None:
    ran = session(MORE, record, protocol="small-unsafe", purpose="summative", doing="probe")
    assert_the_same(ran, 6)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_a_shipped_session_gives_the_same_figures(name: str) -> None:
    assert_the_same(shipped.session(name), seeds(12))


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_the_plays_of_a_scenario_give_the_same_figures(name: str) -> None:
    scenario = shipped.scenario(name)
    for file in plays_of(scenarios_dir() / f"{name}.yaml", scenario.id):
        play, _ = read_file(file, scenario, None)
        assert play is not None
        # as if people had recorded it: what a machine recorded is not redrawn
        assert_the_same(replace(perform(play).session, purpose="formative"), seeds(6))


def test_nearly_nothing_of_what_is_shipped_has_to_be_marked_one_by_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    left = 0

    def counted(table: Any, redraws: Any, items: Any, columns: Any) -> None:
        nonlocal left
        left += len(items) * len(columns)
        mark_one_by_one(table, redraws, items, columns)

    monkeypatch.setattr(mark_at_once, "mark_one_by_one", counted)
    every = 0
    for name in shipped.SESSIONS:
        ran = shipped.session(name)
        score(ran, redraws=50, words=False)
        every += 50 * len(guide_of(ran.scenario).items)
    assert left < every / 100


@given(st.integers(0, 2**32))
def test_performances_that_compete_are_shared_out_for_the_greatest_sum(seed: int) -> None:
    # scipy.optimize.linear_sum_assignment: the sum; who takes which at equal sums is the rule
    # of scoring, to which ``best_matching`` is held
    chance = np.random.default_rng(seed)
    occasions, runs, redraws = chance.integers(1, 5), chance.integers(1, 6), 4
    gains = chance.choice([0.0, 0.25, 0.5, 0.75, 1.0], size=(occasions, runs, redraws))
    taken = by_trying(gains)
    for redraw in range(redraws):
        table = gains[:, :, redraw]
        chosen = [None if place < 0 else int(place) for place in taken[:, redraw]]
        rows, columns = linear_sum_assignment(table, maximize=True)
        got = sum(table[row, run] for row, run in enumerate(chosen) if run is not None)
        assert got == pytest.approx(table[rows, columns].sum())
        assert chosen == best_matching(
            [{run: gain for run, gain in enumerate(row) if gain > 0.0} for row in table.tolist()]
        )


@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, 60), st.integers(0, 20)), min_size=50, max_size=50),
        min_size=1,
        max_size=3,
    )
)
def test_of_many_stretches_it_is_told_as_of_few_where_they_hold(redraws: Any) -> None:
    table = np.array(redraws, dtype=np.int64)
    starts = np.where(table[:, :, 1] == 20, NEVER, table[:, :, 0]).T
    ends = np.where(starts < NEVER, starts + table[:, :, 1].T, NEVER)
    at = np.tile(np.arange(90)[:, None], (1, len(redraws)))
    few = [holds(Stretches(starts[k : k + 5], ends[k : k + 5]), at) for k in range(0, 50, 5)]
    np.testing.assert_array_equal(holds(Stretches(starts, ends), at), np.any(few, axis=0))
