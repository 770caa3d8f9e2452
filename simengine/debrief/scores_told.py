"""Scores that a team told, each beside the one that the baby's true signs made just then.

Rules of this file:

- Which signs make a score, and what earns its points, is the vocabulary's, with its source.
- Where the scenario shows one of the signs not at all, the signs make no score.
"""

from __future__ import annotations

from collections.abc import Iterator

from simengine.debrief.debrief_sentences import say
from simengine.debrief.words import at
from simengine.report.blocks import Table
from simengine.scenario.vocabulary import AddsUp, Observation
from simengine.session.readings import true_value
from simengine.session.record import Session
from simengine.session.truth import is_as_wanted


def scores_told(session: Session) -> Table | None:
    """Return each score told with the one that the signs made; ``None`` where none was told."""
    rows = tuple(_rows(session))
    if not rows:
        return None
    scores = [score for score in _scores(session) if score.adds_up is not None]
    sources = dict.fromkeys(score.adds_up.source for score in scores if score.adds_up is not None)
    return Table(
        title=say("told_scores_title"),
        columns=(say("told_scores_when"), say("told_scores_told"), say("told_scores_signs")),
        rows=rows,
        lead=say("told_scores_lead"),
        note=say("told_scores_source", source="; ".join(sources)),
    )


def made_by_signs(score: AddsUp, session: Session, at_ms: int) -> int | None:
    """Return what the true signs of an instant add up to; ``None`` where one is not shown."""
    total = 0
    for sign, points in score.signs.items():
        value = true_value(sign, session.curves, session.words, at_ms)
        if value is None:
            return None
        total += max(
            (int(earned) for earned, wanted in points.items() if is_as_wanted(value, wanted)),
            default=0,
        )
    return total


def _scores(session: Session) -> Iterator[Observation]:
    return (
        entry
        for entry in session.scenario.vocabulary.observations.values()
        if entry.adds_up is not None
    )


def _rows(session: Session) -> Iterator[tuple[str, str, str]]:
    for entry in _scores(session):
        assert entry.adds_up is not None
        for done in session.record.performances:
            spoken = done.spoken.get(entry.name)
            if spoken is None:
                continue
            made = made_by_signs(entry.adds_up, session, done.start_ms)
            signs = say("told_scores_not_known") if made is None else str(made)
            told_as = spoken.value if isinstance(spoken.value, str) else f"{spoken.value:g}"
            yield at(session, done.start_ms), f"{entry.label} {told_as}", signs
