"""Simulated teams: what one costs to play and to mark, and a pilot of 3 x 200 by two processes.

Asked: a team played and marked in 2 ms, a pilot in 3 s. All is processor time, since the wall clock
of a busy machine says how busy it is: the pilot's is half of what the command and its two workers
spend, their start in it, or what the command alone does if that is more. Beside one team stands a
bare `transitions.Machine` that gets a trigger for each of its entries and transitions.
"""

import os
import time
from functools import partial
from itertools import pairwise

from transitions import Machine

from benchmarks.warm import warm
from simengine.cli.workers import processes
from simengine.pilot.run_pilot import pilot, play_one, session_of
from simengine.pilot.skills import load_skills
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.demonstration import held_to_its_mark
from simengine.session.record import Session

RUNS = 200
SKILLS = load_skills()


class Model:
    """What the bare machine moves."""

    state: str


def bare(session: Session) -> None:
    """Run the bare machine through a session's transitions, with a trigger for each entry."""
    path = [stay.state for stay in session.stays]
    moves = [(f"to{n}", before, after) for n, (before, after) in enumerate(pairwise(path))]
    rules = [{"trigger": t, "source": s, "dest": d} for t, s, d in moves]
    rules.append({"trigger": "entry", "source": "*", "dest": "="})
    states = list(session.scenario.states)
    model = Model()
    Machine(model, states=states, transitions=rules, initial=path[0], auto_transitions=False)
    for trigger, _, _ in moves:
        model.trigger(trigger)  # type: ignore[attr-defined]
    for _ in range(len(session.events) - len(path)):
        model.trigger("entry")  # type: ignore[attr-defined]


def spent() -> tuple[int, float]:
    """Return which process this is, and what it has spent since its start."""
    time.sleep(0.02)
    return os.getpid(), time.process_time()


def main() -> None:
    """Measure and print."""
    level = SKILLS.levels[-1].name
    for file in sorted(scenarios_dir().glob("*.yaml")):
        scenario = held_to_its_mark(load_scenario(file))
        first = session_of(scenario, SKILLS, 1, level, 0)
        played = warm(partial(session_of, scenario, SKILLS, 1, level, 0), runs=20)
        marked = warm(partial(play_one, scenario, SKILLS, 1, level, 0), runs=20)
        machine = warm(partial(bare, first), runs=20)
        print(f"{file.stem}: {len(first.events)} entries")
        print(f"  a team decides and plays  {played}   beside the machine: ", end="")
        print(f"{played.median / machine.median:.1f}")
        print(f"  played and marked         {marked}   asked: 2 ms")
    scenario = load_scenario(scenarios_dir() / "term-not-breathing.yaml")
    began = time.process_time()
    with processes(2) as executor:
        pilot(scenario, SKILLS, runs=RUNS, seed=1, executor=executor)
        here = time.process_time() - began
        futures = [executor.submit(spent) for _ in range(32)]
        there = sum(dict(future.result() for future in futures).values())
    beside = max(here, (here + there) / 2)
    print(f"pilot of 3 x {RUNS} teams, processor time: {here:.1f} s in the command, ", end="")
    print(f"{there:.1f} s in two workers: {beside:.1f} s on two cores   asked: 3 s")


if __name__ == "__main__":
    main()
