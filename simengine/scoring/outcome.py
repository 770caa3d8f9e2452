"""The outcome that the program proposes. A person signs one.

Rules of this file:

- Only for a session closed as finished, in which an essential item applied, and which is not
  formative; and only where the pass mark stands on a recorded standard, which one invented for
  demonstration is not.
- ``achieved``: the total reaches the pass mark, every essential item that applied has at least
  the essential floor and was met without a cue (unless cues are allowed), and nothing marked as
  stopping a pass occurred. Comparisons allow 1e-9 for the last digits of doubles.
- ``too close to call``: it changes in over 10 % of the redraws.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.scenario.key import Avoid
from simengine.scoring.marking import Marked
from simengine.scoring.plan import Plan

EQUAL = 1e-9


def why_no_outcome(plan: Plan, marked: Sequence[Marked], total: float | None) -> str:
    """Return a sentence where no outcome is proposed; empty where one is."""
    session = plan.session
    scoring = session.scenario.scoring
    if session.purpose == "formative":
        return "A formative session shows findings and has no outcome."
    if session.closed == "stopped early":
        return "The session was stopped early, so it has no outcome."
    if session.closed == "safety stop":
        return "The session was ended by a safety stop, so it has no outcome."
    if session.closed is None:
        return "The record does not say that the session was finished, so it has no outcome."
    if scoring.standard is not None and scoring.standard.demonstration:
        return (
            "The scenario's pass mark is invented for demonstration and nobody has set it, so it "
            "proposes no outcome."
        )
    if not scoring.is_set:
        return (
            "The scenario has no pass mark with a recorded standard (method, panel, date), so it "
            "proposes no outcome."
        )
    if total is None or not any(_is_essential(one) for one in marked):
        return "No essential item applied, so that there is no outcome."
    return ""


def is_achieved(plan: Plan, marked: Sequence[Marked], total: float | None) -> bool:
    """Whether a session that has an outcome achieved it."""
    return not _short(plan, marked, total, first=True)


def why_not_achieved(plan: Plan, marked: Sequence[Marked], total: float | None) -> list[str]:
    """Return a sentence for each reason why the outcome is not yet achieved."""
    return _short(plan, marked, total, first=False)


def _short(plan: Plan, marked: Sequence[Marked], total: float | None, *, first: bool) -> list[str]:
    """The reasons; with ``first`` only the first, which is all that a redraw asks."""
    scoring = plan.session.scenario.scoring
    out: list[str] = []
    pass_mark = scoring.pass_mark
    if pass_mark is None or total is None or total < pass_mark - EQUAL:
        got, asked = _percent(total or 0.0), _percent(pass_mark or 0.0)
        out.append(f"The total is {got}; the standard asks for at least {asked}.")
        if first:
            return out
    for one in marked:
        item = one.plan.item
        if isinstance(item, Avoid):
            if item.stops_pass and one.occurred:
                out.append(f"{item.title}: this stops a pass, and it occurred.")
        elif _is_essential(one):
            assert one.credit is not None
            if one.credit < scoring.essential_floor - EQUAL:
                out.append(
                    f"{item.title} is essential and earned {_percent(one.credit)}; "
                    f"at least {_percent(scoring.essential_floor)} is asked."
                )
            elif one.cued and not item.cues_allowed:
                out.append(f"{item.title} is essential and was done after a cue.")
        if first and out:
            return out
    return out


def _is_essential(one: Marked) -> bool:
    return one.plan.item.importance == "essential" and one.credit is not None


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %".replace(".0 %", " %")
