"""Is it getting better? The third answer, the drift of each unit, and the scenarios' own levels.

Rules of this file:

- Totals are compared with the scenario held fixed: the quarters' means in the figure are moved by
  how hard their scenarios are on the whole.
- A unit's drift is told by a cumulative sum with its sign, rates and limit in words. A session
  counts as below standard where its total is below the pass total of its scenario's standard.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort.change import by_scenario, per_quarter
from simengine.cohort.cusum import REFERENCE, WATCHED, UnitDrift, sessions_tried, unit_drift
from simengine.cohort.evidence import is_few
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import Mean, mean_share
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Answer, Chapter
from simengine.cohort_report.picture.columns import Column, draw_columns
from simengine.cohort_report.picture.drift import Drift, draw_drift
from simengine.cohort_report.picture.rows import Row, draw_rows
from simengine.cohort_report.picture.scale import HALF
from simengine.cohort_report.said import mean, points, signalled
from simengine.quantities.wording import count, day, listed, percent, short_day
from simengine.report.blocks import Picture

QUESTION = "Is it getting better?"
_SHARES = (0.0, 25.0, 50.0, 75.0, 100.0)


@dataclass(frozen=True, slots=True)
class Quarter:
    """A quarter's mean total, moved to scenarios of the usual difficulty."""

    label: str
    total: Mean


