"""What does the whole unit do badly? The second answer, and the items behind it.

Rules of this file:

- A step is *in time* where its verdict is on time. Only steps with a time limit are
  looked at; where one was not reached or not observed the session is left out.
- The same step in several scenarios is one line here, found by its id and words; the scenarios' own
  figures stand in the tables.
- One step is called the weakest only where its interval lies below those of all others; else those
  whose intervals meet its own are named, since any of them may be. The intervals hold all at once,
  97.5 % together (``cohort.claims``), with days and people counted, whichever are picked.
- The answer is about today, so it looks at the last half year where that has enough sessions.
- Who or which unit did it does not matter here: these are the unit's steps, not a person's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from matplotlib.figure import Figure

from simengine.cohort.claims import SURE, WRONGLY
from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.items import Pair, fail_together, item_statistics
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import Share, together, wilson
from simengine.cohort.too_few import FEW
from simengine.cohort_report.cohort_page import Answer, Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.figure_words import SURE_WORDS, correlation, mean, of
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.rows import Row, draw_rows
from simengine.cohort_report.picture.scale import HALF
from simengine.quantities.formatting import count, listed
from simengine.report.blocks import Picture, Table

QUESTION = say("question_weak")
SHOWN = 6
LEAST = 10
"""Sessions in which a step was asked, before it is named among the weakest."""
RECENT_DAYS = 182
ENOUGH = 30
NAMED = 2
"""Steps that are named where any may be the weakest; others are counted."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step over all scenarios that ask it: how often it was in time."""

    id: str
    title: str
    done: Share


@dataclass(frozen=True, slots=True)
class Together:
    """Two steps of a scenario that fail together."""

    scenario: str
    one: str
    other: str
    pair: Pair


def steps(results: Iterable[SessionResult], least: int = LEAST) -> tuple[Step, ...]:
    """Return the steps by how seldom they were in time; rarer ones are left out."""
    import numpy as np

    sessions = list(results)
    tally: dict[tuple[str, str], dict[int, bool]] = {}
    for number, result in enumerate(sessions):
        for item in result.items:
            if item.limit_s is not None and item.applied and item.verdict != "not reached":
                tally.setdefault((item.id, item.title), {})[number] = item.verdict == "on time"
    asked_often = {step: each for step, each in tally.items() if len(each) >= least}
    table = np.full((len(sessions), len(asked_often)), np.nan)
    for column, each in enumerate(asked_often.values()):
        table[list(each), column] = list(each.values())
    sure = together(len(asked_often), SURE)
    worths = Clusters(shares_of(session) for session in sessions).worths(table, sure)
    out = []
    for (name, title), each, worth in zip(
        asked_often, asked_often.values(), worths.tolist(), strict=True
    ):
        done = wilson(sum(each.values()), len(each), sure, worth)
        assert done is not None
        out.append(Step(name, title, done))
    return tuple(sorted(out, key=lambda step: (step.done.share, -step.done.of, step.title)))


def perhaps_weakest(found: Sequence[Step]) -> tuple[Step, ...]:
    """Return the steps that may be the weakest: the first, and whose intervals meet its own."""
    return tuple(step for step in found if step.done.low <= found[0].done.high)


def together_failing(material: Material, least: int = 20) -> tuple[Together, ...]:
    """Return the pairs that fail together, over the scenarios with ``least`` sessions or more.

    q is for the pairs of all scenarios.
    """
    from scipy.stats import false_discovery_control

    every = []
    for sessions in material.scenarios.values():
        if len(sessions) < least:
            continue
        titles = {item.id: item.title for session in sessions for item in session.items}
        every += [
            Together(sessions[-1].scenario_title, titles[pair.one], titles[pair.other], pair)
            for pair in fail_together(sessions)
        ]
    if not every:
        return ()
    adjusted = false_discovery_control([item_pair.pair.p for item_pair in every])
    out = [
        replace(item_pair, pair=replace(item_pair.pair, q=float(q)))
        for item_pair, q in zip(every, adjusted, strict=True)
        if item_pair.pair.phi > 0 and q <= WRONGLY
    ]
    return tuple(
        sorted(
            out,
            key=lambda item_pair: (
                item_pair.pair.q,
                -item_pair.pair.phi,
                item_pair.scenario,
                item_pair.one,
            ),
        )
    )


def recent(material: Material) -> tuple[tuple[SessionResult, ...], str]:
    """Return the sessions that the answer looks at, and which they are in words."""
    since = material.until - timedelta(days=RECENT_DAYS)
    late = tuple(session for session in material.learning if session.day > since)
    if len(late) >= ENOUGH and len(late) < len(material.learning):
        return late, say("recent_last_half_year", sessions=count(len(late), "session"))
    return material.learning, say(
        "recent_whole_period", sessions=count(len(material.learning), "session")
    )


