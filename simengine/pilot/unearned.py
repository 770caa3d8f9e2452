"""What teams that take no skill get without earning it: warnings for `simengine check`.

Rules of this file:

- A team that does nothing must not pass a quarter of the total, and neither it, nor one that stops
  after a minute, nor one that does everything at once may be marked as achieved.
- Most scenarios can't give anything unearned, which is seen without playing them: nobody passes
  where no panel has set the pass mark, and who does nothing gets credit only for what is kept in a
  state that the baby comes to untouched, for what counts as found, and for what the scenario starts
  with.
- What playing needs is imported only if there is something to play for.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from simengine.problems import Problem
from simengine.scenario.checks.known import NEVER, earliest
from simengine.scenario.checks.reach import reach_of
from simengine.scenario.conditions import All, AnyOf, Condition, Doing, Done, Given, Not
from simengine.scenario.model import Scenario, Transition
from simengine.scenario.positions import Mapping, read_yaml

QUARTER = 0.25
"""The total that a team which does nothing must not pass."""
_STOPPING = 10
"""So many teams that stop are played here, since a check is quick; a pilot plays more."""


def may_be_unearned(scenario: Scenario) -> bool:
    """Whether there is anything that such a team could get."""
    if scenario.scoring.is_set or scenario.start.doing:
        return True
    if any(item.kept is None and item.as_found_counts for item in scenario.key):
        return True
    kept = [(item.kept, item.during) for item in scenario.key if item.kept is not None]
    if not kept:
        return False
    idle = replace(
        scenario,
        states={
            name: replace(state, next=tuple(_idle(transition) for transition in state.next))
            for name, state in scenario.states.items()
        },
    )
    entered = reach_of(idle).known
    return any(
        earliest(_without_hands(condition), known, idle) < NEVER
        for condition, during in kept
        for name, known in entered.items()
        if not during or name in during
    )


def _idle(way: Transition) -> Transition:
    return way if way.when is None else replace(way, when=_without_hands(way.when))


def _without_hands(condition: Condition) -> Condition:
    """What is left of a condition if nobody does anything."""
    match condition:
        case All(parts):
            return All(tuple(_without_hands(part) for part in parts))
        case AnyOf(parts):
            return AnyOf(tuple(_without_hands(part) for part in parts))
        case Not(part):
            return Not(_without_hands(part))
        case Doing() | Done() | Given():
            return AnyOf(())
        case _:
            return condition


def unearned(scenario: Scenario, file: Path) -> list[Problem]:
    """Play a scenario with such teams; return what ought to be changed in its file."""
    from simengine.pilot.run_pilot import EVERYTHING, NOTHING, STOPS, play_one
    from simengine.pilot.skills import load_skills

    skills = load_skills()
    teams = [(NOTHING, 0)]
    if scenario.scoring.is_set:
        teams += [(EVERYTHING, 0), *((STOPS, number) for number in range(_STOPPING))]
    played = [play_one(scenario, skills, 0, level, number) for level, number in teams]
    problems: list[Problem] = []
    total = played[0].total
    if total is not None and total > QUARTER:
        problems.append(
            _problem(
                file,
                ("key",),
                f"a marking guide that gives a team which does nothing at most {QUARTER:.0%}",
                f"{total:.0%}",
                "unearned-total",
                "give the most important items 'must_reach: true'",
            )
        )
    achieved = dict.fromkeys(team.level for team in played if team.outcome == "achieved")
    problems += [
        _problem(
            file,
            ("scoring", "pass"),
            "a pass that has to be earned",
            f"'achieved' for a team that {level}",
            "unearned-pass",
            "say with 'avoid' and 'stops_pass: true' what may not happen",
        )
        for level in achieved
    ]
    return problems


def _problem(
    file: Path, path: tuple[str, ...], expected: str, found: str, code: str, hint: str
) -> Problem:
    node = read_yaml(file).root
    line = column = 0
    for key in path:
        if isinstance(node, Mapping) and key in node.keys:
            line, column = node.keys[key].line, node.keys[key].column
            node = node.items[key]
    return Problem(
        str(file), line, column, " › ".join(path), expected, found, code, "warning", hint
    )