def quarters(results: Sequence[SessionResult]) -> tuple[Quarter, ...]:
    """Return the quarters of the calendar that have sessions, in order."""
    totals = [(one, one.total) for one in results if one.total is not None]
    if not totals:
        return ()
    whole = sum(total for _, total in totals) / len(totals)
    level = {one.scenario: one.total.mean for one in by_scenario(results)}
    by_quarter: dict[tuple[int, int], list[float]] = {}
    for one, total in totals:
        key = (one.day.year, (one.day.month + 2) // 3)
        by_quarter.setdefault(key, []).append(total - level[one.scenario] + whole)
    out = []
    for (year, quarter), values in sorted(by_quarter.items()):
        found = mean_share(values)
        assert found is not None
        out.append(Quarter(f"Q{quarter} {year % 100:02d}", found))
    return tuple(out)


def drifts(material: Material) -> dict[str, UnitDrift]:
    """Return the chart of each unit with enough sessions under a standard."""
    out = {}
    for unit in material.told_units:
        tried = sessions_tried([one for one in material.totals if one.unit == unit])
        found = unit_drift(tried)
        if found is not None:
            out[unit] = found
    return out


def getting_better(
    material: Material, charts: Mapping[str, UnitDrift]
) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure; ``charts``: the units' drift (``drifts``)."""
    change = per_quarter(material.totals)
    scenarios = count(change.scenarios, "scenario")
    if change.verdict == "too few to tell":
        headline = (
            f"Too few to tell: {count(change.n, 'session')} whose totals can be compared, and at "
            "least 10 are needed."
        )
    elif change.slope is None:
        headline = "Nobody can tell yet: each scenario was held on one day alone."
    else:
        said = points(change.slope, "a quarter")
        headline = {
            "getting better": f"Yes, on the whole: the mean total changes by {said}.",
            "getting worse": f"No, it is getting worse: the mean total changes by {said}.",
        }.get(change.verdict, f"Nobody can tell: the mean total changes by {said}.")
    sentences = (
        [f"Over {count(change.n, 'session')} of {scenarios}, the scenario held fixed."]
        if change.slope is not None and change.verdict != "too few to tell"
        else []
    )
    sentences += _drift_words(charts)
    shown = quarters(material.totals)
    if not shown or change.n < 2:
        return Answer(QUESTION, headline, tuple(sentences), None), {}
    picture = Picture(
        "quarters",
        "Mean total by quarter",
        (),
        "Mean total by quarter, moved to scenarios of the usual difficulty, with 95 % intervals: "
        + "; ".join(f"{one.label} {mean(one.total)}, n {one.total.n}" for one in shown)
        + ".",
    )
    columns = [
        Column(
            one.label,
            100 * one.total.mean,
            None if one.total.low is None else 100 * max(0.0, one.total.low),
            None if one.total.high is None else 100 * min(1.0, one.total.high),
            f"n {one.total.n}",
        )
        for one in shown
    ]
    figure = draw_columns(
        columns, _SHARES, "total, %", "quarter; n: sessions", wide=HALF, height=132.0
    )
    return Answer(QUESTION, headline, tuple(sentences), picture), {"quarters": figure}


def _drift_words(found: Mapping[str, UnitDrift]) -> list[str]:
    if not found:
        return []
    out = []
    crossed = {unit: days for unit, one in found.items() if (days := signalled(one))}
    for unit, days in crossed.items():
        out.append(
            f"But {unit} drifts: its chart of sessions below standard first crossed the limit on "
            f"{day(days[0])}."
        )
    quiet = [unit for unit in found if unit not in crossed]
    if quiet:
        out.append(f"No drift seen: {listed(quiet)}.")
    return out


def drift_chapter(
    material: Material, found: Mapping[str, UnitDrift]
) -> tuple[Chapter, dict[str, Figure]] | None:
    """Return the charts of the units; ``None`` where none has enough sessions."""
    if not found:
        return None
    charts = [
        Drift(
            unit,
            one.chart.values,
            one.chart.signals,
            one.chart.limit.limit,
            short_day(one.watched[0].day),
            short_day(one.watched[-1].day),
        )
        for unit, one in found.items()
    ]
    said = [
        f"{unit}: {len(one.watched)} sessions, "
        + (
            f"crosses its limit on {listed([day(each) for each in signalled(one)])}"
            if one.chart.signals
            else "stays below its limit"
        )
        for unit, one in found.items()
    ]
    picture = Picture(
        "drift",
        "Sessions below standard, added up",
        (
            "Each session below standard moves the line up, each other one down, never below 0. "
            "The dashed line is the limit; where it is crossed the chart signals and starts again.",
        ),
        f"Cumulative sum of sessions below standard by unit. {'. '.join(said)}.",
    )
    lines = [f"{unit}: {one.chart.words()}" for unit, one in found.items()]
    left_out = [unit for unit in material.told_units if unit not in found]
    if left_out:
        lines.append(f"Fewer than {REFERENCE + WATCHED} sessions, so no chart: {listed(left_out)}.")
    chapter = Chapter(
        "Does a unit drift?",
        (
            f"A unit is held against its own first {REFERENCE} sessions. Acceptable is their share "
            "below standard; unacceptable is where the odds have doubled.",
        ),
        pictures=(picture,),
        notes=tuple(lines),
    )
    return chapter, {"drift": draw_drift(charts)}


def scenario_chapter(material: Material) -> tuple[Chapter, dict[str, Figure]] | None:
    """Return the scenarios by how hard they are; ``None`` with fewer than two."""
    found = [one for one in by_scenario(material.totals) if one.scenario in material.scenarios]
    if len(found) < 2:
        return None
    rows = [
        Row(
            one.title,
            100 * one.total.mean,
            None if one.total.low is None else 100 * max(0.0, one.total.low),
            None if one.total.high is None else 100 * min(1.0, one.total.high),
            f"n {one.total.n}",
        )
        for one in found
        if not is_few(one.total.n)
    ]
    told = [one for one in found if not is_few(one.total.n)]
    few = [one.title for one in found if is_few(one.total.n)]
    whole = sum(one.total or 0.0 for one in material.totals) / len(material.totals)
    picture = Picture(
        "scenarios",
        "Mean total by scenario",
        (),
        "Mean total by scenario with 95 % intervals, the hardest first: "
        + "; ".join(f"{one.title} {mean(one.total)}, n {one.total.n}" for one in told)
        + f". All together {percent(whole)}.",
        "Dashed: the mean of all sessions. n: sessions.",
    )
    notes = (f"Fewer than 5 sessions, so not drawn: {listed(few)}.",) if few else ()
    chapter = Chapter(
        "Scenarios differ",
        (
            "Scenarios are not equally hard, so no figure above compares people or units across "
            "them without holding the scenario fixed. A person who was seen in one scenario has "
            "not been measured: in a published study 52 % of the variance of such scores lay "
            "between persons on scenarios, 17 % between persons (Donoghue 2010).",
        ),
        pictures=(picture,) if rows else (),
        notes=notes,
    )
    figure = draw_rows(rows, _SHARES, "mean total (%)", beside="sessions", mean=100 * whole)
    return chapter, {"scenarios": figure} if rows else {}
