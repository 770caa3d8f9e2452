"""What would have come of three things, asked in the room, beside the plain runs that it contains.

Aim: 150 ms. The reference folds the same log four times: once as it was and once for each of three.
"""

import statistics
import time
from collections.abc import Callable
from functools import partial

from simengine.debrief.what_if import what_ifs
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.fold import fold
from simengine.session.from_file import open_session

RUNS = 7


def measured(work: Callable[[], object]) -> float:
    """Return the median time of some work in ms."""
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - began))
    return statistics.median(times)


for log in sorted((scenarios_dir() / "sessions").glob("*first-try.session.jsonl")):
    session = open_session(log).session
    card = score(session, redraws=0)
    answers = what_ifs(session, card)
    ours = measured(partial(what_ifs, session, card))
    folds = 4 * measured(partial(fold, session.scenario, session.events))
    print(
        f"{log.name.partition('.')[0]:<34} {len(answers)} told  {ours:6.1f} ms   aim: 150 ms   "
        f"{ours / folds:4.1f} × four folds ({folds:.1f} ms)"
    )
