"""The score card: what was found in marking the record, told with its evidence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from simengine.scenario.key import Avoid
from simengine.scoring.card import (
    Deduction,
    Evidence,
    Found,
    ItemScore,
    OccasionScore,
    ScoreCard,
)
from simengine.scoring.catalogue import say
from simengine.scoring.certainty import Certainty
from simengine.scoring.findings import gauges_told_wrong, slips, told_wrong, too_little
from simengine.scoring.mark import Marked
from simengine.scoring.occasion import Occasion
from simengine.scoring.outcome import is_achieved, is_never, why_no_outcome, why_not_achieved
from simengine.scoring.plan import Plan
from simengine.scoring.totals import NO_INTERVALS, objective_parts, phase_parts, role_parts
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.scoring.with_cue import occasion_with_cue

Outcome = Literal["achieved", "not yet achieved", "too close to call"]
TOO_CLOSE = 0.10
STANDS = 0.90
"""In less than this share of redraws an unsafe event is too close to call."""


def score_card(
    plan: Plan,
    words: VerdictSentences,
    marked: Sequence[Marked],
    total: float | None,
    certainty: Certainty | None,
) -> ScoreCard:
    """Put the card together from the marked record and, if it was redrawn, its certainty.

    ``words`` says the verdicts; one without words leaves every sentence empty.
    """
    outcome, reasons = _outcome(plan, marked, total, certainty, words)
    parts = NO_INTERVALS if certainty is None else certainty.parts
    items: list[ItemScore] = []
    unsafe: list[ItemScore] = []
    for place, item in enumerate(marked):
        scored = _item(words, item, None if certainty is None else certainty.flips[place])
        if not is_never(item):
            items.append(scored)
        elif item.occurred:
            unsafe.append(scored)
    return ScoreCard(
        total=total,
        outcome=outcome,
        reasons=tuple(reasons),
        interval=None if certainty is None else certainty.interval,
        items=tuple(items),
        deductions=tuple(_deduction(words, item) for item in marked if item.occurred),
        phases=phase_parts(marked, parts.phases),
        objectives=objective_parts(marked, parts.objectives),
        roles=role_parts(marked, parts.roles),
        unsafe=tuple(unsafe),
        found=tuple(_found(plan, words)),
        unrecorded=sum(item.unrecorded for item in marked),
        confirmed=plan.session.record.confirmed,
    )


def _outcome(
    plan: Plan,
    marked: Sequence[Marked],
    total: float | None,
    certainty: Certainty | None,
    words: VerdictSentences,
) -> tuple[Outcome | None, list[str]]:
    why = why_no_outcome(plan, marked, total)
    if why:
        reasons = [why]
        if plan.session.closed in ("stopped early", "safety stop"):
            reasons.append(say("stopped_at", when=words.clock(plan.end)))
        return None, reasons
    reasons = why_not_achieved(plan, marked, total)
    if certainty is None:
        return ("not yet achieved" if reasons else "achieved"), reasons
    if certainty.outcome_flips > TOO_CLOSE:
        close = say(
            "close_outcome",
            share=certainty.outcome_flips * 100,
            redraws=len(certainty.totals),
        )
        return "too close to call", [close, *reasons]
    doubtful = [
        place
        for place, item in enumerate(marked)
        if is_never(item) and item.occurred and certainty.stands[place] < STANDS
    ]
    without = (total or 0.0) + sum(marked[place].deducted for place in doubtful)
    if doubtful and reasons and is_achieved(plan, marked, without, apart_from=doubtful):
        close_calls = [
            say(
                "close_unsafe",
                title=marked[place].plan.item.title,
                share=certainty.stands[place] * 100,
            )
            for place in doubtful
        ]
        return "too close to call", [*close_calls, *reasons]
    return ("not yet achieved" if reasons else "achieved"), reasons


def _item(words: VerdictSentences, marked: Marked, flip: float | None) -> ItemScore:
    plan, item = marked.plan, marked.plan.item
    occasions = tuple(
        [_occasion(words, marked.occasions, place) for place in range(len(marked.occasions))]
    )
    roles = {occasion.role for occasion in occasions if occasion.credit is not None}
    return ItemScore(
        id=item.id,
        kind=plan.item.kind,
        title=item.title,
        importance=item.importance,
        weight=plan.weight,
        applied=marked.credit is not None,
        credit=marked.credit,
        verdict=marked.verdict,
        role=item.role or (roles.pop() if len(roles) == 1 else None),
        objective=item.objective,
        with_cue=marked.with_cue,
        sentence=words.sentence(marked),
        why=item.why,
        reference=item.reference,
        occasions=occasions,
        evidence=_evidence(words, marked),
        phase=plan.guide.phase,
        part_ms=marked.part,
        whole_ms=marked.whole,
        flip=flip,
        unrecorded=marked.unrecorded,
    )


def _occasion(words: VerdictSentences, occasions: Sequence[Occasion], number: int) -> OccasionScore:
    occasion = occasions[number]
    match = occasion.match if occasion.reached else None
    role = occasion.plan.item.role
    if role is None and match is not None:
        role = match.run.source.role
    return OccasionScore(
        opened_ms=occasion.at,
        done_ms=None if match is None else match.at,
        delay_ms=None if match is None else match.delay,
        time_credit=None if match is None else match.time_credit,
        settings_credit=None if match is None else match.settings.credit,
        credit=occasion.credit if occasion.reached else None,
        verdict=occasion.verdict,
        role=role,
        with_cue=occasion.reached and occasion_with_cue(words.resample, occasions, number),
        settings=words.compared(occasion) if occasion.reached else (),
        evidence=words.occasion_evidence(occasion),
        sentence=words.occasion(occasion),
    )


def _evidence(words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
    return () if marked.plan.set_aside else marked.plan.guide.kind.evidence(words, marked)


def _deduction(words: VerdictSentences, marked: Marked) -> Deduction:
    item = marked.plan.item
    assert isinstance(item, Avoid)
    return Deduction(
        id=item.id,
        title=item.title,
        occurrences=len(marked.occurred),
        amount=marked.deducted,
        stops_pass=item.stops_pass,
        evidence=_evidence(words, marked),
    )


def _found(plan: Plan, words: VerdictSentences) -> Iterator[Found]:
    for seq, part in slips(plan):
        yield Found("ten-fold", words.slip(seq, part))
    for seq, part in too_little(plan):
        yield Found("too little", words.too_little(seq, part))
    for observation, telling in told_wrong(words.resample):
        yield Found("told wrong", words.told_wrong(observation, telling))
    for step, shown in gauges_told_wrong(words.resample):
        yield Found("told wrong", words.gauge_told_wrong(step, shown))
