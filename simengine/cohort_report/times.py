"""Time to key actions: how soon, and the teams that never did it count.

Rules of this file:

- A key action is a step marked essential that has a window. It is told in the scenario that asks it
  most often, since scenarios differ.
- Curves part the sessions at the middle day, so that both halves have as many; tables hold those
  asked most.
- Whether the later half, or one unit, was sooner is said only where chance with days and people
  counted would do it too seldom, for all comparisons of the page together (``cohort.claims``).
  Between halves unit and purpose are held fixed, between units the purpose.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from matplotlib.figure import Figure

from simengine.cohort.change import middle_day
from simengine.cohort.records import SessionResult
from simengine.cohort.survival import (
    Curve,
    Sooner,
    Timed,
    curve,
    holm,
    sooner,
    timed_sessions,
    worth,
)
from simengine.cohort.too_few import is_too_few
from simengine.cohort_report.cohort_page import Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.figure_words import median, median_in_a_table, p_value
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.scale import ticks_to
from simengine.cohort_report.picture.steps import Seen, Steps, draw_steps
from simengine.quantities.formatting import count, day, format_duration, percent
from simengine.report.blocks import Picture, Table

DRAWN = 3
LISTED = 15
COMPARED = 5
MOST_UNITS = 5
LEAST = 10

TimedSessions = tuple[tuple[SessionResult, Timed], ...]


@dataclass(frozen=True, slots=True)
class KeyAction:
    """A key action in one scenario. ``limit_s``: seconds within which it is asked."""

    scenario: str
    scenario_title: str
    item: str
    title: str
    limit_s: float
    sessions: TimedSessions


def key_actions(material: Material) -> tuple[KeyAction, ...]:
    """Return the key actions, those asked in most sessions first, each in one scenario."""
    often: Counter[tuple[str, str]] = Counter()
    about: dict[tuple[str, str], tuple[str, float]] = {}
    for session in (session for some in material.scenarios.values() for session in some):
        for item in session.items:
            if item.importance == "essential" and item.limit_s is not None and item.applied:
                often[item.id, session.scenario] += 1
                about[item.id, session.scenario] = (item.title, item.limit_s)
    chosen: dict[str, tuple[str, str]] = {}
    for key, _ in sorted(often.items(), key=lambda pair: (-pair[1], pair[0])):
        chosen.setdefault(key[0], key)
    out = []
    for name, scenario in chosen.values():
        sessions = timed_sessions(material.scenarios[scenario], name)
        if len(sessions) >= LEAST:
            title, limit_s = about[name, scenario]
            words = material.scenarios[scenario][-1].scenario_title
            out.append(KeyAction(scenario, words, name, title, limit_s, sessions))
    overall = Counter(name for name, _ in often.elements())
    return tuple(sorted(out, key=lambda action: (-overall[action.item], action.item)))


def time_chapter(material: Material) -> tuple[Chapter, dict[str, Figure]]:
    """Return the curves of the first few key actions and the table of all."""
    actions = key_actions(material)
    if not actions:
        words = say("time_chapter_no_key_action", least=LEAST)
        return Chapter(say("time_chapter_time_key_actions"), (words,)), {}
    pictures, figures = [], {}
    changes = _changes(actions[:DRAWN])
    for number, action in enumerate(actions[:DRAWN]):
        name = f"times-{number + 1}"
        picture, figure = _drawn(name, action, changes.get(number))
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


def _middle(action: KeyAction) -> date:
    middle = middle_day([result for result, _ in action.sessions])
    assert middle is not None
    return middle


def _changes(actions: Sequence[KeyAction]) -> dict[int, Sooner]:
    """Return, by the action's place, whether the half before was sooner; for all of them."""
    changes = {}
    for number, action in enumerate(actions):
        middle = _middle(action)
        change = sooner(
            action.sessions,
            lambda result, middle=middle: result.day < middle,  # type: ignore[misc]
            lambda result: (result.unit, result.purpose),
        )
        if change is not None:
            changes[number] = change
    return dict(zip(changes, holm(tuple(changes.values())), strict=True))


def curve_of(sessions: TimedSessions) -> Curve | None:
    """Return the curve of some sessions; ``None`` of none."""
    return curve([time for _, time in sessions], worth=worth(sessions)) if sessions else None


def _difference(change: Sooner | None) -> str:
    if change is None:
        return say("drawn_halves_not_told")
    words = {
        "first": say("drawn_halves_slower"),
        "other": say("drawn_halves_sooner"),
        "either": say("drawn_halves_either"),
    }[change.which]
    return say("drawn_halves_p", words=words, p=p_value(change.p))


