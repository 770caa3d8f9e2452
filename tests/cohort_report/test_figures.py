"""What the report works out itself, against examples worked by hand; and its drawings."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import combinations

import pytest
from scipy.stats import norm
from scipy.stats import t as student

from simengine.cohort.records import ItemResult, SessionResult
from simengine.cohort_report.better import quarters
from simengine.cohort_report.picture.scale import Scale, ticks_to
from simengine.cohort_report.proof import evidence_of
from simengine.cohort_report.weak import perhaps_weakest, steps
from simengine.report.drawing import svg
from tests.cohort_report.whole import KINDS, made, material, pictures
from tests.report.text_boxes import text_boxes


def session(
    number: int, scenario: str, day: date, total: float, items: tuple[ItemResult, ...] = ()
) -> SessionResult:
    return SessionResult(
        session=f"s{number}",
        day=day,
        wall=f"{day.isoformat()}T09:00:00.000Z",
        unit="North",
        scenario=scenario,
        scenario_title=scenario.title(),
        scenario_digest="d",
        protocol="p",
        protocol_digest="d",
        program="0",
        purpose="formative",
        confirmed=True,
        closed="finished",
        duration_s=600.0,
        total=total,
        interval=None,
        outcome=None,
        standard=None,
        team={"leader": (f"p{number}",)},
        by=("f",),
        items=items,
    )


def item(name: str, verdict: str, *, applied: bool = True) -> ItemResult:
    return ItemResult(
        id=name,
        title=name.title(),
        kind="expect",
        importance="important",
        weight=1.0,
        applied=applied,
        credit=1.0 if verdict == "on time" else 0.0,
        verdict=verdict,
        objective=None,
        phase=None,
        role=None,
        person=None,
        with_cue=False,
        time_s=10.0 if verdict == "on time" else None,
        watched_s=100.0,
        limit_s=60.0,
    )


def test_quarters_are_compared_at_the_same_difficulty() -> None:
    # Worked by hand. Easy: 80 and 90 %, mean 85. Hard: 40 and 50 %, mean 45. All: 65. Each quarter
    # has one of each, yet of different scenarios; moved: 80 - 85 + 65 = 60 and 50 - 45 + 65 = 70.
    by_quarter = quarters(
        [
            session(1, "easy", date(2025, 1, 10), 0.8),
            session(2, "hard", date(2025, 2, 10), 0.4),
            session(3, "easy", date(2025, 4, 10), 0.9),
            session(4, "hard", date(2025, 6, 30), 0.5),
        ]
    )
    assert [quarter.label for quarter in by_quarter] == ["Q1 25", "Q2 25"]
    assert by_quarter[0].total.mean == pytest.approx((0.6 + 0.6) / 2)
    assert by_quarter[1].total.mean == pytest.approx((0.7 + 0.7) / 2)


def test_steps_are_told_by_how_seldom_they_were_in_time() -> None:
    # 12 sessions: "dry" in time in 9, "wrap" in 3; what was not reached is not counted.
    sessions = [
        session(
            number,
            "one",
            date(2025, 1, 1 + number),
            0.5,
            (
                item("dry", "on time" if number < 9 else "missed"),
                item("wrap", "on time" if number < 3 else "late"),
                item("never", "not reached", applied=False),
            ),
        )
        for number in range(12)
    ]
    first, second = steps(sessions)
    assert (first.id, first.done.count, first.done.of) == ("wrap", 3, 12)
    assert (second.id, second.done.count, second.done.of) == ("dry", 9, 12)
    # two steps share 2.5 %; twelve sessions of different people on different days are worth as many
    # as give Student's interval with the normal's factor; Wilson's interval by statsmodels 0.14+
    from statsmodels.stats.proportion import proportion_confint

    worth = 12 * (norm.ppf(1 - 0.00625) / student.ppf(1 - 0.00625, 11)) ** 2
    expected = proportion_confint(worth / 4, worth, alpha=0.0125, method="wilson")
    assert (first.done.low, first.done.high) == pytest.approx(expected, abs=1e-9)
    assert steps(sessions[:9]) == ()


def test_a_step_is_called_the_weakest_only_where_its_interval_is_below_all_others() -> None:
    def told(dry: int) -> list[str]:
        sessions = [
            session(
                number,
                "one",
                date(2025, 1, 1) + timedelta(days=number),
                0.5,
                (
                    item("dry", "on time" if number < dry else "missed"),
                    item("wrap", "on time" if number < 3 else "late"),
                ),
            )
            for number in range(40)
        ]
        return [step.id for step in perhaps_weakest(steps(sessions))]

    assert told(dry=30) == ["wrap"]
    assert told(dry=12) == ["wrap", "dry"]


def test_the_numbers_behind_proof_are_each_a_part_of_the_one_before() -> None:
    whole = material("whole")
    evidence = evidence_of(whole)
    assert evidence.held == 300
    assert (
        evidence.held
        > evidence.counted
        > evidence.confirmed
        > evidence.assessed
        >= evidence.signed
        > 0
    )
    assert evidence.counted == sum(held.purpose != "rehearsal" for held in whole.once)


def test_two_observers_logs_count_once() -> None:
    whole = material("whole")
    assert len(whole.results) > len(whole.once) == 300


@pytest.mark.parametrize(
    ("most", "ticks"),
    [
        (0.0, (0.0, 1.0)),
        (1.0, (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)),
        (97.0, (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)),
        (301.0, (0.0, 100.0, 200.0, 300.0, 400.0)),
    ],
)
def test_ticks_are_round_and_reach_the_largest_value(most: float, ticks: tuple[float, ...]) -> None:
    assert ticks_to(most) == pytest.approx(ticks)


def test_a_value_beyond_the_scale_is_drawn_at_its_end() -> None:
    scale = Scale(0.0, 10.0, 100.0, 200.0)
    assert (scale(-5.0), scale(5.0), scale(99.0)) == (100.0, 150.0, 200.0)


@pytest.mark.parametrize("kind", KINDS)
def test_no_words_of_a_figure_overlap_or_leave_the_paper(kind: str) -> None:
    for name, figure in made(kind)[1].items():
        width, height = figure.get_size_inches() * 72
        boxes = text_boxes(figure)
        for text, (left, bottom, right, top) in boxes:
            inside = (
                left >= -0.5 and bottom >= -1.0 and right <= width + 0.5 and top <= height + 0.5
            )
            assert inside, (name, text)
        for (words, a), (other, b) in combinations(boxes, 2):
            apart = (
                a[2] <= b[0] + 0.6 or b[2] <= a[0] + 0.6 or a[3] <= b[1] + 0.9 or b[3] <= a[1] + 0.9
            )
            assert apart, (name, words, other)


def test_figures_repeat_byte_for_byte_and_are_small() -> None:
    drawn = pictures("whole")
    for name, figure in made("whole")[1].items():
        assert svg(figure) == drawn[name]
    assert sum(map(len, drawn.values())) < 900_000


def test_figures_can_be_read_without_colour() -> None:
    # parts of bars have a hatch or none, and curves a dash or none, beside their words
    bars = pictures("whole")["standing"].decode()
    assert len(set(re.findall(r"url\(#(h[0-9a-f]+)\)", bars))) >= 2
    curves = pictures("whole")["times-1"].decode()
    assert "stroke-dasharray" in curves
