"""Write debriefs into a folder: the only part of the debrief that touches files.

Rules of this file:

- Each session is scored once, and everything is drawn from its card.
- Without a trainee each session gets its own files; for a trainee the newest session gets them,
  with a trend over all of them where there are several.
- Files are named by session and, where they are personal, by the trainee's code. What is to take
  home and the whole are two files each, a web page and a PDF.
- Heavy libraries are imported when something is written, not before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from simengine.debrief.wrote import Wrote
from simengine.problems import InputError, Problem
from simengine.report.files import ReportFiles, safe_name, write_pair
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session


@dataclass(frozen=True, slots=True)
class DebriefFiles(ReportFiles):
    """Where a debrief was written: what is to take home, and the whole."""

    whole: ReportFiles


def write_debrief(
    sessions: Sequence[Session],
    folder: Path | str,
    *,
    trainee: str | None = None,
    card: ScoreCard | None = None,
    first_try: Session | None = None,
    wrote: Wrote | None = None,
    ask_at: str = "",
) -> tuple[DebriefFiles, ...]:
    """Score the sessions and write their debriefs as PDF and web page into ``folder``.

    ``trainee``: the personal debrief of this person key. ``card``: that of the one session, where
    it has been scored. ``first_try``: what the last session is a retry of. ``wrote``: what the
    trainee wrote of it. ``ask_at``: where a server answers "what if?". Raises ``InputError`` where
    no session is given, where the trainee is in none of a session's roles, or where the folder
    can't be written to.
    """
    folder = Path(folder)
    if not sessions:
        raise InputError([_problem(folder, "at least one session", "none", "sessions-missing")])
    if trainee is not None:
        from simengine.scoring.people import check_trainee

        for session in sessions:
            check_trainee(session, trainee)
        sessions = sorted(sessions, key=_wall)
    if card is not None:
        scored = [(sessions[-1], card)]
    else:
        from simengine.scoring import score

        scored = [(session, score(session)) for session in sessions]
    before = _first(first_try)
    if trainee is not None:
        files = write_scored(
            scored, folder, trainee=trainee, first_try=before, wrote=wrote, ask_at=ask_at
        )
        return (files,)
    return tuple(
        write_scored([marked], folder, first_try=before, ask_at=ask_at) for marked in scored
    )


def _first(first_try: Session | None) -> tuple[Session, ScoreCard] | None:
    if first_try is None:
        return None
    from simengine.scoring import score

    return first_try, score(first_try, redraws=0)


def write_scored(
    scored: Sequence[tuple[Session, ScoreCard]],
    folder: Path | str,
    *,
    trainee: str | None = None,
    first_try: tuple[Session, ScoreCard] | None = None,
    wrote: Wrote | None = None,
    ask_at: str = "",
) -> DebriefFiles:
    """Write the debrief of the last of some sessions whose cards are there already."""
    from simengine.debrief.render import render
    from simengine.debrief.scene_builder import scene_of
    from simengine.debrief.what_if import what_ifs

    session, card = scored[-1]
    looked_at = card if trainee is None else _own(session, card, trainee)
    answers = what_ifs(session, looked_at)
    scene = scene_of(session, card, answers[0].other if answers else None, trainee=trainee)
    home, whole = render(scored, trainee, scene, answers, first_try, wrote, ask_at)
    stem = f"debrief-{safe_name(session.scenario.id)}-{safe_name(session.session_id)[:8]}"
    if trainee:
        stem += f"-for-{safe_name(trainee)}"
    folder = Path(folder)
    first = write_pair(folder, stem, *home)
    return DebriefFiles(first.pdf, first.html, write_pair(folder, f"{stem}-whole", *whole))


def _own(session: Session, card: ScoreCard, trainee: str) -> ScoreCard:
    """Return the card with what counts as one person's own alone: no other act is asked about."""
    from simengine.debrief.shown import counting, shown

    items = [score for score, _ in shown(session, card, trainee)]
    return replace(card, items=tuple(counting(session, items, trainee)))


def _wall(session: Session) -> str:
    return session.events[0].wall if session.events else ""


def _problem(folder: Path, expected: str, found: str, code: str) -> Problem:
    return Problem(str(folder), 0, 0, "", expected, found, code)