def _drawn(name: str, action: KeyAction, change: Sooner | None) -> tuple[Picture, Figure]:
    middle = _middle(action)
    halves = {
        f"before {day(middle)}": tuple(
            session for session in action.sessions if session[0].day < middle
        ),
        f"from {day(middle)} on": tuple(
            session for session in action.sessions if session[0].day >= middle
        ),
    }
    curves = {label: half for label, some in halves.items() if (half := curve_of(some))}
    longest = max(time.time_s for _, time in action.sessions)
    most = min(max(3 * action.limit_s, 60.0), longest)
    ticks = ticks_to(most, 6)
    drawn = [
        Steps(
            say(
                "drawn_median",
                label=label,
                done=half.done,
                teams=count(half.n, "team"),
                found=median(half),
            ),
            tuple((point.time_s, 1.0 - point.not_yet) for point in half.points),
            tuple(seen for tick in ticks if (seen := _seen(half, tick)) is not None),
        )
        for label, half in curves.items()
    ]
    difference = _difference(change) if len(curves) == 2 else say("drawn_one_half_has")
    sentences = "; ".join(
        say(
            "drawn_did_median_within",
            label=label,
            done=half.done,
            teams=count(half.n, "team"),
            found=median(half),
            share_done=percent(half.share_done(action.limit_s)),
            limit_s=f"{action.limit_s:g}",
        )
        for label, half in curves.items()
    )
    picture = Picture(
        name,
        f"{action.title} ({action.scenario_title})",
        (say("drawn_between_halves", difference=difference),),
        say("drawn_share_teams_had", said=sentences),
        say("drawn_marks_with_line"),
    )
    return picture, draw_steps(drawn, ticks, limit_s=action.limit_s)


def _seen(times: Curve, at_s: float) -> Seen | None:
    point = times.at(at_s)
    waiting = times.at_risk(at_s)
    if point is None:
        return Seen(at_s, 0.0, 0.0, 0.0, waiting)
    if point.low is None or point.high is None:
        return Seen(at_s, 1.0 - point.not_yet, 1.0 - point.not_yet, 1.0 - point.not_yet, waiting)
    return Seen(at_s, 1.0 - point.not_yet, 1.0 - point.high, 1.0 - point.low, waiting)


def _table(actions: Sequence[KeyAction]) -> Table:
    rows = []
    for action in actions[:LISTED]:
        times = curve_of(action.sessions)
        assert times is not None
        rows.append(
            (
                action.title,
                action.scenario_title,
                format_duration(1000 * action.limit_s),
                say("table_of", done=times.done, n=times.n),
                median_in_a_table(times),
                percent(times.share_done(action.limit_s)),
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


def _by_unit(action: KeyAction, units: Sequence[str]) -> dict[str, TimedSessions]:
    """Return the times of the units with the most teams, in the order of ``units``.

    Only so many, since pairs of units grow with the square of their number.
    """
    groups: dict[str, list[tuple[SessionResult, Timed]]] = {unit: [] for unit in units}
    for result, time in action.sessions:
        if result.unit in groups:
            groups[result.unit].append((result, time))
    enough = [unit for unit in units if not is_too_few(len(groups[unit]))]
    most = sorted(enough, key=lambda unit: -len(groups[unit]))[:MOST_UNITS]
    return {unit: tuple(groups[unit]) for unit in enough if unit in most}


def _pairs(groups: Mapping[str, TimedSessions]) -> dict[tuple[str, str], Sooner]:
    """Return the comparison of every two units, the purpose held fixed."""
    out = {}
    for unit, other in combinations(groups, 2):
        change = sooner(
            (*groups[unit], *groups[other]),
            lambda result, unit=unit: result.unit == unit,  # type: ignore[misc]
            lambda result: result.purpose,
        )
        if change is not None:
            out[unit, other] = change
    return out


def units_compared(
    actions: Sequence[KeyAction], units: Sequence[str]
) -> list[tuple[KeyAction, dict[str, TimedSessions], dict[tuple[str, str], Sooner]]]:
    """Return the first actions by unit, where two units have enough teams to tell.

    p is for all comparisons of all of them together.
    """
    comparable = [
        (action, groups) for action in actions if len(groups := _by_unit(action, units)) > 1
    ]
    pairs = [_pairs(groups) for _, groups in comparable[:COMPARED]]
    every = iter(holm([change for some in pairs for change in some.values()]))
    return [
        (action, groups, {pair: next(every) for pair in some})
        for (action, groups), some in zip(comparable[:COMPARED], pairs, strict=True)
    ]


def _compared(pair: tuple[str, str], change: Sooner) -> str:
    if change.which == "either":
        return say("units_either", one=pair[0], other=pair[1], p=p_value(change.p))
    sooner_one, other = pair if change.which == "first" else pair[::-1]
    return say("units_sooner", one=sooner_one, other=other, p=p_value(change.p))


def _units(actions: Sequence[KeyAction], material: Material) -> Table | None:
    if len(material.told_units) < 2:
        return None
    rows: list[tuple[str, ...]] = []
    for action, groups, pairs in units_compared(actions, material.told_units):
        medians = [f"{unit}: {median_in_a_table(curve_of(some))}" for unit, some in groups.items()]
        compared = [_compared(pair, change) for pair, change in pairs.items()]
        rows.append((action.title, action.scenario_title, "; ".join(medians), "; ".join(compared)))
    if not rows:
        return None
    return Table(
        say("units_by_unit"),
        (
            say("table_step"),
            say("table_scenario"),
            say("table_median_time_interval"),
            say("units_which_sooner"),
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
