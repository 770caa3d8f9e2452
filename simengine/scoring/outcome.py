"""The outcome that the program proposes. A person signs one.

Rules of this file:

- Only for a session closed as finished, in which an essential item applied, and which is not
  formative; and only where the pass mark stands on a recorded standard, which one invented for
  demonstration is not.
- A ten-fold slip asks a question, and no outcome is proposed until a person has answered it.
- ``achieved``: the total reaches the pass mark; every essential item that applied has at least
  the essential floor, had in no occasion that was served an amount of a dose, or a setting that it
  lists under ``must``, of credit 0, and was met without a cue (unless cues are allowed); and
  nothing marked as stopping a pass occurred, nor anything unsafe in any baby. Comparisons allow
  1e-9 for the last digits of doubles.
- What is unsafe because something is not in the record stops a pass only once it is confirmed.
- ``too close to call``: it changes in over 10 % of the redraws, or hangs on something unsafe that
  stands in under 90 % of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simengine.quantities.formatting import in_a_sentence, percents_apart
from simengine.scoring.card import EQUAL
from simengine.scoring.catalogue import say
from simengine.scoring.doses import AMOUNT
from simengine.scoring.findings import open_slips
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan, Plan


def why_no_outcome(plan: Plan, marked: Sequence[Marked], total: float | None) -> str:
    """Return a sentence where no outcome is proposed; empty where one is."""
    key = _no_outcome(plan, marked, total)
    return say(key) if key else ""


def _no_outcome(plan: Plan, marked: Sequence[Marked], total: float | None) -> str:
    session = plan.session
    scoring = session.scenario.scoring
    if session.purpose == "formative":
        return "no_outcome_formative"
    if session.closed == "stopped early":
        return "no_outcome_stopped"
    if session.closed == "safety stop":
        return "no_outcome_safety"
    if session.closed is None:
        return "no_outcome_open"
    if scoring.standard is not None and scoring.standard.demonstration:
        return "no_outcome_demonstration"
    if not scoring.is_set:
        return "no_outcome_standard"
    if total is None or not any(_is_essential(item) for item in marked):
        return "no_outcome_essential"
    if open_slips(plan):
        return "no_outcome_slip"
    return ""


def is_achieved(
    plan: Plan,
    marked: Sequence[Marked],
    total: float | None,
    *,
    apart_from: Sequence[int] = (),
) -> bool:
    """Whether a session that has an outcome achieved it; ``apart_from``: places left out."""
    judged = [item for place, item in enumerate(marked) if place not in apart_from]
    return next(_short(plan, judged, total), None) is None


def is_never(marked: Marked) -> bool:
    """Whether an item is about what is unsafe in any baby."""
    return marked.plan.item.never


def why_not_achieved(plan: Plan, marked: Sequence[Marked], total: float | None) -> list[str]:
    """Return a sentence for each reason why the outcome is not yet achieved."""
    return [say(key, **places) for key, places in _short(plan, marked, total)]


Reason = tuple[str, dict[str, str]]
"""The key of a sentence, and what fills its places."""


def _short(plan: Plan, marked: Sequence[Marked], total: float | None) -> Iterator[Reason]:
    """Yield each reason; a redraw asks for the first alone."""
    scoring = plan.session.scenario.scoring
    pass_mark = scoring.pass_mark
    if pass_mark is None or total is None or total < pass_mark - EQUAL:
        got, needed = percents_apart(total or 0.0, pass_mark or 0.0)
        yield "short_total", {"got": got, "asked": needed}
    for scored in marked:
        item = scored.plan.item
        if not item.credited:
            if item.stops_pass and scored.occurred and stops_pass_yet(plan, scored.plan):
                yield "short_unsafe" if item.never else "short_avoid", {"title": item.title}
        elif _is_essential(scored):
            assert scored.credit is not None
            if scored.credit < scoring.essential_floor - EQUAL:
                got, needed = percents_apart(scored.credit, scoring.essential_floor)
                yield "short_essential", {"title": item.title, "got": got, "asked": needed}
            part = wholly_off(scored)
            if part:
                yield "short_must", {"title": item.title, "part": part}
            if scored.with_cue and not item.cues_allowed:
                yield "short_cue", {"title": item.title}


def stops_pass_yet(plan: Plan, laid: ItemPlan) -> bool:
    """Whether something unsafe stops a pass yet, see the rules of this file."""
    item = laid.item
    rests = laid.guide.rests_on_absence and item.never
    return not rests or plan.session.record.confirmed


def wholly_off(scored: Marked) -> str:
    """Return the dose or the setting under ``must`` that earned nothing where it was served."""
    item = scored.plan.item
    vocabulary = scored.plan.session.scenario.vocabulary
    for occasion in scored.occasions:
        if occasion.match is None or not occasion.reached:
            continue
        off = occasion.match.settings.wholly_off
        if item.dose is not None and AMOUNT in off:
            return say("the_dose")
        for name in item.must:
            if name in off:
                return in_a_sentence(vocabulary.settings[name].label)
    return ""


def _is_essential(marked: Marked) -> bool:
    return marked.plan.item.importance == "essential" and marked.credit is not None
