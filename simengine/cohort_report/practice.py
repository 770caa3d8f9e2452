"""Do people learn with practice, and do skills fade without it?"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from simengine.cohort.decay import BANDS, Band, decay, returns
from simengine.cohort.evidence import is_few
from simengine.cohort.learning import LearningCurve, Practised, learning_curve, practised
from simengine.cohort.shares import Mean, mean_of
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Chapter
from simengine.cohort_report.picture.columns import Column, draw_columns
from simengine.cohort_report.picture.scale import ticks_to
from simengine.cohort_report.said import mean, points
from simengine.quantities.wording import count, percent
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
        lead.append("Too few people did the same key action more than once for a learning curve.")
    else:
        pictures.append(learnt[0])
        figures["learning"] = learnt[1]
    faded = _fading(material)
    if faded is None:
        lead.append("Too few people came back for it to be told whether skills fade.")
    else:
        pictures.append(faded[0])
        figures["fading"] = faded[1]
    chapter = Chapter(
        "Practice",
        tuple(lead),
        pictures=tuple(pictures),
        notes=(
            "Only a person's own confirmed steps count here. Who comes often may differ from who "
            "comes rarely, so each person is compared with themselves.",
        ),
    )
    return chapter, figures


def _learning(material: Material) -> tuple[Picture, Figure] | None:
    """Return the curve of the essential step that most people did more than once."""
    best: tuple[int, str, str, Sequence[Practised], LearningCurve] | None = None
    titles = {
        item.id: item.title
        for one in material.learning
        for item in one.items
        if item.importance == "essential" and item.limit_s is not None
    }
    for name in sorted(titles):
        tried = practised(material.learning, name)
        curve = learning_curve(tried)
        if curve is not None and not curve.few and (best is None or curve.people > best[0]):
            best = (curve.people, name, titles[name], tried, curve)
    if best is None:
        return None
    title, attempts, found = best[2:]
    means = {
        number: mean_of(
            [
                one.time_s
                for one in attempts
                if one.attempt == number and one.time_s is not None and one.time_s > 0
            ]
        )
        for number in range(1, ATTEMPTS + 1)
    }
    told = {number: one for number, one in means.items() if one is not None and not one.few}
    ticks = ticks_to(max([one.high or one.mean for one in told.values()], default=60.0))
    columns = [_column(number, one) for number, one in told.items()]
    slower = "falls" if found.rate < 1 else "rises"
    sentences = (
        f"With each doubling of practice the time {slower} to {percent(found.rate)} of what it "
        f"was (95 % interval {100 * found.rate_low:.0f} to {percent(found.rate_high)}): "
        f"{count(found.n, 'attempt')} of {count(found.people, 'person', 'people')} who did it more "
        "than once, person and scenario held fixed.",
        f"Left out, since they have no time: {count(found.never, 'attempt')} in which it was never "
        f"done and {found.at_once} done at once; the curve looks a little better for it.",
    )
    said = "; ".join(
        f"attempt {number} {one.mean:.0f} s, n {one.n}" for number, one in told.items()
    )
    picture = Picture(
        "learning",
        f"{title}: time by attempt",
        sentences,
        f"Mean time by attempt with 95 % intervals: {said}. The fitted curve goes from "
        f"{found.first_s:.0f} s at the first attempt to "
        f"{found.time_s(max(told, default=1)):.0f} s.",
        "Dashed: the fitted curve, a power of the attempt's number (Wright 1936). n: people.",
    )
    figure = draw_columns(
        columns, ticks, "time, s", "attempt; n: people", height=150.0, curve=found.time_s
    )
    return picture, figure


def _column(number: int, one: Mean) -> Column:
    low = None if one.low is None else max(0.0, one.low)
    return Column(str(number), one.mean, low, one.high, f"n {one.n}")


def _fading(material: Material) -> tuple[Picture, Figure] | None:
    found = decay(returns(material.learning))
    told = [band for band in found.bands if band.share is not None and not is_few(band.people)]
    if found.few or not told:
        return None
    if found.per_month is None:
        sentence = "Whether it changes with the months away can't be told."
    else:
        held = "person, scenario and number of sessions so far held fixed"
        low, high = found.per_month.low, found.per_month.high
        verdict = (
            "What people earn falls"
            if high < 0
            else "It does not fall"
            if low > 0
            else "Nobody can tell whether skills fade"
        )
        sentence = f"{verdict}: {points(found.per_month, 'a month away')}, {held}."
    columns = [
        Column(
            _months(band),
            100 * band.share.mean,
            None if band.share.low is None else 100 * max(0.0, band.share.low),
            None if band.share.high is None else 100 * min(1.0, band.share.high),
            f"n {band.share.n}",
        )
        for band in told
        if band.share is not None
    ]
    said = "; ".join(f"{_months(band)} {mean(band.share)}" for band in told)
    left_out = [_months(band) for band in found.bands if band not in told]
    picture = Picture(
        "fading",
        "What people earn after months away",
        (f"{count(found.n, 'return')} of {count(found.people, 'person', 'people')}. {sentence}",),
        f"Mean credit of a person's own steps by months since their last session: {said}.",
        "n: returns. The means are as they are, nothing held fixed."
        + (f" Fewer than 5 people, so not drawn: {', '.join(left_out)}." if left_out else ""),
    )
    figure = draw_columns(
        columns,
        (0.0, 25.0, 50.0, 75.0, 100.0),
        "own credit, %",
        "months since the session before",
        height=130.0,
    )
    return picture, figure


def _months(band: Band) -> str:
    if band.until == BANDS[-1][1]:
        return f"over {band.since:g} months"
    return f"{band.since:g} to {band.until:g} months"
