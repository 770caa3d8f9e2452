"""Time to key actions: how soon, and the teams that never did it count.

Rules of this file:

- A key action is a step marked essential that has a window. It is told in the scenario that asks it
  most often, since scenarios differ.
- Curves part the sessions at the middle day, so that both halves have as many; tables hold those
  asked most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from matplotlib.figure import Figure

from simengine.cohort.change import middle_day
from simengine.cohort.evidence import is_few
from simengine.cohort.records import SessionResult
from simengine.cohort.survival import Curve, Timed, curve, log_rank, log_rank_pairs, timed
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Chapter
from simengine.cohort_report.picture.scale import ticks_to
from simengine.cohort_report.picture.steps import Seen, Steps, draw_steps
from simengine.cohort_report.said import median, p_value, test
from simengine.cohort_report.sentences import say
from simengine.quantities.wording import count, day, listed, percent
from simengine.report.blocks import Picture, Table

DRAWN = 3
LISTED = 15
COMPARED = 5
MOST_UNITS = 5
LEAST = 10


@dataclass(frozen=True, slots=True)
class KeyAction:
    """A key action in one scenario. ``limit_s``: seconds within which it is asked."""

    scenario: str
    scenario_title: str
    item: str
    title: str
    limit_s: float
    sessions: tuple[SessionResult, ...]
    times: tuple[Timed, ...]


def key_actions(material: Material) -> tuple[KeyAction, ...]:
    """Return the key actions, those asked in most sessions first, each in one scenario."""
    asked: Counter[tuple[str, str]] = Counter()
    about: dict[tuple[str, str], tuple[str, float]] = {}
    for one in (one for some in material.scenarios.values() for one in some):
        for item in one.items:
            if item.importance == "essential" and item.limit_s is not None and item.applied:
                asked[item.id, one.scenario] += 1
                about[item.id, one.scenario] = (item.title, item.limit_s)
    chosen: dict[str, tuple[str, str]] = {}
    for key, _ in sorted(asked.items(), key=lambda pair: (-pair[1], pair[0])):
        chosen.setdefault(key[0], key)
    out = []
    for name, scenario in chosen.values():
        sessions = material.scenarios[scenario]
        times = timed(sessions, name)
        if len(times) >= LEAST:
            title, limit_s = about[name, scenario]
            out.append(
                KeyAction(
                    scenario, sessions[-1].scenario_title, name, title, limit_s, sessions, times
                )
            )
    overall = Counter(name for name, _ in asked.elements())
    return tuple(sorted(out, key=lambda one: (-overall[one.item], one.item)))


def time_chapter(material: Material) -> tuple[Chapter, dict[str, Figure]]:
    """Return the curves of the first few key actions and the table of all."""
    actions = key_actions(material)
    if not actions:
        words = say("time_chapter_no_key_action", least=LEAST)
        return Chapter(say("time_chapter_time_key_actions"), (words,)), {}
    pictures, figures = [], {}
    for number, action in enumerate(actions[:DRAWN]):
        name = f"times-{number + 1}"
        picture, figure = _drawn(name, action)
        pictures.append(picture)
        figures[name] = figure
    tables = [_table(actions)]
    by_unit = _units(actions, material)
    if by_unit is not None:
        tables.append(by_unit)
    chapter = Chapter(
        say("time_chapter_time_key_actions"),
        (say("time_chapter_time_runs_from"),),
        pictures=tuple(pictures),
        tables=tuple(tables),
        notes=(say("time_chapter_time_limits_those"),),
    )
    return chapter, figures


def _halves(action: KeyAction) -> tuple[date, dict[str, tuple[Timed, ...]]]:
    middle = middle_day(action.sessions)
    assert middle is not None
    return middle, {
        f"before {day(middle)}": timed([o for o in action.sessions if o.day < middle], action.item),
        f"from {day(middle)} on": timed(
            [o for o in action.sessions if o.day >= middle], action.item
        ),
    }


def _drawn(name: str, action: KeyAction) -> tuple[Picture, Figure]:
    _, halves = _halves(action)
    curves = {label: found for label, times in halves.items() if (found := curve(times))}
    most = min(max(3 * action.limit_s, 60.0), max(one.time_s for one in action.times))
    ticks = ticks_to(most, 6)
    drawn = [
        Steps(
            say(
                "drawn_median",
                label=label,
                done=found.done,
                teams=count(found.n, "team"),
                found=median(found),
            ),
            tuple((point.time_s, 1.0 - point.not_yet) for point in found.points),
            tuple(seen for tick in ticks if (seen := _seen(found, tick)) is not None),
        )
        for label, found in curves.items()
    ]
    difference = test(log_rank(*halves.values())) if len(curves) == 2 else say("drawn_one_half_has")
    said = "; ".join(
        say(
            "drawn_did_median_within",
            label=label,
            done=found.done,
            teams=count(found.n, "team"),
            found=median(found),
            share_done=percent(found.share_done(action.limit_s)),
            limit_s=f"{action.limit_s:g}",
        )
        for label, found in curves.items()
    )
    picture = Picture(
        name,
        f"{action.title} ({action.scenario_title})",
        (say("drawn_between_halves", difference=difference),),
        say("drawn_share_teams_had", said=said),
        say("drawn_marks_with_line"),
    )
    return picture, draw_steps(drawn, ticks, limit_s=action.limit_s)


def _seen(found: Curve, at_s: float) -> Seen | None:
    point = found.at(at_s)
    waiting = found.at_risk(at_s)
    if point is None:
        return Seen(at_s, 0.0, 0.0, 0.0, waiting)
    if point.low is None or point.high is None:
        return Seen(at_s, 1.0 - point.not_yet, 1.0 - point.not_yet, 1.0 - point.not_yet, waiting)
    return Seen(at_s, 1.0 - point.not_yet, 1.0 - point.high, 1.0 - point.low, waiting)


def _table(actions: Sequence[KeyAction]) -> Table:
    rows = []
    for action in actions[:LISTED]:
        found = curve(action.times)
        assert found is not None
        rows.append(
            (
                action.title,
                action.scenario_title,
                f"{action.limit_s:g} s",
                say("table_of", done=found.done, n=found.n),
                median(found, ""),
                percent(found.share_done(action.limit_s)),
            )
        )
    return Table(
        say("table_key_actions_each"),
        (
            say("table_step"),
            say("table_scenario"),
            say("table_at_latest"),
            say("table_done"),
            say("table_median_time_interval"),
            say("table_done_by_then"),
        ),
        tuple(rows),
        note=say("table_note", actions=len(actions) - LISTED) if len(actions) > LISTED else "",
    )


def _by_unit(action: KeyAction, units: Sequence[str]) -> dict[str, tuple[Timed, ...]]:
    """Return the times of the units with the most teams, in the order of ``units``.

    Only so many, since pairs of units grow with the square of their number.
    """
    held: dict[str, list[SessionResult]] = {unit: [] for unit in units}
    for one in action.sessions:
        if one.unit in held:
            held[one.unit].append(one)
    groups = {unit: timed(some, action.item) for unit, some in held.items()}
    enough = [unit for unit in units if not is_few(len(groups[unit]))]
    most = sorted(enough, key=lambda unit: -len(groups[unit]))[:MOST_UNITS]
    return {unit: groups[unit] for unit in enough if unit in most}


def _units(actions: Sequence[KeyAction], material: Material) -> Table | None:
    """Return the first actions by unit, where two units have enough teams to tell."""
    if len(material.told_units) < 2:
        return None
    rows: list[tuple[str, ...]] = []
    for action in actions:
        if len(rows) == COMPARED:
            break
        groups = _by_unit(action, material.told_units)
        if len(groups) < 2:
            continue
        tests = log_rank_pairs(groups)
        medians = [f"{unit}: {median(curve(times), '')}" for unit, times in groups.items()]
        compared = [
            say(
                "units_chi_square",
                one=one,
                other=other,
                chi_square=f"{found.chi_square:.1f}",
                p=p_value(found.q or found.p),
            )
            for (one, other), found in tests.items()
        ]
        rows.append((action.title, action.scenario_title, "; ".join(medians), listed(compared)))
    if not rows:
        return None
    return Table(
        say("units_by_unit"),
        (
            say("table_step"),
            say("table_scenario"),
            say("table_median_time_interval"),
            say("units_log_rank_test"),
        ),
        tuple(rows),
        note=(
            say("units_note")
            + (
                say("units_more_than_units", most_units=MOST_UNITS)
                if len(material.told_units) > MOST_UNITS
                else ""
            )
        ),
    )
