"""Is it getting better? The third answer, the drift of each unit, and the scenarios' own levels.

Rules of this file:

- Totals are compared with scenario, unit and purpose held fixed: the quarters' means in the figure
  are moved by how far these are from the whole. Their intervals hold all at once.
- A unit's drift is told by a cumulative sum with its sign, rates and limit in words. A session
  counts as below standard where its total is below the pass total of its scenario's standard.
- Better, worse or adrift is said by ``cohort.claims`` alone; else it could be either.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort.change import LEAST, Kind, by_scenario, kind_of, per_quarter
from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.drift import REFERENCE, WATCHED, UnitDrift, sessions_tried, units_drift
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import Mean, mean_share, together
from simengine.cohort.too_few import is_too_few
from simengine.cohort_report.cohort_page import Answer, Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.figure_words import mean, points, signalled
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.columns import Column, draw_columns
from simengine.cohort_report.picture.drift import Drift, draw_drift
from simengine.cohort_report.picture.rows import Row, draw_rows
from simengine.cohort_report.picture.scale import HALF
from simengine.quantities.formatting import count, day, listed, percent, short_day
from simengine.report.blocks import Picture

QUESTION = say("question_better")
_SHARES = (0.0, 25.0, 50.0, 75.0, 100.0)


@dataclass(frozen=True, slots=True)
class Quarter:
    """A quarter's mean total, moved to scenarios of the usual difficulty."""

    label: str
    total: Mean


def quarters(results: Sequence[SessionResult]) -> tuple[Quarter, ...]:
    """Return the quarters of the calendar that have sessions, in order."""
    totals = [(result, result.total) for result in results if result.total is not None]
    if not totals:
        return ()
    whole = sum(total for _, total in totals) / len(totals)
    of_kind: dict[Kind, list[float]] = {}
    for session, total in totals:
        of_kind.setdefault(kind_of(session), []).append(total)
    level = {kind: sum(some) / len(some) for kind, some in of_kind.items()}
    by_quarter: dict[tuple[int, int], list[tuple[SessionResult, float]]] = {}
    for session, total in totals:
        key = (session.day.year, (session.day.month + 2) // 3)
        by_quarter.setdefault(key, []).append((session, total - level[kind_of(session)] + whole))
    sure = together(len(by_quarter))
    out = []
    for (year, quarter), some in sorted(by_quarter.items()):
        values = [value for _, value in some]
        worth = Clusters(shares_of(session) for session, _ in some).worth(values, sure)
        share = mean_share(values, sure, worth)
        assert share is not None
        out.append(Quarter(f"Q{quarter} {year % 100:02d}", share))
    return tuple(out)


def drifts(material: Material) -> dict[str, UnitDrift]:
    """Return the chart of each unit with enough sessions under a standard."""
    return units_drift(
        {
            unit: sessions_tried([total for total in material.totals if total.unit == unit])
            for unit in material.told_units
        }
    )


def getting_better(
    material: Material, charts: Mapping[str, UnitDrift]
) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure; ``charts``: the units' drift (``drifts``)."""
    change = per_quarter(material.totals)
    sentences = []
    if change.slope is None:
        headline = say(
            "getting_better_too_few_tell", sessions=count(change.again, "session"), least=LEAST
        )
    else:
        headline = say(
            {
                "getting better": "getting_better_yes",
                "getting worse": "getting_better_no",
            }.get(change.verdict, "getting_better_open"),
            said=points(change.slope, say("a_quarter")),
        )
        sentences.append(
            say(
                "getting_better_rests_on",
                sessions=count(change.again, "session"),
                scenarios=count(change.scenarios, "scenario"),
            )
        )
    sentences += _drift_words(charts)
    shown = quarters(material.totals)
    if not shown or change.n < 2:
        return Answer(QUESTION, headline, tuple(sentences), None), {}
    picture = Picture(
        "quarters",
        say("quarters_title"),
        (),
        say("quarters_alt")
        + "; ".join(
            f"{scenario.label}: {mean(scenario.total)}, n {scenario.total.n}" for scenario in shown
        )
        + ".",
    )
    columns = [Column(scenario.label, *_in_percent(scenario.total)) for scenario in shown]
    figure = draw_columns(
        columns,
        _SHARES,
        say("getting_better_total"),
        say("getting_better_quarter_n_sessions"),
        wide=HALF,
        height=132.0,
    )
    return Answer(QUESTION, headline, tuple(sentences), picture), {"quarters": figure}


def _drift_words(by_unit: Mapping[str, UnitDrift]) -> list[str]:
    if not by_unit:
        return []
    out = []
    crossed = {unit: days for unit, watched in by_unit.items() if (days := signalled(watched))}
    for unit, days in crossed.items():
        out.append(say("drift_words_but_drifts_its", unit=unit, days=day(days[0])))
    quiet = [unit for unit in by_unit if unit not in crossed]
    if quiet:
        seldom = all(by_unit[unit].detects < 0.5 for unit in quiet)
        key = "drift_words_seldom_seen" if seldom else "drift_words_no_drift_seen"
        out.append(say(key, list=listed(quiet)))
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
            watched.values,
            watched.signals,
            watched.limit,
            short_day(watched.watched[0].day),
            short_day(watched.watched[-1].day),
        )
        for unit, watched in found.items()
    ]
    sentences = [
        say("drift_chapter_sessions", unit=unit, watched=len(watched.watched))
        + (
            say(
                "drift_chapter_crosses_its_limit",
                list=listed([day(each) for each in signalled(watched)]),
            )
            if watched.signals
            else say("drift_chapter_stays_below_its")
        )
        for unit, watched in found.items()
    ]
    picture = Picture(
        "drift",
        say("drift_chapter_sessions_below_standard"),
        (say("drift_chapter_each_session_below"),),
        say("drift_chapter_cumulative_sum_sessions", list=". ".join(sentences)),
    )
    lines = [f"{unit}: {watched.words()}" for unit, watched in found.items()]
    left_out = [unit for unit in material.told_units if unit not in found]
    if left_out:
        lines.append(
            say(
                "drift_chapter_fewer_than_sessions",
                reference=REFERENCE + WATCHED,
                list=listed(left_out),
            )
        )
    chapter = Chapter(
        say("drift_chapter_does_unit_drift"),
        (say("drift_chapter_unit_held_against", reference=REFERENCE),),
        pictures=(picture,),
        notes=tuple(lines),
    )
    return chapter, {"drift": draw_drift(charts)}