def done_badly(material: Material, pairs: Sequence[Together]) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure; ``pairs``: what fails together, the surest first."""
    sessions, when = recent(material)
    every = steps(sessions)
    weakest = every[:SHOWN]
    if not weakest:
        headline = say(
            "done_badly_too_few_tell", least=LEAST, sessions=count(len(sessions), "session")
        )
        return Answer(QUESTION, headline, (), None), {}
    perhaps = perhaps_weakest(every)
    done = of(weakest[0].done, words=say("done_badly_interval", sure=SURE_WORDS))
    if len(perhaps) == 1 and len(every) > 1:
        headline = say("done_badly_weakest", title=weakest[0].title, done=done)
        sentences = []
    else:
        headline = say("done_badly_least_often_time", title=weakest[0].title, done=done)
        sentences = [_could_be(perhaps[1:])] if len(every) > 1 else []
    sentences.append(say("done_badly_looked_at_all", when=when, steps=count(len(every), "step")))
    if pairs:
        clearest = pairs[0]
        sentences.append(
            say(
                "done_badly_most_clearly_failing",
                one=clearest.one,
                other=clearest.other,
                both=clearest.pair.both,
                n=clearest.pair.n,
                phi=f"{clearest.pair.phi:.2f}",
            )
        )
    picture = Picture(
        "steps",
        say("done_badly_steps_least_often"),
        (say("done_badly_time_by_marking", sure=SURE_WORDS),),
        say("done_badly_share_sessions_which", sure=SURE_WORDS)
        + "; ".join(f"{step.title} {of(step.done, words='')}" for step in weakest)
        + ".",
    )
    rows = [
        Row(
            step.title,
            100 * step.done.share,
            100 * step.done.low,
            100 * step.done.high,
            say("done_badly_of", count=step.done.count, of=step.done.of),
        )
        for step in weakest
    ]
    figure = draw_rows(
        rows, (0, 25, 50, 75, 100), say("done_badly_time"), wide=HALF, beside="sessions"
    )
    return Answer(QUESTION, headline, tuple(sentences), picture), {"steps": figure}


def _could_be(others: Sequence[Step]) -> str:
    named = [f"“{other.title}”" for other in others[:NAMED]]
    if len(others) > NAMED:
        named.append(say("done_badly_others", others=count(len(others) - NAMED, "other step")))
    return say("done_badly_could_be", list=listed(named))


def item_chapter(material: Material, pairs: Sequence[Together]) -> Chapter:
    """Return what stands behind: the weakest steps of each scenario, and what fails together."""
    tables = [_items(some) for some in material.scenarios.values() if len(some) >= LEAST]
    if pairs:
        tables.append(_pairs(pairs))
    few = [some[-1].scenario_title for some in material.scenarios.values() if len(some) < LEAST]
    notes = [
        say("item_chapter_low_mean_credit"),
    ]
    if few:
        notes.append(say("item_chapter_fewer_than_sessions", least=LEAST, list=listed(few)))
    return Chapter(
        say("item_chapter_steps_each_scenario"),
        (say("item_chapter_five_hardest_steps"),)
        if tables
        else (say("item_chapter_no_scenario_has"),),
        tables=tuple(tables),
        notes=tuple(notes),
    )


def _items(sessions: Sequence[SessionResult]) -> Table:
    shown = [
        item_statistic
        for item_statistic in item_statistics(sessions)
        if item_statistic.credit is not None and item_statistic.n >= FEW
    ]
    shown.sort(
        key=lambda statistic: (statistic.credit.mean if statistic.credit else 0.0, statistic.title)
    )
    rows = tuple(
        (
            statistic.title,
            statistic.importance,
            str(statistic.n),
            mean(statistic.credit, ""),
            correlation(statistic.discrimination),
        )
        for statistic in shown[:5]
    )
    return Table(
        f"{sessions[-1].scenario_title} ({count(len(sessions), 'session')})",
        (
            say("items_step"),
            say("items_importance"),
            say("items_sessions"),
            say("items_mean_credit_interval"),
            say("items_link_with_rest"),
        ),
        rows,
        note=say("items_together", items=count(len(shown), "step")),
    )


def _pairs(pairs: Sequence[Together]) -> Table:
    rows = tuple(
        (
            f"{pair.one} – {pair.other}",
            pair.scenario,
            say("pairs_of", both=pair.pair.both, n=pair.pair.n),
            f"{pair.pair.phi:.2f}",
            say("pairs_under") if pair.pair.q < 0.001 else f"{pair.pair.q:.3f}",
        )
        for pair in pairs[:8]
    )
    return Table(
        say("pairs_steps_fail_together"),
        (
            say("pairs_steps"),
            say("pairs_scenario"),
            say("pairs_both_failed"),
            say("pairs_phi"),
            "q",
        ),
        rows,
        lead=say("pairs_lead", sure=f"{WRONGLY:g}"),
        note=say("pairs_note"),
    )
