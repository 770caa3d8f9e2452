"""What went well, what to work on, and the key times.

Rules of this file:

- Well: items that applied and were met in full, heaviest first, those without a cue before those
  with one, and no objective twice while another has something to show.
- To work on: what was unsafe in any baby first and all of it; then items and deductions by what
  they cost (weight × what was missing), so that three points hold most of what could be gained.
  What recording error could overturn comes last.
- Evidence is the score card's own sentence; the why is the marking guide's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from simengine.debrief.debrief_page import Point, Points
from simengine.debrief.debrief_sentences import say
from simengine.debrief.marking import caution, own_marks
from simengine.debrief.words import team_clock
from simengine.quantities import format_duration
from simengine.quantities.formatting import clock
from simengine.report.blocks import Sign, Table
from simengine.scenario.key import Windowed
from simengine.scoring.card import Deduction, ItemScore, Verdict
from simengine.session.record import Session

MOST = 3
_MET = 0.999


def went_well(session: Session, scores: Sequence[ItemScore]) -> Points:
    """Return up to three things that went well."""
    met = [
        score
        for score in scores
        if score.applied and score.credit is not None and score.credit >= _MET
    ]
    met.sort(key=lambda score: (score.too_close, score.with_cue, -score.weight))
    chosen: list[ItemScore] = []
    for fresh in (True, False):
        for score in met:
            taken = {other.objective for other in chosen}
            if len(chosen) < MOST and score not in chosen:
                if fresh and score.objective in taken:
                    continue
                chosen.append(score)
    return Points(
        title=say("went_well_title"),
        points=tuple(_point(session, score) for score in chosen),
        nothing="" if chosen else say("went_well_nothing"),
    )


def work_on(
    session: Session,
    scores: Sequence[ItemScore],
    deductions: Sequence[Deduction],
    sentences: Mapping[str, str],
) -> Points:
    """Return up to three things worth working on; ``sentences`` of what was not advised, by id."""
    total = sum(score.weight for score in scores if score.applied) or 1.0
    lost: list[tuple[bool, float, Point]] = [
        (
            score.too_close,
            -score.weight * (1 - score.credit) / total,
            _point(session, score),
        )
        for score in scores
        if score.applied and score.credit is not None and score.credit < _MET
    ]
    scenario = session.scenario
    unsafe = {item.id for item in scenario.never}
    whys = {item.id: item.why for item in (*scenario.key, *scenario.never)}
    for deduction in deductions:
        if not deduction.occurrences:
            continue
        lost.append(
            (
                False,
                -inf if deduction.id in unsafe else -deduction.amount,
                Point(
                    item=deduction.id,
                    title=deduction.title,
                    evidence=sentences.get(deduction.id, ""),
                    why=whys.get(deduction.id, ""),
                ),
            )
        )
    lost.sort(key=lambda entry: entry[:2])
    return Points(
        title=say("work_on_title"),
        points=tuple(
            point for place, (_, cost, point) in enumerate(lost) if place < MOST or cost == -inf
        ),
        nothing="" if lost else say("work_on_nothing"),
    )


def _point(session: Session, score: ItemScore) -> Point:
    return Point(
        item=score.id,
        title=score.title,
        evidence=score.sentence,
        why=score.why,
        notes=own_marks(session, score),
    )


def key_times(
    session: Session, scores: Sequence[ItemScore], signs: Mapping[Verdict, Sign]
) -> Table | None:
    """Return the table of key times: asked by, done at, the difference."""
    by_id = {score.id: score for score in scores}
    items = {item.id: item for item in session.scenario.key}
    rows = []
    for name in session.scenario.key_times:
        item, score = items.get(name), by_id.get(name)
        if score is None or not isinstance(item, Windowed):
            continue
        rows += _key_time_rows(session, item, score, signs)
    if not rows:
        return None
    return Table(
        title=say("key_times_title"),
        columns=(
            say("key_times_step"),
            say("key_times_asked_by"),
            say("key_times_done_at"),
            say("key_times_difference"),
            say("key_times_verdict"),
        ),
        rows=tuple(rows),
        lead=say("key_times_lead"),
        note=caution(session),
    )


def _key_time_rows(
    session: Session, item: Windowed, score: ItemScore, signs: Mapping[Verdict, Sign]
) -> list[tuple[str, ...]]:
    ideal = item.ideal_ms
    reached = [occasion for occasion in score.occasions if occasion.verdict != "not reached"]
    if not reached:
        return [(score.title, "–", "–", "–", signs["not reached"].word)]
    rows: list[tuple[str, ...]] = []
    for number, occasion in enumerate(reached[:MOST]):
        due = team_clock(session, occasion.opened_ms + ideal)
        title = (
            score.title
            if number == 0
            else say("key_time_rows_time", title=score.title, number=number + 1)
        )
        word = signs[occasion.verdict].word
        if occasion.done_ms is None:
            rows.append((title, clock(due), "–", "–", word))
            continue
        done = team_clock(session, occasion.done_ms)
        rows.append((title, clock(due), clock(done), difference(done, due), word))
    return rows


def difference(done_ms: int, due_ms: int) -> str:
    """Tell how far apart two instants on the clock are, both cut to whole seconds as shown."""
    apart = (done_ms // 1000 - due_ms // 1000) * 1000
    if apart == 0:
        return say("difference_none")
    return f"{format_duration(abs(apart))} {'later' if apart > 0 else 'sooner'}"


def summary_lines(
    scores: Sequence[ItemScore], signs: Mapping[Verdict, Sign], *, personal: bool = False
) -> tuple[str, ...]:
    """Return the sentences that open the summary: how many items, and with what verdicts.

    ``personal``: the items are those of one person's roles.
    """
    applied = [score for score in scores if score.applied]
    counts: dict[str, int] = {}
    for score in applied:
        word = signs[score.verdict].word
        counts[word] = counts.get(word, 0) + 1
    totals = ", ".join(f"{number} {word}" for word, number in counts.items())
    close = sum(score.too_close for score in applied)
    key = "summary_verdicts_personal" if personal else "summary_verdicts"
    lines = [say(key, scores=len(scores), applied=len(applied), told=totals)]
    if close:
        lines.append(say("summary_too_close", close=close, are="is" if close == 1 else "are"))
    return tuple(lines)


def share(scores: Sequence[ItemScore]) -> float | None:
    """Return the weighted share of credit of some items; ``None`` where none applied."""
    counted = [score for score in scores if score.applied and score.credit is not None]
    weight = sum(score.weight for score in counted)
    if not weight:
        return None
    return sum(score.weight * (score.credit or 0.0) for score in counted) / weight
