"""Whatever the sessions were, every figure is told or is ``None``: nothing crashes."""

from datetime import date, timedelta

from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from simengine.cohort import (
    change,
    competence,
    decay,
    drift,
    equipment_faults,
    evidence,
    items,
    learning,
    observer_agreement,
    reliability,
    survival,
)
from simengine.cohort.records import FaultResult, ItemResult, SessionResult
from tests.amount import examples
from tests.cohort.made import fault, item, result

SHARES = st.sampled_from([None, 0.0, 0.25, 0.5, 1.0])
PEOPLE = st.sampled_from([None, "ann", "ben"])


@st.composite
def an_item(draw: st.DrawFn, name: str) -> ItemResult:
    credit = draw(SHARES)
    watched = draw(st.sampled_from([None, 0.0, 120.0]))
    return item(
        name,
        credit,
        person=draw(PEOPLE),
        kind=draw(st.sampled_from(["expect", "keep", "avoid"])),
        weight=draw(st.sampled_from([0.0, 1.0, 3.0])),
        time_s=draw(st.sampled_from([None, -5.0, 0.0, 30.0, 120.0])),
        watched_s=watched,
        with_cue=draw(st.booleans()),
        stops_pass=draw(st.booleans()),
    )


@st.composite
def a_fault(draw: st.DrawFn) -> FaultResult:
    found_s = draw(st.sampled_from([None, 0.0, 60.0]))
    return fault(
        found_s=found_s,
        put_right_s=draw(st.sampled_from([None, 60.0])),
        planted=draw(st.booleans()),
        watched_s=draw(st.sampled_from([0.0, 300.0])),
    )


@st.composite
def a_session(draw: st.DrawFn) -> SessionResult:
    names = draw(st.sampled_from([(), ("a",), ("a", "b"), ("a", "b", "c")]))
    return result(
        draw(st.integers(0, 10_000)),
        *(draw(an_item(name)) for name in names),
        day=date(2026, 1, 1) + timedelta(days=draw(st.integers(0, 900))),
        scenario=draw(st.sampled_from(["term", "preterm"])),
        purpose=draw(st.sampled_from(["formative", "summative", "rehearsal"])),
        closed=draw(st.sampled_from(["finished", "stopped early", "safety stop", None])),
        standard=draw(st.sampled_from([None, 0.75])),
        confirmed=draw(st.booleans()),
        team=draw(
            st.sampled_from([{}, {"airway": ("ann",)}, {"airway": ("ann", "ben"), "lead": ()}])
        ),
        by=draw(st.sampled_from([(), ("one",), ("two",)])),
        faults=tuple(draw(st.lists(a_fault(), max_size=2))),
    )


def in_order(low: float | None, value: float, high: float | None) -> bool:
    return (low is None or low <= value + 1e-9) and (high is None or value <= high + 1e-9)


@examples(150, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(a_session(), max_size=14))
def test_every_figure_is_told_or_none(sessions: list[SessionResult]) -> None:
    learning_ones = evidence.each_once(evidence.for_learning(sessions))
    totals = evidence.each_once(evidence.for_totals(sessions))

    for competent in competence.competence(sessions).values():
        assert competent.words()
        assert (competent.chance is not None) == (competent.status == "told")
        if competent.chance is not None:
            assert in_order(competent.chance.low, competent.chance.mean, competent.chance.high)

    changed = change.per_quarter(totals)
    assert changed.n == len(totals)
    if changed.slope is not None:
        assert in_order(changed.slope.low, changed.slope.value, changed.slope.high)
    assert sum(mean.total.n for mean in change.by_scenario(totals)) == len(totals)
    assert (change.middle_day(totals) is None) == (not totals)

    for scenario in {learnt.scenario for learnt in learning_ones}:
        those = [learnt for learnt in learning_ones if learnt.scenario == scenario]
        for statistics in items.item_statistics(those):
            credit, telling = statistics.credit, statistics.discrimination
            assert (credit is None) == (statistics.n == 0)
            if credit is not None:
                assert in_order(credit.low, credit.mean, credit.high)
            if telling is not None:
                assert in_order(telling.low, telling.value, telling.high)
            times = survival.curve(survival.timed(those, statistics.id))
            if times is not None:
                shares = [point.not_yet for point in times.points]
                assert shares == sorted(shares, reverse=True)
                assert times.n == times.done + times.never
        for pair in items.fail_together(those, least=1):
            assert -1.0 - 1e-9 <= pair.phi <= 1.0 + 1e-9
            assert pair.p <= pair.q + 1e-12 <= 1.0 + 1e-9
        whole = reliability.guide_reliability(those)
        if whole.reliability is not None:
            alpha = whole.reliability
            assert in_order(alpha.low, alpha.alpha, alpha.high)
            assert alpha.sessions + whole.sessions_left_out == len(those)

    for name in ("a", "b"):
        curve = learning.learning_curve(learning.practised(learning_ones, name))
        assert curve is None or in_order(curve.rate_low, curve.rate, curve.rate_high)
    faded = decay.decay(decay.returns(learning_ones))
    assert sum(band.share.n for band in faded.bands if band.share) == faded.n
    charts = drift.units_drift({"all": drift.sessions_tried(totals)}, reference=3)
    assert all(len(chart.values) == len(chart.watched) for chart in charts.values())
    equipment_faults.planted_faults(learning_ones)
    equipment_faults.real_faults(learning_ones)
    observers = observer_agreement.observers_agree(evidence.doubles(sessions))
    assert observers.sessions >= 0
