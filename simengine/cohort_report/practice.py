"""Do people learn with practice, and do skills fade without it?"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from simengine.cohort.clusters import Clusters, Shares
from simengine.cohort.decay import BANDS, Band, decay, returns
from simengine.cohort.learning import LearningCurve, Practised, learning_curve, practised
from simengine.cohort.shares import Mean, mean_of, together
from simengine.cohort.too_few import is_too_few
from simengine.cohort_report.cohort_page import Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.figure_words import SURE_WORDS, mean, points
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.columns import Column, draw_columns
from simengine.cohort_report.picture.scale import ticks_to
from simengine.quantities.formatting import count, percent, times
from simengine.report.blocks import Picture

ATTEMPTS = 8
"""Attempts that the figure shows; later ones are few."""


def practice_chapter(material: Material) -> tuple[Chapter, dict[str, Figure]]:
    """Return the learning curve and what people earn after months away."""
    pictures: list[Picture] = []
    figures: dict[str, Figure] = {}
    lead = []
    learnt = _learning(material)
    if learnt is None:
        lead.append(say("practice_too_few_to_learn"))
    else:
        pictures.append(learnt[0])
        figures["learning"] = learnt[1]
    faded = _fading(material)
    if faded is None:
        lead.append(say("practice_too_few_to_fade"))
    else:
        pictures.append(faded[0])
        figures["fading"] = faded[1]
    chapter = Chapter(
        say("practice_chapter_practice"),
        tuple(lead),
        pictures=tuple(pictures),
        notes=(say("practice_chapter_only_persons_own"), say("practice_chapter_not_cause")),
    )
    return chapter, figures


def _learning(material: Material) -> tuple[Picture, Figure] | None:
    """Return the curve of the essential step that most people did more than once."""
    best: tuple[int, str, str, Sequence[Practised], LearningCurve] | None = None
    titles = {
        item.id: item.title
        for session in material.learning
        for item in session.items
        if item.importance == "essential" and item.limit_s is not None
    }
    for name in sorted(titles):
        tried = practised(material.learning, name)
        curve = learning_curve(tried)
        if curve is not None and not curve.few and (best is None or curve.people > best[0]):
            best = (curve.people, name, titles[name], tried, curve)
    if best is None:
        return None
    title, attempts, learning = best[2:]
    means = {number: _mean_time(attempts, number) for number in range(1, ATTEMPTS + 1)}
    shown = {number: mean for number, mean in means.items() if mean is not None and not mean.few}
    ticks = ticks_to(
        max([mean_time.high or mean_time.mean for mean_time in shown.values()], default=60.0)
    )
    columns = [_column(number, mean_time) for number, mean_time in shown.items()]
    sentences = (
        say(
            {
                "down": "learning_falls",
                "up": "learning_rises",
                "either": "learning_either",
            }[learning.direction],
            sure=SURE_WORDS,
            rate=percent(learning.rate),
            rate_low=f"{100 * learning.rate_low:.0f}",
            rate_high=percent(learning.rate_high),
            attempts=count(learning.n, "attempt"),
            people=count(learning.people, "person", "people"),
        ),
        say(
            "learning_left_out_since" if learning.at_once else "learning_left_out_never",
            attempts=count(learning.never, "attempt"),
            at_once=learning.at_once,
        ),
    )
    sentence = "; ".join(
        say("learning_attempt_s_n", number=number, mean=f"{mean_time.mean:.0f}", n=mean_time.n)
        for number, mean_time in shown.items()
    )
    picture = Picture(
        "learning",
        say("learning_time_by_attempt", title=title),
        sentences,
        say(
            "learning_mean_time_by",
            said=sentence,
            first_s=f"{learning.first_s:.0f}",
            time_s=f"{learning.time_s(max(shown, default=1)):.0f}",
        ),
        say("learning_dashed_fitted_curve"),
    )
    figure = draw_columns(
        columns,
        ticks,
        say("learning_time_s"),
        say("learning_attempt_n_people"),
        height=150.0,
        curve=learning.time_s,
    )
    return picture, figure


def _mean_time(attempts: Sequence[Practised], number: int) -> Mean | None:
    """Return the mean time of everybody's attempt of a number; all intervals hold at once."""
    some = [attempt for attempt in attempts if attempt.attempt == number and attempt.time_s]
    times = [attempt.time_s or 0.0 for attempt in some]
    if not times:
        return None
    sure = together(ATTEMPTS)
    clusters = Clusters(
        Shares(attempt.day, (attempt.person,), attempt.scenario) for attempt in some
    )
    return mean_of(times, sure, clusters.worth(times, sure))


def _column(number: int, mean_time: Mean) -> Column:
    low = None if mean_time.low is None else max(0.0, mean_time.low)
    return Column(str(number), mean_time.mean, low, mean_time.high, f"n {mean_time.n}")


def _fading(material: Material) -> tuple[Picture, Figure] | None:
    fading = decay(returns(material.learning))
    shown = [
        band for band in fading.bands if band.share is not None and not is_too_few(band.people)
    ]
    if fading.few or not shown:
        return None
    if fading.per_month is None:
        sentence = say("fading_whether_changes_with")
    else:
        held = say("fading_person_scenario_number")
        verdict = say(
            {"down": "fading_falls", "up": "fading_rises", "either": "fading_either"}[
                fading.per_month.direction
            ]
        )
        sentence = f"{verdict}: {points(fading.per_month, say('fading_month_away'))}, {held}."
    columns = [
        Column(
            _months(band),
            100 * band.share.mean,
            None if band.share.low is None else 100 * max(0.0, band.share.low),
            None if band.share.high is None else 100 * min(1.0, band.share.high),
            f"n {band.share.n}",
        )
        for band in shown
        if band.share is not None
    ]
    shares = "; ".join(f"{_months(band)}: {mean(band.share)}" for band in shown)
    left_out = [_months(band) for band in fading.bands if band not in shown]
    picture = Picture(
        "fading",
        say("fading_title"),
        (
            say(
                "fading_of",
                returns=times(fading.n),
                people=count(fading.people, "person", "people"),
                sentence=sentence,
            ),
        ),
        say("fading_mean_credit_persons", said=shares),
        say("fading_n_returns_means")
        + (say("fading_fewer_than_people", list=", ".join(left_out)) if left_out else ""),
    )
    figure = draw_columns(
        columns,
        (0.0, 25.0, 50.0, 75.0, 100.0),
        say("fading_own_credit"),
        say("fading_months_since_session"),
        height=130.0,
    )
    return picture, figure


def _months(band: Band) -> str:
    if band.until == BANDS[-1][1]:
        return say("months_over", since=f"{band.since:g}")
    return say("months_between", since=f"{band.since:g}", until=f"{band.until:g}")
