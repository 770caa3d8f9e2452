"""Figures with their intervals in the words that the report uses throughout.

Rules of this file:

- No share, mean, time or change stands without its interval and the number that it rests on.
- An interval by which something is claimed is 97.5 % (``cohort.claims``), and says so.
- What rests on fewer than five is called few and is not told as a percentage.
- A change of a share is in percentage points, so that nobody takes it for a share of a share.
"""

from __future__ import annotations

from datetime import date

from simengine.cohort.claims import SURE
from simengine.cohort.drift import UnitDrift
from simengine.cohort.items import Correlation
from simengine.cohort.shares import Mean, Share
from simengine.cohort.slope import Slope
from simengine.cohort.survival import Curve
from simengine.cohort_report.cohort_sentences import say
from simengine.quantities.formatting import count, figure, format_duration, percent, percent_span

INTERVAL = say("interval_words")
SURE_WORDS = f"{100 * SURE:g} %"


def of(share: Share | None, few: bool = True, words: str = INTERVAL) -> str:
    """Tell a share: ``12 of 30 (40 %, 95 % interval 25 to 58 %)``; ``words``: of the interval."""
    if share is None:
        return "none"
    if share.few and few:
        return say("of_too_few_for", count=share.count, of=share.of)
    return say(
        "of_interval",
        count=share.count,
        of=share.of,
        share=percent(share.share),
        words=words,
        interval=percent_span(share.low, share.high),
    )


def mean(one: Mean | None, words: str = INTERVAL) -> str:
    """Tell a mean share: ``71 % (95 % interval 66 to 76 %)``; few are called few.

    ``words``: empty in a table whose heading says what stands in brackets.
    """
    if one is None:
        return "–"
    if one.few or one.low is None or one.high is None:
        return say("mean_too_few_tell", sessions=count(one.n, "session"))
    return f"{percent(one.mean)} ({words}{percent_span(one.low, one.high)})"


def points(one: Slope, each: str) -> str:
    """Tell a change: ``+4.9 percentage points a quarter (97.5 % interval +3.9 to +5.9)``."""
    low, high = (figure(100 * end, 1, sign=True) for end in (one.low, one.high))
    value = figure(100 * one.value, 1, sign=True)
    return say(
        "points_percentage_points_interval",
        value=value,
        each=each,
        sure=SURE_WORDS,
        low=low,
        high=high,
    )


def median(curve: Curve | None) -> str:
    """Tell a median time beside an axis in seconds: ``64 s (95 % interval 58 to 71 s)``."""
    if curve is None:
        return "–"
    if curve.few:
        return say("median_too_few_tell", teams=count(curve.n, "team"))
    if curve.median_s is None:
        return say("median_not_reached_fewer")
    low = "–" if curve.median_low_s is None else f"{curve.median_low_s:.0f}"
    if curve.median_high_s is None:
        return say("median_s_s_not", median_s=f"{curve.median_s:.0f}", words=INTERVAL, low=low)
    return say(
        "median_s_s",
        median_s=f"{curve.median_s:.0f}",
        words=INTERVAL,
        low=low,
        median_high_s=f"{curve.median_high_s:.0f}",
    )


def median_in_a_table(curve: Curve | None) -> str:
    """Tell a median time: ``6 min 16 s (3 min 54 s to 10 min 19 s)``."""
    if curve is None or curve.few or curve.median_s is None:
        return median(curve)
    low, high = curve.median_low_s, curve.median_high_s
    return say(
        "median_in_a_table",
        median=_span(curve.median_s),
        low="–" if low is None else _span(low),
        high=say("median_not_reached") if high is None else _span(high),
    )


def _span(seconds: float) -> str:
    return format_duration(round(seconds) * 1000)


def p_value(p: float) -> str:
    """Tell a p-value: ``p = 0.03``, ``p < 0.001``."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def correlation(one: Correlation | None) -> str:
    """Tell a correlation from −1 to 1 with its interval."""
    if one is None:
        return say("correlation_does_not_vary")
    value = figure(one.value, 2)
    if one.low is None or one.high is None:
        return say("correlation_no_interval", value=value)
    low, high = (figure(end, 2) for end in (one.low, one.high))
    return say("correlation_to", value=value, low=low, high=high)


def signalled(found: UnitDrift) -> list[date]:
    """Return the days on which a unit's chart crossed its limit."""
    return [found.watched[place].day for place in found.signals]
