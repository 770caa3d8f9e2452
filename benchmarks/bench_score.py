"""How long a score and its interval take, beside the assignment that they contain.

Asked: a session scored in under 2 ms, and its figures without words in 1 ms; the interval (1,000
redraws) in under 100 ms, and in at most 10 times 1,000 assignments. The reference
is `scipy.optimize.linear_sum_assignment` on one matrix of the size of the session (its items by
its performances): what an exact matching costs by a general-purpose library, once for the score
and 1,000 times for the interval.
"""

from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from benchmarks.shipped_sessions import sessions
from benchmarks.warm import warm
from simengine.scoring import score
from simengine.scoring.score_figures import figures_of


def assign(worth: NDArray[np.float64], times: int) -> None:
    """Match as often as asked."""
    for _ in range(times):
        linear_sum_assignment(worth, maximize=True)


for name, session in sessions().items():
    items = len(session.scenario.key)
    done = len(session.record.performances)
    worth = np.random.default_rng(1).random((items, max(done, 1)))

    once = warm(partial(score, session, redraws=0))
    bare = warm(partial(figures_of, session))
    matched = warm(partial(assign, worth, 1))
    interval = warm(partial(score, session, redraws=1000), runs=5)
    matched_1000 = warm(partial(assign, worth, 1000), runs=5)
    print(f"{name}: {items} items, {len(session.events)} events")
    print(f"  score                      {once}   asked: under 2 ms")
    print(f"  its figures alone          {bare}   asked: 1 ms")
    print(f"  one assignment (scipy)     {matched}   ratio {once.median / matched.median:.0f}")
    print(f"  score with interval        {interval}   asked: under 100 ms")
    print(
        f"  1,000 assignments (scipy)  {matched_1000}   "
        f"ratio {interval.median / matched_1000.median:.1f}, asked: at most 10"
    )
