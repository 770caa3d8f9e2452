"""Write debriefs into a folder: the only part of the debrief that touches files.

Rules of this file:

- Without a trainee each session gets its own pair of files; for a trainee the newest session gets
  one pair, with a trend over all of them where there are several.
- Files are named by session and, where it is personal, by the trainee's code.
- Heavy libraries are imported when something is written, not before.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.debrief.artist import Artist
from simengine.debrief.scorer import Scorer
from simengine.problems import InputError, Problem
from simengine.report.files import ReportFiles, safe_name, write_pair
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session

if TYPE_CHECKING:
    from simengine.debrief.scene import Scene


def write_debrief(
    sessions: Sequence[Session],
    folder: Path | str,
    *,
    trainee: str | None = None,
    artist: Artist | None = None,
) -> tuple[ReportFiles, ...]:
    """Score the sessions and write their debriefs as PDF and web page into ``folder``.

    ``trainee``: the personal debrief of this person key. ``artist``: who draws, if asked for
    already. Raises ``InputError`` where no session is given, where the trainee is in none of a
    session's roles, or where the folder can't be written to.
    """
    folder = Path(folder)
    if not sessions:
        raise InputError([_problem(folder, "at least one session", "none", "sessions-missing")])
    if trainee is not None:
        from simengine.scoring.people import check_trainee

        for session in sessions:
            check_trainee(session, trainee)
        sessions = sorted(sessions, key=_wall)
    printed = len(sessions) - 1 if trainee is not None else 0
    with artist or Artist() as drawing, Scorer(sessions) as scorer:
        # Loaded while the scores are made, and the rest while the pictures are drawn.
        scene_of = import_module("simengine.debrief.sighting").scene_of
        cards = scorer.as_recorded()
        scenes = [
            scene_of(session, card)
            for session, card in zip(sessions[printed:], cards[printed:], strict=True)
        ]
        for scene in scenes:
            drawing.show(scene)
        import_module("simengine.debrief.render")
        scored = list(zip(sessions, scorer.with_intervals(), strict=True))
        if trainee is not None:
            return (_write(scored, scenes[-1], drawing, folder, trainee),)
        return tuple(
            _write([one], scene, drawing, folder) for one, scene in zip(scored, scenes, strict=True)
        )


def write_scored(scored: tuple[Session, ScoreCard], folder: Path) -> ReportFiles:
    """Write the debrief of a session whose card is there already."""
    from simengine.debrief.sighting import scene_of

    with Artist() as drawing:
        scene = scene_of(*scored)
        drawing.show(scene)
        return _write([scored], scene, drawing, folder)


def _write(
    scored: Sequence[tuple[Session, ScoreCard]],
    scene: Scene,
    artist: Artist,
    folder: Path,
    trainee: str | None = None,
) -> ReportFiles:
    from simengine.debrief.render import render

    pdf, html = render(scored, trainee, scene, artist)
    session = scored[-1][0]
    stem = f"debrief-{safe_name(session.scenario.id)}-{safe_name(session.session_id)[:8]}"
    if trainee:
        stem += f"-for-{safe_name(trainee)}"
    return write_pair(folder, stem, pdf, html)


def _wall(session: Session) -> str:
    return session.events[0].wall if session.events else ""


def _problem(folder: Path, expected: str, found: str, code: str) -> Problem:
    return Problem(str(folder), 0, 0, "", expected, found, code)
