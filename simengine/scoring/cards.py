"""The score card: what was found in marking the record, told with its evidence."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from simengine.scenario.key import Avoid, Keep
from simengine.scoring.asking import Asking
from simengine.scoring.card import (
    Deduction,
    Evidence,
    ItemScore,
    Occasion,
    ScoreCard,
)
from simengine.scoring.certainty import Certainty
from simengine.scoring.cued import occasion_is_cued
from simengine.scoring.draw import Draw, Run
from simengine.scoring.marking import Marked
from simengine.scoring.outcome import is_achieved, why_no_outcome, why_not_achieved
from simengine.scoring.plan import Plan
from simengine.scoring.sentences import Teller
from simengine.scoring.told import clock_words, compared, reading_words
from simengine.scoring.totals import NO_INTERVALS, objective_parts, phase_parts, role_parts

Outcome = Literal["achieved", "not yet achieved", "too close to call"]
TOO_CLOSE = 0.10


def score_card(
    plan: Plan,
    draw: Draw,
    marked: Sequence[Marked],
    total: float | None,
    certainty: Certainty | None,
) -> ScoreCard:
    """Put the card together from the marked record and, if it was redrawn, its certainty."""
    teller = Teller(draw)
    outcome, reasons = _outcome(plan, marked, total, certainty, teller)
    parts = NO_INTERVALS if certainty is None else certainty.parts
    return ScoreCard(
        total=total,
        outcome=outcome,
        reasons=tuple(reasons),
        interval=None if certainty is None else certainty.interval,
        items=tuple(
            _item(teller, one, None if certainty is None else certainty.flips[place])
            for place, one in enumerate(marked)
        ),
        deductions=tuple(
            _deduction(teller, one)
            for one in marked
            if isinstance(one.plan.item, Avoid) and one.occurred
        ),
        phases=phase_parts(marked, parts.phases),
        objectives=objective_parts(marked, parts.objectives),
        roles=role_parts(marked, parts.roles),
        slips=tuple(_slips(plan, teller)),
        confirmed=plan.session.record.confirmed,
    )


def _outcome(
    plan: Plan,
    marked: Sequence[Marked],
    total: float | None,
    certainty: Certainty | None,
    teller: Teller,
) -> tuple[Outcome | None, list[str]]:
    why = why_no_outcome(plan, marked, total)
    if why:
        reasons = [why]
        if plan.session.closed in ("stopped early", "safety stop"):
            at = clock_words(plan.end, teller.zero, teller.event)
            reasons.append(f"Stopped at {at}.")
        return None, reasons
    reasons = why_not_achieved(plan, marked, total)
    if certainty is not None and certainty.outcome_flips > TOO_CLOSE:
        return "too close to call", [
            f"With recording times off as they usually are, the outcome changes in "
            f"{certainty.outcome_flips * 100:.0f} % of {len(certainty.totals):,} trials.",
            *reasons,
        ]
    return ("achieved" if is_achieved(plan, marked, total) else "not yet achieved"), reasons


def _item(teller: Teller, one: Marked, flip: float | None) -> ItemScore:
    item = one.plan.item
    occasions = tuple([_occasion(teller, one.askings, place) for place in range(len(one.askings))])
    roles = {occasion.role for occasion in occasions if occasion.credit is not None}
    return ItemScore(
        id=item.id,
        kind=one.plan.kind,
        title=item.title,
        importance=item.importance,
        weight=one.plan.weight,
        applied=one.credit is not None,
        credit=one.credit,
        verdict=one.verdict,
        role=item.role or (roles.pop() if len(roles) == 1 else None),
        objective=item.objective,
        with_cue=one.cued,
        sentence=teller.sentence(one),
        why=item.why,
        reference=item.reference,
        occasions=occasions,
        evidence=_evidence(teller, one, occasions),
        phase=one.plan.guide.phase,
        part_ms=one.part,
        whole_ms=one.whole,
        flip=flip,
    )


def _occasion(teller: Teller, askings: Sequence[Asking], number: int) -> Occasion:
    asking = askings[number]
    served = asking.served if asking.reached else None
    role = asking.plan.item.role
    if role is None and served is not None:
        role = served.run.source.role
    run = served.run if served is not None else asking.attempted
    evidence: tuple[Evidence, ...] = ()
    if asking.reached and run is not None:
        evidence = (_run_evidence(teller, run, _event_words(teller, run)),)
    return Occasion(
        opened_ms=asking.at,
        done_ms=None if served is None else served.at,
        delay_ms=None if served is None else served.delay,
        time_credit=None if served is None else served.time_credit,
        settings_credit=None if served is None else served.settings.credit,
        credit=asking.credit if asking.reached else None,
        verdict=asking.verdict,
        role=role,
        with_cue=asking.reached and occasion_is_cued(teller.draw, askings, number),
        settings=teller.compared(asking) if asking.reached else (),
        evidence=evidence,
        sentence=teller.occasion(asking),
    )


def _evidence(
    teller: Teller, one: Marked, occasions: Sequence[Occasion] = ()
) -> tuple[Evidence, ...]:
    """What an item's verdict rests on."""
    item = one.plan.item
    draw = teller.draw
    if one.plan.set_aside:
        return ()
    if occasions:
        return tuple([found for occasion in occasions for found in occasion.evidence])
    if isinstance(item, Keep):
        assert one.plan.condition is not None
        return tuple(
            Evidence(None, start, f"So from {teller.interval_words(start, stop)}.")
            for entry, exit_ in one.plan.during
            for start, stop in draw.truth(one.plan.condition, entry, exit_)
        )
    if isinstance(item, Avoid):
        return tuple(
            _run_evidence(teller, run, _event_words(teller, run))
            if run is not None
            else Evidence(None, stretch[0], f"{teller.interval_words(*stretch)}.")
            for stretch, run in one.occurred
        )
    return tuple(
        _run_evidence(teller, run, _event_words(teller, run)) for run in one.runs if run is not None
    )


