"""Two observers of one session: their logs, and what each log earned."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.cohort.evidence import doubles
from simengine.cohort.measured_twice import intraclass
from simengine.cohort.observer_agreement import observers_agree
from simengine.cohort.records import SessionResult
from simengine.cohort.two_observers import Sighting, compare, compare_logs, sightings
from simengine.resources import scenarios_dir
from simengine.session.fold import fold
from simengine.session.from_file import open_session
from simengine.session.record import Session
from tests.cohort.made import item, result


def steady() -> Session:
    log = scenarios_dir() / "sessions" / "cot-term-steady.session.jsonl"
    return open_session(log).session


def at(*seconds: float, what: str = "action:dry") -> list[Sighting]:
    return [Sighting(at_s, what, "Dry") for at_s in seconds]


def test_the_nearest_times_are_paired_and_the_rest_is_told() -> None:
    compared = compare(at(10, 50, 200), at(12, 47, 49, 400))
    assert [(first.at_s, other.at_s) for first, other in compared.pairs] == [(10, 12), (50, 49)]
    assert [sighting.at_s for sighting in compared.only_one] == [200]
    assert [sighting.at_s for sighting in compared.only_other] == [47, 400]
    assert compared.seen == 2 * 2 / (2 * 2 + 1 + 2)
    assert compared.times is not None
    assert compared.times.bias == pytest.approx((-2 + 1) / 2)


def test_as_many_as_possible_are_paired_before_the_times_are_looked_at() -> None:
    """Nearest first would pair 20 with 22 and leave 0 and 45 alone."""
    compared = compare(at(0, 22), at(20, 45), within_s=25)
    assert [(first.at_s, other.at_s) for first, other in compared.pairs] == [(0, 20), (22, 45)]


def test_other_things_are_never_paired() -> None:
    compared = compare(at(10), at(10, what="setting:oxygen"))
    assert (compared.pairs, compared.seen, compared.times) == ((), 0.0, None)


def test_nothing_seen_by_either_is_not_agreement() -> None:
    assert compare([], []).seen is None


times = st.lists(st.integers(0, 100).map(float), max_size=5)


@given(times, times)
def test_no_other_pairing_has_more_pairs_or_lies_closer(one: list[float], two: list[float]) -> None:
    compared = compare(at(*one), at(*two), within_s=20)
    small, large = sorted((one, two), key=len)
    best = (0, 0.0)
    for order in permutations(large, len(small)):
        apart = [abs(a - b) for a, b in zip(small, order, strict=True) if abs(a - b) <= 20]
        best = min(best, (-len(apart), sum(apart)))
    apart = [abs(a.at_s - b.at_s) for a, b in compared.pairs]
    assert (-len(apart), sum(apart)) == best
    assert len(compared.pairs) + len(compared.only_one) == len(one)
    assert len(compared.pairs) + len(compared.only_other) == len(two)


def test_a_log_agrees_with_itself() -> None:
    session = steady()
    seen = sightings(session)
    compared = compare_logs(session, session)
    assert len(seen) > 20
    assert (compared.seen, len(compared.pairs)) == (1.0, len(seen))
    assert compared.times is not None
    assert (compared.times.bias, compared.times.sd) == (0.0, 0.0)


def test_a_second_observer_who_writes_later_and_misses_some_is_told_so() -> None:
    session = steady()
    acted = [event for event in session.events if event.kind == "action"]
    missed = {event.id for event in acted[::4]}
    later = [
        replace(event, at_ms=event.at_ms + 2000, noted_ms=event.noted_ms + 2000)
        for event in session.events
        if event.id not in missed and event.kind != "state"
    ]
    first = [event for event in session.events if event.kind != "state"]
    first_log, other = fold(session.scenario, first), fold(session.scenario, later)
    compared = compare_logs(first_log, other)
    assert compared.seen is not None
    assert 0.7 < compared.seen < 1.0
    assert len(compared.only_one) >= len(missed)
    assert compared.times is not None
    assert compared.times.bias == pytest.approx(0.0)  # both clocks start with the same call


def two_logs(number: int, *, other_time: float = 33.0) -> tuple[SessionResult, SessionResult]:
    first = result(
        number,
        item("a", 1.0, time_s=30.0),
        item("b", 0.0),
        item("c", 1.0, time_s=60.0 + number),
        item("d", 0.5, verdict="partly", kind="repeat", time_s=None, watched_s=None),
        by=("one",),
    )
    second = replace(
        first,
        session=f"again-{number}",
        by=("two",),
        total=0.6,
        items=(
            item("a", 1.0, time_s=other_time),
            item("b", 0.0),
            item("c", 0.0, time_s=None),
            item("d", 0.5, verdict="partly", kind="repeat", time_s=None, watched_s=None),
        ),
    )
    return first, second


def test_observers_are_compared_on_verdicts_on_what_was_done_and_when() -> None:
    pairs = [two_logs(number, other_time=33.0 + number) for number in range(6)]
    assert doubles([log for pair in pairs for log in pair]) == pairs
    agreement = observers_agree(pairs)
    assert (agreement.sessions, agreement.few) == (6, False)
    assert agreement.same_verdict is not None
    assert (agreement.same_verdict.count, agreement.same_verdict.of) == (18, 24)
    assert agreement.done is not None
    assert agreement.done.n == 18  # a, b and c: a repeated step is not done or not done
    # rows done 12, not 6; columns done 6, not 12: po 2/3, pe 4/9
    assert agreement.done.value == pytest.approx((2 / 3 - 4 / 9) / (1 - 4 / 9))
    assert agreement.times is not None
    assert agreement.times.bias == pytest.approx(-5.5)  # 3 to 8 s later
    assert [compared.id for compared in agreement.items] == ["c", "a", "b", "d"]
    assert agreement.items[0].same.share == 0.0
    assert agreement.totals is not None


def test_the_correlation_of_times_is_that_of_absolute_agreement() -> None:
    rng = np.random.default_rng(2)
    times_s = rng.uniform(20, 200, size=(12, 2))
    pairs = []
    for number, (first_time, other) in enumerate(times_s):
        first, second = two_logs(number)
        pairs.append(
            (
                replace(first, items=(item("a", time_s=float(first_time)),)),
                replace(second, items=(item("a", time_s=float(other)),)),
            )
        )
    icc, expected = observers_agree(pairs).times_icc, intraclass(times_s)
    assert icc is not None
    assert expected is not None
    assert icc == expected["2,1"]


def test_without_a_second_log_nothing_can_be_told() -> None:
    agreement = observers_agree([])
    assert (agreement.sessions, agreement.few) == (0, True)
    assert (
        agreement.verdicts,
        agreement.done,
        agreement.times,
        agreement.totals,
        agreement.same_verdict,
    ) == ((None,) * 5)
