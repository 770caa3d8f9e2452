"""What scoring finds in a record besides verdicts: slips, doses too small, values told wrong.

Rules of this file:

- A ten-fold slip is found in any dose that an item asks for or that the protocol gives a range for,
  matched or not. It asks whether it was given so, or written down so; it is answered once a person
  has corrected the dose of that entry (also to the same), or confirmed the record.
- Too little is an amount below half the low end as written, of the item that asks a dose, else of
  the protocol; of parts that add up, all of them. Without a route it is so only by every range.
- A value told wrong is told of every observation, whether an item asks for it or not, and of every
  gauge of a supply.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from simengine.quantities import Range
from simengine.scenario.gauges import as_shown
from simengine.scoring.doses import (
    AMOUNT,
    amounts_given,
    is_too_little,
    tenfold,
)
from simengine.scoring.knowledge import Telling, tellings_of
from simengine.scoring.parts import PartCredit
from simengine.scoring.plan import Plan
from simengine.scoring.resample import Resample, Step
from simengine.session.doses import as_written, dose_per_kg
from simengine.session.gauges import range_shown
from simengine.session.record import Performance
from simengine.session.truth import is_as_wanted

Dose = tuple[int, PartCredit]
"""The ``seq`` of a performance, and its amount beside what is asked."""


def slips(plan: Plan) -> list[Dose]:
    """Return the ten-fold slips in doses as recorded, each performance once."""
    by_seq: dict[int, PartCredit] = {}
    for item in plan.items:
        for seq, parts in item.doses.items():
            for part in parts:
                if part.tenfold:
                    by_seq.setdefault(seq, part)
    for seq, part in _by_protocol(plan):
        if part.tenfold:
            by_seq.setdefault(seq, part)
    return list(by_seq.items())


def open_slips(plan: Plan) -> list[Dose]:
    """Return the ten-fold slips about which no person has said yet how they came about."""
    session = plan.session
    if session.record.confirmed:
        return []
    answered = {
        str(event.data.get("id"))
        for event in session.events
        if event.kind == "amend" and "dose" in (event.data.get("fields") or {})
    }
    ids = {done.seq: done.event_id for done in session.record.performances}
    return [(seq, part) for seq, part in slips(plan) if ids[seq] not in answered]


def too_little(plan: Plan) -> list[Dose]:
    """Return the doses that are far too small, each once, by the item or else by the protocol."""
    by_seq: dict[int, PartCredit] = {}
    judged: set[int] = set()
    for item in plan.items:
        judged.update(item.doses)
        for seq, parts in item.doses.items():
            for part in parts:
                if part.name == AMOUNT and seq not in item.followers and _is_little(part):
                    by_seq.setdefault(seq, part)
    session = plan.session
    weight_g = session.scenario.infant.weight_g
    for action, by_route in session.scenario.doses.items():
        entry = session.scenario.vocabulary.actions[action].dose
        if entry is None:
            continue
        given = [done for done in session.record.performances if done.action == action]
        low = min(as_written(wanted)[0] for wanted in by_route.values())
        amounts, followers = amounts_given(given, entry, weight_g, low)
        for done in given:
            amount = amounts[done.seq]
            if amount is None or done.seq in followers or done.seq in judged:
                continue
            ranges = _by_route(by_route, done)
            if ranges and all(is_too_little(amount, wanted) for wanted in ranges):
                by_seq[done.seq] = PartCredit(AMOUNT, amount, ranges[0], 0.0, True)
    return list(by_seq.items())


def told_wrong(resample: Resample) -> list[tuple[str, Telling]]:
    """Return each value that was said and is far from the truth, with its observation."""
    return [
        (observation, telling)
        for observation in resample.plan.telling
        for telling in tellings_of(resample, observation)
        if not telling.near
    ]


def gauges_told_wrong(resample: Resample) -> list[tuple[Step, Range]]:
    """Return each reading of a gauge that is far from what that showed, and what that was."""
    session = resample.plan.session
    vocabulary = session.scenario.vocabulary
    misread: list[tuple[Step, Range]] = []
    for supply in vocabulary.supplies.values():
        setting = supply.gauge.setting if supply.gauge is not None else None
        wanted = as_shown(setting, vocabulary) if setting is not None else None
        if setting is None or wanted is None:
            continue
        for step in resample.steps(setting)[1]:
            shown = range_shown(wanted, session.supplies, step.at)
            if step.change.touched and shown is not None and not is_as_wanted(step.value, shown):
                misread.append((step, shown))
    return misread


def _is_little(part: PartCredit) -> bool:
    return isinstance(part.value, float) and is_too_little(part.value, part.wanted)  # type: ignore[arg-type]


def _by_protocol(plan: Plan) -> Iterator[Dose]:
    scenario = plan.session.scenario
    for done in plan.session.record.performances:
        by_route, entry = scenario.doses.get(done.action), None
        if by_route and done.dose:
            entry = scenario.vocabulary.actions[done.action].dose
        if not by_route or entry is None:
            continue
        amount = dose_per_kg(entry, done.dose, scenario.infant.weight_g)
        ranges = _by_route(by_route, done)
        if amount is None or not ranges:
            continue
        words = [tenfold(amount, wanted) for wanted in ranges]
        if all(words):
            yield done.seq, PartCredit(AMOUNT, amount, ranges[0], 0.0, True, words[0])


def _by_route(by_route: Mapping[str, Range], done: Performance) -> list[Range]:
    """The ranges that a dose is judged by: that of its route, all where no route was recorded."""
    route = done.dose.get("route")
    if route is None:
        return list(by_route.values())
    wanted = by_route.get(str(route.value))
    return [] if wanted is None else [wanted]