def _run_evidence(teller: Teller, run: Run, words: str) -> Evidence:
    source = run.source
    event_id = getattr(source, "event_id", None)
    performance = getattr(source, "performance", None)
    if performance is not None:
        event_id = performance.event_id
    return Evidence(event_id, run.start, words)


def _event_words(teller: Teller, run: Run) -> str:
    vocabulary = teller.vocabulary
    when = teller.interval_words(run.start, run.stop)
    source = run.source
    performance = getattr(source, "performance", None)
    if performance is not None:
        way = "" if performance.way == "done" else f", {performance.way}"
        given = "".join(
            f", {vocabulary.settings[name].label} {reading_words(reading)}"
            for name, reading in performance.as_read.items()
            if name in vocabulary.settings
        )
        return f"{vocabulary.actions[performance.action].label}{way}{given}: {when}."
    setting = getattr(source, "setting", None)
    if setting is not None:
        return f"{vocabulary.settings[setting].label}: {when}."
    return f"{'Found' if getattr(source, 'status', '') == 'found' else 'Put right'}: {when}."


def _deduction(teller: Teller, one: Marked) -> Deduction:
    item = one.plan.item
    assert isinstance(item, Avoid)
    return Deduction(
        id=item.id,
        title=item.title,
        occurrences=len(one.occurred),
        amount=one.deducted,
        stops_pass=item.stops_pass,
        evidence=_evidence(teller, one),
    )


def _slips(plan: Plan, teller: Teller) -> list[Evidence]:
    """Ten-fold slips in doses as recorded, each performance once."""
    found: list[Evidence] = []
    seen: set[int] = set()
    for item in plan.items:
        for seq, parts in item.doses.items():
            for part in parts:
                if not part.tenfold or seq in seen:
                    continue
                seen.add(seq)
                performance = next(
                    done for done in plan.session.record.performances if done.seq == seq
                )
                told = compared(teller.draw, (part,), performance.start_ms, 0, performance)[0]
                when = clock_words(performance.start_ms, teller.zero, teller.event)
                label = teller.vocabulary.actions[performance.action].label
                found.append(
                    Evidence(
                        performance.event_id,
                        performance.start_ms,
                        f"{label} at {when}: the dose recorded was {told.read}, {part.tenfold} the "
                        f"{told.asked} that is asked. Was it given so, or written down so?",
                    )
                )
    return found
