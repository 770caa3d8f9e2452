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
from simengine.pilot.pilot_sentences import say
from simengine.pilot.skills import Skills
from simengine.pilot.statistics import Spread
from simengine.quantities import format_duration
from simengine.quantities.formatting import count, figure, listed, percent, percent_span
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
BANNER = say("banner")


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
        Section(say("about_title"), about),
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
        title=say("title", title=scenario.title),
        subtitle=_subtitle(found),
        caution=(say("caution") + scenario.vocabulary.caution),
        summary=Listing(say("summary_title"), "", _summary(scenario, found)),
        warnings=Listing(
            say("warnings_title"),
            "",
            tuple(warnings(scenario, found)) or (say("warnings_none"),),
        ),
        totals=Picture(
            "totals",
            say("totals_title"),
            (say("totals_lead"),),
            _totals_alt(found),
        ),
        levels=_levels(scenario, found),
        compared=_compared(scenario, found),
        lengths=Picture(
            "lengths",
            say("lengths_title"),
            (say("lengths_lead"),),
            _lengths_alt(found),
        ),
        times=_times_picture(found),
        key_times=_key_times(found),
        items=Picture(
            "items",
            say("items_picture_title"),
            (say("items_picture_lead"),),
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
        say("warning_gaming", name=name, by_omission=percent(BY_OMISSION)) for name in found.gaming
    ]
    if not found.tells_apart:
        out.append(say("warning_not_told_apart", area=_area(found.area), tells_apart=TELLS_APART))
    if found.not_attained:
        out.append(say("warning_not_attained", quoted=_quoted(found.not_attained, titles)))
    out.extend(_mostly_fails(found, titles))
    out.extend(found.left_at_once)
    if found.never_entered:
        out.append(say("warning_states", quoted=_quoted(found.never_entered, states)))
    if found.never_reached:
        out.append(say("warning_items", quoted=_quoted(found.never_reached, titles)))
    if found.tell_nothing:
        out.append(say("warning_tell_nothing", quoted=_quoted(found.tell_nothing, titles)))
    stopped = sum(level.stopped_early for level in found.levels)
    if stopped:
        out.append(
            say(
                "warning_not_ended",
                sessions=count(stopped, "session"),
                limit=format_duration(3 * scenario.planned_ms),
            )
        )
    if found.few:
        out.append(say("warning_few", runs=found.runs, few=FEW))
    return out


def _quoted(names: Sequence[str], titles: Mapping[str, str]) -> str:
    return listed([f"“{titles.get(name, name)}”" for name in names])


def _subtitle(findings: Findings) -> str:
    return say("subtitle_simulated_teams_each", runs=findings.runs, seed=findings.seed)


def _summary(scenario: Scenario, findings: Findings) -> tuple[str, ...]:
    slow, steady = findings.levels[0], findings.levels[-1]
    lines = [
        say(
            "summary_steady_team_scored",
            share=percent(findings.area, 1),
            area=_area(findings.area),
            tells_apart=TELLS_APART,
        ),
        say(
            "summary_median_total",
            levels=listed([f"{level.label.lower()} {_middle(level)}" for level in findings.levels]),
        ),
    ]
    mark = scenario.scoring.pass_mark
    if mark is None:
        lines.append(say("summary_no_pass_mark"))
    else:
        lines.append(
            say(
                "summary_below_pass_mark",
                mark=percent(mark),
                steady=_part(steady.below_pass),
                slow=_part(slow.below_pass),
            )
        )
        standard = scenario.scoring.standard
        if standard is not None:
            lines.append(
                say(
                    "summary_not_marked_as",
                    steady=_part(steady.not_achieved),
                    slow=_part(slow.not_achieved),
                )
            )
        if standard is not None and standard.demonstration:
            lines.append(say("summary_mark_invented_for"))
    return tuple(lines)


def _part(share: Share | None) -> str:
    if share is None:
        return "–"
    interval = say("part_interval", interval=percent_span(share.low, share.high))
    return f"{percent(share.many / share.of)} {interval}"


def _mostly_fails(findings: Findings, titles: Mapping[str, str]) -> list[str]:
    """Say so where most steady teams would not be marked as achieved, and why."""
    steady = findings.levels[-1]
    missed = steady.not_achieved
    if missed is None or 2 * missed.many <= missed.of:
        return []
    short = listed([f"“{titles[name]}” ({many})" for name, many in steady.short_of[:_MOST_SHORT]])
    why = say("warning_fell_short", short=short) if short else ""
    return [say("warning_mostly_fails", of=missed.of, many=missed.many, why=why)]


def _middle(level: LevelFound) -> str:
    return percent(level.total.median) if level.total else "none"


def _area(area: float | None) -> str:
    return say("area_not_known") if area is None else figure(area, 2)


def _range(quartiles: Spread | None, factor: float, unit: str, decimals: int = 0) -> str:
    if quartiles is None:
        return "–"
    middle, lower, upper = (
        figure(factor * value, decimals)
        for value in (quartiles.median, quartiles.lower, quartiles.upper)
    )
    return say("range_to", middle=middle, unit=unit, lower=lower, upper=upper)


