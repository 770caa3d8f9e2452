"""The report of a pilot as one page: every text and number on it, already worded.

Rules of this file:

- What needs looking at stands first, in words; then who was told apart from whom, then figures.
- Every number has its unit, and few teams are called few.
- Simulated teams are never called people: they find out about the scenario and nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from simengine.debrief.words import protocol_lines
from simengine.pilot.findings import (
    BY_OMISSION,
    FEW,
    TELLS_APART,
    WEAK,
    Findings,
    LevelFound,
    Share,
)
from simengine.pilot.skills import Skills
from simengine.pilot.statistics import Spread
from simengine.quantities import format_duration
from simengine.quantities.wording import count, figure, listed, percent, percent_span
from simengine.report.blocks import (
    Block,
    Fact,
    Facts,
    Listing,
    Paragraph,
    Picture,
    Report,
    Section,
    Table,
    map_text,
)
from simengine.report.printable import clean
from simengine.scenario.model import Scenario

_MOST_SHORT = 3
BANNER = "Simulated teams: training only"


@dataclass(frozen=True, slots=True)
class PilotPage:
    """The whole page, in reading order."""

    lang: str
    banner: str
    title: str
    subtitle: str
    caution: str
    summary: Listing
    warnings: Listing
    totals: Picture
    levels: Table
    compared: Table
    lengths: Picture
    times: Picture | None
    key_times: Table | None
    items: Picture
    item_table: Table
    deductions: Table | None
    skills: Table
    facts: tuple[Fact, ...]
    protocol: tuple[str, ...]


def report_of(page: PilotPage) -> Report:
    """Return the page as blocks."""
    about: tuple[Block, ...] = (Facts(page.facts), *map(Paragraph, page.protocol))
    parts: tuple[Block | None, ...] = (
        page.summary,
        page.warnings,
        page.totals,
        page.levels,
        page.compared,
        page.lengths,
        page.times,
        page.key_times,
        page.items,
        page.item_table,
        page.deductions,
        page.skills,
        Section("About this page", about),
    )
    return Report(
        lang=page.lang,
        day=None,
        banner=page.banner,
        title=page.title,
        subtitle=page.subtitle,
        caution=page.caution,
        notices=(),
        blocks=tuple(part for part in parts if part is not None),
    )


def pilot_page(scenario: Scenario, skills: Skills, found: Findings) -> PilotPage:
    """Return the report of a pilot as a page."""
    page = PilotPage(
        lang="en-GB",
        banner=BANNER,
        title=f"Pilot: {scenario.title}",
        subtitle=_subtitle(found),
        caution=(
            "Simulated teams find out about the scenario: whether its "
            "marking guide tells slow from steady, what is never reached, and whether it can be "
            "gamed. They say nothing about any person. " + scenario.vocabulary.caution
        ),
        summary=Listing("In short", "", _summary(scenario, found)),
        warnings=Listing(
            "To look at",
            "",
            tuple(warnings(scenario, found)) or ("Nothing stood out.",),
        ),
        totals=Picture(
            "totals",
            "Totals by skill",
            (
                "Each stroke is one team, the bar the middle half of them, the shape on it the "
                "median.",
            ),
            _totals_alt(found),
        ),
        levels=_levels(scenario, found),
        compared=_compared(scenario, found),
        lengths=Picture(
            "lengths",
            "Length of sessions by skill",
            ("From time zero to the end; bar and shape as above.",),
            _lengths_alt(found),
        ),
        times=_times_picture(found),
        key_times=_key_times(found),
        items=Picture(
            "items",
            "Credit by item and skill",
            ("Shapes close together: the item does not tell these teams apart.",),
            _items_alt(found),
        ),
        item_table=_items(found),
        deductions=_deductions(found),
        skills=_skills(skills),
        facts=_facts(scenario, found),
        protocol=protocol_lines(scenario.protocol),
    )
    return map_text(page, lambda text: clean(text.replace(" %", "\u00a0%")))


def warnings(scenario: Scenario, found: Findings) -> list[str]:
    """Return what an educator should look at, most serious first, in words."""
    titles = {item.id: item.title for item in scenario.key}
    states = {name: state.title for name, state in scenario.states.items()}
    out = [
        f"A team that {name} comes off too well: it may not be marked as achieved, nor get over "
        f"{percent(BY_OMISSION)} by leaving things out."
        for name in found.gaming
    ]
    if not found.tells_apart:
        out.append(
            f"Slow and steady teams are not told apart well enough: the area under the curve is "
            f"{_area(found.area)}, and {TELLS_APART} is asked."
        )
    if found.not_attained:
        out.append(
            "A team that makes no mistake did not get these, or not nearly all of them; are they "
            f"asked for what can be done? {_quoted(found.not_attained, titles)}."
        )
    out.extend(_mostly_fails(found, titles))
    out.extend(found.left_at_once)
    if found.never_entered:
        out.append(f"States that no team entered: {_quoted(found.never_entered, states)}.")
    if found.never_reached:
        out.append(f"Items that no team reached: {_quoted(found.never_reached, titles)}.")
    if found.tell_nothing:
        out.append(
            "Items that do not tell teams apart (hardly any link with the rest of the total): "
            f"{_quoted(found.tell_nothing, titles)}. They may still be worth teaching."
        )
    stopped = sum(level.stopped_early for level in found.levels)
    if stopped:
        out.append(
            f"{count(stopped, 'session')} did not end by itself within three times the planned "
            f"time ({format_duration(3 * scenario.planned_ms)})."
        )
    if found.few:
        out.append(
            f"Few teams: {found.runs} of each skill. With fewer than {FEW} the figures may be "
            "chance."
        )
    return out


def _quoted(names: Sequence[str], titles: Mapping[str, str]) -> str:
    return listed([f"“{titles.get(name, name)}”" for name in names])


def _subtitle(found: Findings) -> str:
    return f"{found.runs} simulated teams of each skill, seed {found.seed}"


def _summary(scenario: Scenario, found: Findings) -> tuple[str, ...]:
    slow, steady = found.levels[0], found.levels[-1]
    lines = [
        f"A steady team scored above a slow one in {percent(found.area, 1)} of all pairs (area "
        f"under the curve {_area(found.area)}; at least {TELLS_APART} is asked).",
        f"Median total: {listed([f'{one.label.lower()} {_middle(one)}' for one in found.levels])}.",
    ]
    mark = scenario.scoring.pass_mark
    if mark is None:
        lines.append("No pass mark has been set for this scenario, so no team passes or fails.")
    else:
        lines.append(
            f"Below the pass mark of {percent(mark)}: {_part(steady.below_pass)} of steady teams "
            f"and {_part(slow.below_pass)} of slow ones."
        )
        standard = scenario.scoring.standard
        if standard is not None:
            lines.append(
                f"Not marked as achieved: {_part(steady.not_achieved)} of steady teams and "
                f"{_part(slow.not_achieved)} of slow ones, for an essential item that is left out "
                "or done too late also stands in the way."
            )
        if standard is not None and standard.demonstration:
            lines.append("The mark was invented for demonstration: nobody has set it.")
    return tuple(lines)


def _part(share: Share | None) -> str:
    if share is None:
        return "–"
    interval = f"(95 % interval {percent_span(share.low, share.high)})"
    return f"{percent(share.many / share.of)} {interval}"


def _mostly_fails(found: Findings, titles: Mapping[str, str]) -> list[str]:
    """Say so where most steady teams would not be marked as achieved, and why."""
    steady = found.levels[-1]
    missed = steady.not_achieved
    if missed is None or 2 * missed.many <= missed.of:
        return []
    short = listed([f"“{titles[name]}” ({many})" for name, many in steady.short_of[:_MOST_SHORT]])
    why = f" What they fell short in, with the number of teams: {short}." if short else ""
    return [
        f"Of {missed.of} steady teams {missed.many} would not be marked as achieved.{why} Each "
        "essential item has to be met, so think about which are, before a panel sets the mark."
    ]


def _middle(level: LevelFound) -> str:
    return percent(level.total.median) if level.total else "none"


def _area(area: float | None) -> str:
    return "not known" if area is None else figure(area, 3)


def _range(found: Spread | None, factor: float, unit: str, decimals: int = 0) -> str:
    if found is None:
        return "–"
    middle, lower, upper = (
        figure(factor * value, decimals) for value in (found.median, found.lower, found.upper)
    )
    return f"{middle} {unit} ({lower} to {upper})"


def _levels(scenario: Scenario, found: Findings) -> Table:
    mark = scenario.scoring.pass_mark
    columns = ["Skill", "Teams", "Total, median (middle half)", "Lowest to highest", "Length"]
    if mark is not None:
        columns += [f"Below {percent(mark)}", "Not achieved"]
    rows = []
    for level in found.levels:
        row = [
            level.label,
            str(level.teams),
            _range(level.total, 100, "%"),
            percent_span(level.total.least, level.total.largest) if level.total else "–",
            _range(level.length, 1 / 60_000, "min", 1),
        ]
        if mark is not None:
            row += [_part(level.below_pass), _part(level.not_achieved)]
        rows.append(tuple(row))
    return Table("Teams by skill", tuple(columns), tuple(rows))


def _compared(scenario: Scenario, found: Findings) -> Table:
    no_outcome = scenario.scoring.pass_mark is None
    return Table(
        "Teams to compare with",
        ("A team that …", "Teams", "Total, median", "Marked as achieved", "Mostly ended in"),
        tuple(
            (
                team.name,
                str(team.teams),
                percent(team.total),
                "no outcome is proposed" if no_outcome else str(team.achieved),
                scenario.states[team.last_state].title,
            )
            for team in found.compared
        ),
        lead=(
            "None of the first three may be marked as achieved, and the first two may not get over "
            f"{percent(BY_OMISSION)}. The last shows what the marking guide asks for at most."
        ),
    )


def _times_picture(found: Findings) -> Picture | None:
    rows = [row for row in found.key_times if row.ideal_ms > 0]
    if not rows:
        return None
    said = [
        f"{row.title}, asked within {format_duration(row.ideal_ms)}: "
        + listed(
            [
                f"{level.label.lower()} {_range(delay, 0.001, 's')}"
                for level, delay in zip(found.levels, row.delays, strict=True)
            ]
        )
        for row in rows
    ]
    return Picture(
        "times",
        "Time to key actions by skill",
        (
            "As a share of the time that the marking guide calls ideal; the dashed line is that "
            "time. Of the teams that did it: shape, the median; line, the middle half.",
        ),
        f"Medians and middle halves by skill. {'; '.join(said)}.",
    )


def _key_times(found: Findings) -> Table | None:
    if not found.key_times:
        return None
    columns = ["Action", "Asked", *(level.label for level in found.levels)]
    rows = []
    for row in found.key_times:
        cells = [
            f"{_range(delay, 0.001, 's')}, done by {percent(done)}" if delay else "not done"
            for delay, done in zip(row.delays, row.done, strict=True)
        ]
        asked = f"{format_duration(row.ideal_ms)}, at the latest {format_duration(row.latest_ms)}"
        rows.append((row.title, asked, *cells))
    return Table(
        "Time to key actions",
        tuple(columns),
        tuple(rows),
        lead="Median (middle half) of the teams that did it, counted from what it is asked from.",
    )


def _items(found: Findings) -> Table:
    rows = tuple(
        (
            item.title,
            str(item.applied),
            *(percent(credit) for credit in item.credits),
            percent(item.difficulty),
            "not known" if item.discrimination is None else figure(item.discrimination, 2),
        )
        for item in found.items
    )
    return Table(
        "Every item",
        (
            "Item",
            "Teams asked",
            *(level.label for level in found.levels),
            "All",
            "Link with the rest",
        ),
        rows,
        lead=(
            "Mean credit by skill. The link with the rest is the correlation of an item's credit "
            "with the total of all other items, from −1 to 1 (point-biserial where an item is "
            f"either done or not); below {WEAK} it hardly tells teams apart."
        ),
    )


def _deductions(found: Findings) -> Table | None:
    if not found.deductions:
        return None
    return Table(
        "Not advised here",
        ("What", *(level.label for level in found.levels)),
        tuple((row.title, *(percent(share) for share in row.shares)) for row in found.deductions),
        lead="Share of teams that it cost something.",
    )


def _skills(skills: Skills) -> Table:
    return Table(
        "How the teams were drawn",
        ("Skill", "What", "Figure", "Evidence and source"),
        tuple(
            (level or "All", figure.label, figure.text, f"{figure.evidence}: {figure.source}")
            for level, figure in skills.figures()
        ),
        lead=(
            "“Read” and “computed” rest on a published figure; “chosen” means that none was found."
        ),
    )


def _facts(scenario: Scenario, found: Findings) -> tuple[Fact, ...]:
    return (
        Fact("Scenario", f"{scenario.id}, version {scenario.version}"),
        Fact("Digest", scenario.digest),
        Fact("Protocol", f"{scenario.protocol.id}, digest {scenario.protocol.digest}"),
        Fact("Teams", f"{found.runs} of each skill, and some to compare them with"),
        Fact("Seed", str(found.seed)),
    )


def _totals_alt(found: Findings) -> str:
    said = [f"{level.label} {_range(level.total, 100, '%')}" for level in found.levels]
    others = [f"a team that {team.name} {percent(team.total)}" for team in found.compared]
    return f"Median total and middle half by skill: {listed(said)}. Total of {listed(others)}."


def _lengths_alt(found: Findings) -> str:
    said = [f"{level.label} {_range(level.length, 1 / 60_000, 'min', 1)}" for level in found.levels]
    return f"Median length and middle half by skill: {listed(said)}."


def _items_alt(found: Findings) -> str:
    names = listed([level.label.lower() for level in found.levels])
    said = [
        f"{item.title} {', '.join(percent(credit) for credit in item.credits)}"
        for item in found.items
        if item.applied
    ]
    return f"Mean credit of {names} teams by item: {'; '.join(said)}."
