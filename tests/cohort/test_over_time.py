"""Change by the quarter, learning and fading, against statsmodels, scipy and cases by hand."""

from datetime import date, timedelta
from math import log

import numpy as np
import pytest
from scipy.stats import linregress

from simengine.cohort.change import (
    QUARTER_DAYS,
    by_scenario,
    middle_day,
    per_quarter,
)
from simengine.cohort.claims import SURE
from simengine.cohort.decay import MONTH_DAYS, decay, returns
from simengine.cohort.learning import Practised, learning_curve, practised
from simengine.cohort.records import SessionResult
from simengine.cohort.slope import slope
from tests.amount import seeds
from tests.cohort.made import FIRST_DAY, a_reference, item, result


@pytest.mark.parametrize("seed", range(seeds(60)))
def test_a_slope_with_groups_held_fixed_is_that_of_statsmodels(seed: int) -> None:
    """statsmodels 0.14+, formula ols with a column for each group: all figures to 1e-7."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(12, 80))
    group = rng.integers(0, rng.integers(1, 5), n)
    factor = rng.integers(0, 3, n)
    x, other = rng.normal(size=(2, n))
    y = 0.4 * x + group + factor - 0.3 * other + rng.normal(size=n)
    with a_reference():
        import pandas as pd
        from statsmodels.formula.api import ols

        frame = pd.DataFrame({"y": y, "x": x, "o": other, "g": group, "f": factor})
        fit = ols("y ~ x + o + C(g) + C(f)", frame).fit()
    trend = slope(y, x, within=group.tolist(), factor=factor.tolist(), also=[other])
    assert trend is not None
    assert trend.df == fit.df_resid
    expected = (fit.params["x"], fit.bse["x"], *fit.conf_int().loc["x"], fit.pvalues["x"])
    assert (trend.value, trend.se, trend.low, trend.high, trend.p) == pytest.approx(
        expected, abs=1e-7
    )


def test_a_slope_alone_is_that_of_a_simple_regression() -> None:
    rng = np.random.default_rng(1)
    x, y = rng.normal(size=(2, 30))
    expected = linregress(x, y)
    fit = slope(y, x)
    assert fit is not None
    assert (fit.value, fit.se, fit.p) == pytest.approx(
        (expected.slope, expected.stderr, expected.pvalue)
    )


def test_a_slope_that_the_data_can_t_tell_is_none() -> None:
    assert slope([1.0, 2.0], [1.0, 2.0]) is None
    assert slope([1.0, 2.0, 3.0], [5.0, 5.0, 5.0]) is None
    assert slope([1.0, 2.0, 3.0, 4.0], [1.0, 1.0, 2.0, 2.0], within=[1, 1, 2, 2]) is None


def year(slope_per_quarter: float, noise: float = 0.02, n: int = 40) -> list[SessionResult]:
    """A year in two scenarios, the easy one ever more often."""
    rng = np.random.default_rng(3)
    out = []
    for number in range(n):
        day = FIRST_DAY + timedelta(days=9 * number)
        easy = rng.random() < number / n
        total = (0.7 if easy else 0.4) + slope_per_quarter * 9 * number / QUARTER_DAYS
        out.append(
            result(
                number,
                day=day,
                scenario="easy" if easy else "hard",
                total=total + noise * rng.normal(),
            )
        )
    return out


def test_easier_scenarios_are_not_taken_for_a_better_unit() -> None:
    sessions = year(0.0)
    plain = slope(
        [session.total or 0.0 for session in sessions],
        [(session.day - FIRST_DAY).days for session in sessions],
    )
    assert plain is not None
    assert plain.low > 0.0  # it looks better
    change = per_quarter(sessions)
    assert change.verdict == "could be either"
    assert (change.n, change.scenarios, change.since) == (40, 2, FIRST_DAY)


def test_neither_are_a_better_unit_that_trains_more_nor_easier_assessments() -> None:
    rng = np.random.default_rng(4)
    for held in ("unit", "purpose"):
        sessions = []
        for number in range(60):
            later = rng.random() < number / 60
            kind = {"unit": "AB"[later], "purpose": ("formative", "summative")[later]}[held]
            total = 0.5 + 0.2 * later + 0.02 * rng.normal()
            day = FIRST_DAY + timedelta(days=6 * number)
            sessions.append(result(number, day=day, total=total, **{held: kind}))
        assert per_quarter(sessions).verdict == "could be either", held


@pytest.mark.parametrize(("rate", "verdict"), [(0.03, "getting better"), (-0.03, "getting worse")])
def test_a_unit_that_changes_is_seen_to_and_by_how_much(rate: float, verdict: str) -> None:
    change = per_quarter(year(rate))
    assert change.verdict == verdict
    assert change.slope is not None
    assert change.slope.confidence == SURE
    assert change.slope.low < rate < change.slope.high


def test_nothing_is_said_before_scenarios_are_held_again_a_quarter_later() -> None:
    too_few = per_quarter(year(0.05)[:9])
    assert (too_few.verdict, too_few.slope) == ("too few to tell", None)
    none = per_quarter([])
    assert (none.verdict, none.n, none.slope, none.since) == ("too few to tell", 0, None, None)
    over_new_year = [
        result(n, day=date(2025, 12, 20) + timedelta(days=n), total=0.3 + 0.02 * n)
        for n in range(30)
    ]  # in two quarters of the calendar, and ten points better each five days
    assert per_quarter(over_new_year).verdict == "too few to tell"
    each_once = [
        result(n, day=FIRST_DAY + timedelta(days=20 * n), scenario=f"s{n}", total=0.3 + 0.02 * n)
        for n in range(20)
    ]
    assert per_quarter(each_once).again == 0
    elsewhere = [
        result(n, day=FIRST_DAY + timedelta(days=10 * n), unit=f"u{n // 8}", total=0.5)
        for n in range(24)
    ]  # each unit within eighty days
    assert per_quarter(elsewhere).verdict == "too few to tell"


def test_nothing_is_told_beyond_what_the_scale_holds() -> None:
    rng = np.random.default_rng(2)
    sessions = [
        result(n, day=FIRST_DAY + timedelta(days=100 * (n % 2)), total=float(n % 2 == 1))
        for n in range(12)
    ]
    sessions += [
        result(n, day=FIRST_DAY + timedelta(days=100 * (n % 2)), total=float(rng.random()))
        for n in range(12, 16)
    ]
    change = per_quarter(sessions)
    assert change.slope is not None
    quarters = 100 / QUARTER_DAYS
    mean = sum(session.total or 0.0 for session in sessions) / len(sessions)
    for end in (change.slope.low, change.slope.value, change.slope.high):
        assert -1e-9 <= mean - end * quarters / 2 <= 1 + 1e-9
        assert -1e-9 <= mean + end * quarters / 2 <= 1 + 1e-9


def test_sessions_that_share_a_day_count_as_that_day() -> None:
    """Three sessions a day that all share its luck are one day's: scipy on the days' means."""
    rng = np.random.default_rng(6)
    days = [FIRST_DAY + timedelta(days=20 * number) for number in range(12)]
    luck = 0.5 + 0.1 * rng.normal(size=12)
    sessions = [
        result(3 * place + each, day=day, total=float(luck[place]) + 0.001 * (each - 1))
        for place, day in enumerate(days)
        for each in range(3)
    ]
    change = per_quarter(sessions)
    quarters = [(day - FIRST_DAY).days / QUARTER_DAYS for day in days]
    expected = linregress(quarters, luck)
    assert change.slope is not None
    assert (change.slope.value, change.slope.se, change.slope.p) == pytest.approx(
        (expected.slope, expected.stderr, expected.pvalue), rel=1e-6
    )
    assert change.slope.df == pytest.approx(10)


def test_scenarios_have_their_means_the_hardest_first() -> None:
    hard, easy = by_scenario(year(0.0))
    assert (hard.scenario, easy.scenario) == ("hard", "easy")
    assert hard.total.mean == pytest.approx(0.4, abs=0.02)
    assert hard.total.n + easy.total.n == 40


def test_the_middle_day_parts_sessions_in_two_halves() -> None:
    assert middle_day([result(n, total=0.5) for n in range(4)]) == date(2026, 1, 7)
    assert middle_day([]) is None


def tried(
    person: str, attempt: int, time_s: float | None, day: int = 0, scenario: str = "term"
) -> Practised:
    """An assessed attempt, on a day of its own unless told."""
    held = FIRST_DAY + timedelta(days=day)
    return Practised(person, scenario, attempt, time_s, held, "summative")


def test_an_80_per_cent_curve_is_found_again() -> None:
    """100, 80 and 64 at 1, 2 and 4: b = log2(1 / 0.8) = .32193 (Wright 1936)."""
    attempts = [
        tried(person, attempt, scale * time_s)
        for person, scale in (("ann", 1.0), ("ben", 2.0))
        for attempt, time_s in ((1, 100.0), (2, 80.0), (4, 64.0))
    ]
    curve = learning_curve(attempts)
    assert curve is not None
    assert round(curve.b, 5) == 0.32193
    assert curve.rate == pytest.approx(0.8)
    assert (curve.low, curve.high) == pytest.approx((curve.b, curve.b))
    assert curve.first_s == pytest.approx(100 * 2**0.5)  # the geometric mean of 100 and 200
    assert curve.time_s(4) == pytest.approx(64 * 2**0.5)
    assert (curve.n, curve.people, curve.never, curve.few) == (6, 2, 0, True)


def test_people_who_came_once_and_steps_never_done_are_told_and_left_out() -> None:
    attempts = [
        tried("once", 1, 500.0),
        tried("ann", 1, 100.0),
        tried("ann", 2, None),
        tried("ann", 3, 0.0),
        *(tried("ann", n, 100.0 * n**-0.5) for n in (4, 5, 6)),
    ]
    curve = learning_curve(attempts)
    assert curve is not None
    assert curve.b == pytest.approx(0.5)
    assert (curve.n, curve.people, curve.never, curve.at_once) == (4, 1, 1, 1)
    assert learning_curve(attempts[:1]) is None
    assert learning_curve([]) is None


def test_a_persons_attempts_are_numbered_in_order_of_time() -> None:
    sessions = [
        result(2, item(time_s=30.0, person="ann"), scenario="preterm"),
        result(0, item(time_s=60.0, person="ann")),
        result(1, item(credit=0.0, person="ann")),
        result(3, item(time_s=10.0, person=None)),  # nobody's own
    ]
    assert practised(sessions, "ventilate") == (
        tried("ann", 1, 60.0, day=0),
        tried("ann", 2, None, day=1),
        tried("ann", 3, 30.0, day=2, scenario="preterm"),
    )


def test_skills_that_fade_are_seen_to() -> None:
    rng = np.random.default_rng(5)
    sessions = []
    number = 0
    for person in range(20):
        day = FIRST_DAY
        for seen in range(1, 7):
            gap = int(rng.integers(20, 500))
            day += timedelta(days=gap)
            share = 0.8 - 0.01 * gap / MONTH_DAYS + 0.05 * log(seen) + 0.01 * rng.normal()
            who = f"p{person}"
            sessions.append(
                result(number, item(credit=share, person=who), day=day, team={"airway": (who,)})
            )
            number += 1
    fading = decay(returns(sessions))
    assert (fading.n, fading.people, fading.few) == (100, 20, False)
    assert fading.per_month is not None
    assert fading.per_month.low < -0.01 < fading.per_month.high < 0.0
    means = [band.share.mean for band in fading.bands if band.share]
    assert means == sorted(means, reverse=True)
    assert sum(band.share.n for band in fading.bands if band.share) == 100


def test_a_return_is_counted_from_the_last_session_in_any_role() -> None:
    team = {"airway": ("ann",), "leader": ("ben", "ann")}
    sessions = [
        result(0, item(credit=1.0, person="ann"), team=team),
        result(31, item(credit=None, person="ann"), team=team),
        result(61, item(credit=0.5, person="ann"), team=team),
    ]
    (back,) = returns(sessions)
    assert (back.person, back.number, back.share) == ("ann", 3, 0.5)
    assert back.months == pytest.approx(30 / MONTH_DAYS)
    empty = decay(())
    assert (empty.per_month, empty.n) == (None, 0)
    assert [band.share for band in empty.bands] == [None] * 4
