"""In which redraws the outcome is achieved: the array form of ``outcome``."""

from __future__ import annotations

import numpy as np

from simengine.scoring.at_once.stretches import Flags, Floats
from simengine.scoring.at_once.table import MarkedRedraws
from simengine.scoring.card import EQUAL
from simengine.scoring.outcome import stops_pass_yet


def are_achieved(table: MarkedRedraws, totals: Floats) -> Flags:
    """Whether a session that has an outcome achieved it, in each redraw."""
    plan = table.plan
    scoring = plan.session.scenario.scoring
    if scoring.pass_mark is None:
        return np.zeros(table.number, np.bool_)
    out: Flags = totals >= scoring.pass_mark - EQUAL
    for laid in plan.items:
        item = laid.item
        if not item.credited:
            if item.stops_pass and stops_pass_yet(plan, laid):
                out &= ~table.has_occurred(laid.index)
        elif item.importance == "essential":
            credit = table.credit[laid.index]
            short = (credit < scoring.essential_floor - EQUAL) | table.wholly_off[laid.index]
            if not item.cues_allowed:
                short = short | table.with_cue[laid.index]
            out &= ~short | np.isnan(credit)
    return out