def _levels(scenario: Scenario, findings: Findings) -> Table:
    mark = scenario.scoring.pass_mark
    columns = [
        say("levels_skill"),
        say("levels_teams"),
        say("levels_total_median_middle"),
        say("levels_lowest_highest"),
        say("levels_length"),
    ]
    if mark is not None:
        columns += [say("levels_below", mark=percent(mark)), say("levels_not_achieved")]
    rows = []
    for level in findings.levels:
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
    return Table(say("levels_title"), tuple(columns), tuple(rows))


def _compared(scenario: Scenario, findings: Findings) -> Table:
    no_outcome = scenario.scoring.pass_mark is None
    return Table(
        say("compared_title"),
        (
            say("compared_team"),
            say("levels_teams"),
            say("compared_total_median"),
            say("compared_marked_as_achieved"),
            say("compared_mostly_ended"),
        ),
        tuple(
            (
                team.name,
                str(team.teams),
                percent(team.total),
                say("compared_no_outcome_proposed") if no_outcome else str(team.achieved),
                scenario.states[team.last_state].title,
            )
            for team in findings.compared
        ),
        lead=(say("compared_lead", by_omission=percent(BY_OMISSION))),
    )


def _times_picture(findings: Findings) -> Picture | None:
    rows = [row for row in findings.key_times if row.ideal_ms > 0]
    if not rows:
        return None
    sentences = [
        say("times_picture_asked_within", title=row.title, ideal=format_duration(row.ideal_ms))
        + listed(
            [
                f"{level.label.lower()} {_range(delay, 0.001, 's')}"
                for level, delay in zip(findings.levels, row.delays, strict=True)
            ]
        )
        for row in rows
    ]
    return Picture(
        "times",
        say("times_title"),
        (say("times_lead"),),
        say("times_alt", actions="; ".join(sentences)),
    )


def _key_times(findings: Findings) -> Table | None:
    if not findings.key_times:
        return None
    columns = [
        say("key_times_action"),
        say("key_times_asked"),
        *(level.label for level in findings.levels),
    ]
    rows = []
    for row in findings.key_times:
        cells = [
            say("key_times_done_by", range=_range(delay, 0.001, "s"), done=percent(done))
            if delay
            else say("key_times_not_done")
            for delay, done in zip(row.delays, row.done, strict=True)
        ]
        time_asked = say(
            "key_times_at_latest",
            ideal=format_duration(row.ideal_ms),
            latest=format_duration(row.latest_ms),
        )
        rows.append((row.title, time_asked, *cells))
    return Table(
        say("key_times_title"),
        tuple(columns),
        tuple(rows),
        lead=say("key_times_lead"),
    )


def _items(findings: Findings) -> Table:
    rows = tuple(
        (
            item.title,
            str(item.applied),
            *(percent(credit) for credit in item.credits),
            percent(item.difficulty),
            say("area_not_known")
            if item.discrimination is None
            else figure(item.discrimination, 2),
        )
        for item in findings.items
    )
    return Table(
        say("items_title"),
        (
            say("items_item"),
            say("items_teams_asked"),
            *(level.label for level in findings.levels),
            say("items_all"),
            say("items_link_with_rest"),
        ),
        rows,
        lead=(say("items_lead", weak=WEAK)),
    )


def _deductions(findings: Findings) -> Table | None:
    if not findings.deductions:
        return None
    return Table(
        say("deductions_title"),
        (say("deductions_what"), *(level.label for level in findings.levels)),
        tuple(
            (row.title, *(percent(share) for share in row.shares)) for row in findings.deductions
        ),
        lead=say("deductions_lead"),
    )


def _skills(skills: Skills) -> Table:
    return Table(
        say("skills_title"),
        (
            say("levels_skill"),
            say("deductions_what"),
            say("skills_figure"),
            say("skills_evidence_source"),
        ),
        tuple(
            (
                level or say("items_all"),
                figure.label,
                figure.text,
                f"{figure.evidence}: {figure.source}",
            )
            for level, figure in skills.figures()
        ),
        lead=(say("skills_lead")),
    )


def _facts(scenario: Scenario, findings: Findings) -> tuple[Fact, ...]:
    return (
        Fact(say("facts_scenario"), say("facts_version", id=scenario.id, version=scenario.version)),
        Fact(say("facts_digest"), scenario.digest),
        Fact(
            say("facts_protocol"),
            say("facts_protocol_digest", id=scenario.protocol.id, digest=scenario.protocol.digest),
        ),
        Fact(say("levels_teams"), say("facts_each_skill_some", runs=findings.runs)),
        Fact(say("facts_seed"), str(findings.seed)),
    )


def _totals_alt(findings: Findings) -> str:
    ranges = [f"{level.label} {_range(level.total, 100, '%')}" for level in findings.levels]
    others = [
        say("totals_alt_team", name=team.name, total=percent(team.total))
        for team in findings.compared
    ]
    return say("totals_alt", levels=listed(ranges), others=listed(others))


def _lengths_alt(findings: Findings) -> str:
    ranges = [
        f"{level.label} {_range(level.length, 1 / 60_000, 'min', 1)}" for level in findings.levels
    ]
    return say("lengths_alt", levels=listed(ranges))


def _items_alt(findings: Findings) -> str:
    names = listed([level.label.lower() for level in findings.levels])
    lines = [
        f"{item.title} {', '.join(percent(credit) for credit in item.credits)}"
        for item in findings.items
        if item.applied
    ]
    return say("items_alt", names=names, items="; ".join(lines))