def scenario_chapter(material: Material) -> tuple[Chapter, dict[str, Figure]] | None:
    """Return the scenarios by how hard they are; ``None`` with fewer than two."""
    scenarios = [
        scenario
        for scenario in by_scenario(material.totals)
        if scenario.scenario in material.scenarios
    ]
    if len(scenarios) < 2:
        return None
    rows = [
        Row(scenario.title, *_in_percent(scenario.total))
        for scenario in scenarios
        if not is_too_few(scenario.total.n)
    ]
    shown = [scenario for scenario in scenarios if not is_too_few(scenario.total.n)]
    few = [scenario.title for scenario in scenarios if is_too_few(scenario.total.n)]
    whole = sum(total.total or 0.0 for total in material.totals) / len(material.totals)
    picture = Picture(
        "scenarios",
        say("scenarios_picture_title"),
        (),
        say("scenarios_picture_alt")
        + "; ".join(
            f"{scenario.title}: {mean(scenario.total)}, n {scenario.total.n}" for scenario in shown
        )
        + say("scenario_chapter_all_together", whole=percent(whole)),
        say("scenario_chapter_dashed_mean_all"),
    )
    notes = [say("scenario_chapter_together", scenarios=count(len(scenarios), "scenario"))]
    if few:
        notes.append(say("scenario_chapter_fewer_than_sessions", list=listed(few)))
    chapter = Chapter(
        say("scenario_chapter_scenarios_differ"),
        (say("scenario_chapter_scenarios_not_equally"),),
        pictures=(picture,) if rows else (),
        notes=tuple(notes),
    )
    figure = draw_rows(
        rows, _SHARES, say("scenario_chapter_mean_total"), beside="sessions", mean=100 * whole
    )
    return chapter, {"scenarios": figure} if rows else {}


def _in_percent(total: Mean) -> tuple[float, float | None, float | None, str]:
    """Return a mean total and its interval as a picture draws them: %, within 0 and 100, and n."""
    low = None if total.low is None else 100 * max(0.0, total.low)
    high = None if total.high is None else 100 * min(1.0, total.high)
    return 100 * total.mean, low, high, f"n {total.n}"
