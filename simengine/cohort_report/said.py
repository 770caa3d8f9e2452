"""Figures with their intervals in the words that the report uses throughout.

Rules of this file:

- No share, mean, time or change stands without its interval and the number that it rests on.
- What rests on fewer than five is called few and is not told as a percentage.
- A change of a share is in percentage points, so that nobody takes it for a share of a share.
"""

from __future__ import annotations

from datetime import date

from simengine.cohort.cusum import UnitDrift
from simengine.cohort.items import Correlation
from simengine.cohort.shares import Mean, Share
from simengine.cohort.slope import Slope
from simengine.cohort.survival import Curve, LogRank
from simengine.quantities.wording import count, figure, percent, percent_span

INTERVAL = "95 % interval "


def of(share: Share | None, few: bool = True) -> str:
    """Tell a share: ``12 of 30 (40 %, 95 % interval 25 to 58 %)``."""
    if share is None:
        return "none"
    if share.few and few:
        return f"{share.count} of {share.of} (too few for a percentage)"
    return (
        f"{share.count} of {share.of} ({percent(share.share)}, 95 % interval "
        f"{percent_span(share.low, share.high)})"
    )


def mean(one: Mean | None, words: str = INTERVAL) -> str:
    """Tell a mean share: ``71 % (95 % interval 66 to 76 %)``; few are called few.

    ``words``: empty in a table whose heading says what stands in brackets.
    """
    if one is None:
        return "–"
    if one.few or one.low is None or one.high is None:
        return f"too few to tell ({count(one.n, 'session')})"
    return f"{percent(one.mean)} ({words}{percent_span(one.low, one.high)})"


def points(one: Slope, each: str) -> str:
    """Tell a change: ``4.9 percentage points a quarter (95 % interval 3.9 to 5.9)``."""
    low, high = (figure(100 * end, 1, sign=True) for end in (one.low, one.high))
    value = figure(100 * one.value, 1, sign=True)
    return f"{value} percentage points {each} (95 % interval {low} to {high})"


def median(curve: Curve | None, words: str = INTERVAL) -> str:
    """Tell a median time: ``64 s (95 % interval 58 to 71 s)``; ``words`` as for ``mean``."""
    if curve is None:
        return "–"
    if curve.few:
        return f"too few to tell ({count(curve.n, 'team')})"
    if curve.median_s is None:
        return "not reached: fewer than half did it"
    low = "–" if curve.median_low_s is None else f"{curve.median_low_s:.0f}"
    if curve.median_high_s is None:
        return f"{curve.median_s:.0f} s ({words}{low} s to not reached)"
    return f"{curve.median_s:.0f} s ({words}{low} to {curve.median_high_s:.0f} s)"


def test(one: LogRank | None) -> str:
    """Tell a log-rank test."""
    if one is None:
        return "no log-rank test could be made"
    return f"log-rank chi-square {one.chi_square:.1f} on 1 degree of freedom, {p_value(one.p)}"


def p_value(p: float) -> str:
    """Tell a p-value: ``p = 0.03``, ``p < 0.001``."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def correlation(one: Correlation | None) -> str:
    """Tell a correlation from −1 to 1 with its interval."""
    if one is None:
        return "does not vary"
    value = figure(one.value, 2)
    if one.low is None or one.high is None:
        return f"{value} (no interval)"
    low, high = (figure(end, 2) for end in (one.low, one.high))
    return f"{value} ({low} to {high})"


def signalled(found: UnitDrift) -> list[date]:
    """Return the days on which a unit's chart crossed its limit."""
    return [found.watched[place].day for place in found.chart.signals]
