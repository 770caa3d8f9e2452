"""What was done after a prompt in every redraw: the array form of ``with_cue``."""

from __future__ import annotations

import numpy as np

from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.stretches import Flags, Ints
from simengine.session.readings import COUNTS

_LAST = 1 << 42
_PLACE = 1 << 20
"""Instants and ``seq`` make one number: no log has more entries than this."""


def after_a_cue(
    redraws: Resamples, prompts: tuple[str, ...], start: Ints, seq: Ints, since: Ints
) -> Flags:
    """Whether a cue for any of ``prompts``, given since ``since`` (ms), was answered by a run."""
    plan = redraws.plan
    cues = [cue for action in prompts for cue in plan.cues.get(action, ())]
    done = np.minimum(start, _LAST) * _PLACE + seq
    before = np.full(redraws.number, -1, dtype=np.int64)
    for action in prompts:
        runs = redraws.runs((action,))
        own = runs.by_source(lambda known: known.way in COUNTS and not known.as_found)
        moment = np.minimum(runs.start, _LAST) * _PLACE + runs.seq
        earlier = own & runs.counts & (moment < done)
        before = np.maximum(before, np.where(earlier, moment, -1).max(axis=0, initial=-1))
    out = redraws.flags()
    for at, place in cues:
        moment_of_cue = at * _PLACE + place
        out |= (before < moment_of_cue) & (moment_of_cue < done) & (at >= since)
    return out
