"""What does the whole unit do badly? The second answer, and the items behind it.

Rules of this file:

- A step is *in time* where its verdict is on time. Only steps with a time limit are
  looked at; where one was not reached or not observed the session is left out.
- The same step in several scenarios is one line here, found by its id and words; the scenarios' own
  figures stand in the tables.
- The answer is about today, so it looks at the last half year where that has enough sessions.
- Who or which unit did it does not matter here: these are the unit's steps, not a person's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from matplotlib.figure import Figure

from simengine.cohort.evidence import FEW
from simengine.cohort.items import Pair, fail_together, item_statistics
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import Share, wilson
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Answer, Chapter
from simengine.cohort_report.picture.rows import Row, draw_rows
from simengine.cohort_report.picture.scale import HALF
from simengine.cohort_report.said import correlation, mean, of
from simengine.quantities.wording import count, listed, percent
from simengine.report.blocks import Picture, Table

QUESTION = "What does the whole unit do badly?"
SHOWN = 6
LEAST = 10
"""Sessions in which a step was asked, before it is named among the weakest."""
RECENT_DAYS = 182
ENOUGH = 30
SURE = 0.05
"""Pairs of items with a larger q are left out."""


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
    tally: dict[tuple[str, str], list[bool]] = {}
    for result in results:
        for item in result.items:
            if item.limit_s is not None and item.applied and item.verdict != "not reached":
                tally.setdefault((item.id, item.title), []).append(item.verdict == "on time")
    out = []
    for (name, title), each in tally.items():
        done = wilson(sum(each), len(each))
        if done is not None and done.of >= least:
            out.append(Step(name, title, done))
    return tuple(sorted(out, key=lambda one: (one.done.share, -one.done.of, one.title)))


def together(material: Material, least: int = 20) -> tuple[Together, ...]:
    """Return the pairs that fail together, over the scenarios with ``least`` sessions or more."""
    out = []
    for sessions in material.scenarios.values():
        if len(sessions) < least:
            continue
        titles = {item.id: item.title for one in sessions for item in one.items}
        out += [
            Together(sessions[-1].scenario_title, titles[pair.one], titles[pair.other], pair)
            for pair in fail_together(sessions)
            if pair.phi > 0 and pair.q <= SURE
        ]
    return tuple(sorted(out, key=lambda one: (one.pair.q, -one.pair.phi, one.scenario, one.one)))


def recent(material: Material) -> tuple[tuple[SessionResult, ...], str]:
    """Return the sessions that the answer looks at, and which they are in words."""
    since = material.until - timedelta(days=RECENT_DAYS)
    late = tuple(one for one in material.learning if one.day > since)
    if len(late) >= ENOUGH and len(late) < len(material.learning):
        return late, f"in the last half year ({count(len(late), 'session')})"
    return material.learning, f"in the whole period ({count(len(material.learning), 'session')})"


def done_badly(material: Material, pairs: Sequence[Together]) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure; ``pairs``: what fails together, the surest first."""
    sessions, when = recent(material)
    found = steps(sessions)[:SHOWN]
    if not found:
        headline = (
            f"Too few to tell: no step was asked in {LEAST} sessions or more "
            f"({count(len(sessions), 'session')} in all)."
        )
        return Answer(QUESTION, headline, (), None), {}
    worst = found[0]
    headline = f"Least often in time: “{worst.title}”, in {of(worst.done)}."
    sentences = [f"Looked at {when}, all scenarios together."]
    if pairs:
        one = pairs[0]
        sentences.append(
            f"Most clearly failing together: “{one.one}” and “{one.other}” "
            f"(in {one.pair.both} of {one.pair.n} sessions, phi {one.pair.phi:.2f})."
        )
    picture = Picture(
        "steps",
        "Steps least often done in time",
        ("In time: by the marking guide's ideal time, and with the settings asked.",),
        "Share of sessions in which a step was in time, with 95 % intervals: "
        + "; ".join(f"{one.title} {of(one.done)}" for one in found)
        + ".",
    )
    rows = [
        Row(
            one.title,
            100 * one.done.share,
            100 * one.done.low,
            100 * one.done.high,
            f"{one.done.count} of {one.done.of}",
        )
        for one in found
    ]
    figure = draw_rows(rows, (0, 25, 50, 75, 100), "in time (%)", wide=HALF, beside="sessions")
    return Answer(QUESTION, headline, tuple(sentences), picture), {"steps": figure}


def item_chapter(material: Material, pairs: Sequence[Together]) -> Chapter:
    """Return what stands behind: the weakest steps of each scenario, and what fails together."""
    tables = [_items(some) for some in material.scenarios.values() if len(some) >= LEAST]
    if pairs:
        tables.append(_pairs(pairs))
    few = [some[-1].scenario_title for some in material.scenarios.values() if len(some) < LEAST]
    notes = [
        "A low mean credit marks a hard step. The link with the rest is the correlation of an "
        "item's credit with the mean credit of the session's other items, from −1 to 1; near 0 it "
        "does not tell sessions apart, below 0 the marking guide is worth a look.",
    ]
    if few:
        notes.append(f"Fewer than {LEAST} sessions, so no table: {listed(few)}.")
    return Chapter(
        "Steps of each scenario",
        ("The five hardest steps of each scenario, over the whole period.",)
        if tables
        else ("No scenario has enough sessions for its steps to be told.",),
        tables=tuple(tables),
        notes=tuple(notes),
    )


def _items(sessions: Sequence[SessionResult]) -> Table:
    told = [one for one in item_statistics(sessions) if one.credit is not None and one.n >= FEW]
    told.sort(key=lambda one: (one.credit.mean if one.credit else 0.0, one.title))
    rows = tuple(
        (
            one.title,
            one.importance,
            str(one.n),
            mean(one.credit, ""),
            correlation(one.discrimination),
        )
        for one in told[:5]
    )
    return Table(
        f"{sessions[-1].scenario_title} ({count(len(sessions), 'session')})",
        (
            "Step",
            "Importance",
            "Sessions",
            "Mean credit (95 % interval)",
            "Link with the rest (95 % interval)",
        ),
        rows,
    )


def _pairs(pairs: Sequence[Together]) -> Table:
    rows = tuple(
        (
            f"{one.one} – {one.other}",
            one.scenario,
            f"{one.pair.both} of {one.pair.n}",
            f"{one.pair.phi:.2f}",
            "under 0.001" if one.pair.q < 0.001 else f"{one.pair.q:.3f}",
        )
        for one in pairs[:8]
    )
    return Table(
        "Steps that fail together",
        ("Steps", "Scenario", "Both failed", "Phi", "q"),
        rows,
        lead=(
            "A step fails where its credit is below one half. Phi is the correlation of failing, "
            f"from −1 to 1; q is the p-value for the number of pairs looked at, up to "
            f"{percent(SURE)} shown."
        ),
        note="A search, not a finding: look for it again in later sessions.",
    )
