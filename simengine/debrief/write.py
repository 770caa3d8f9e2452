"""Write debriefs into a folder: the only part of the debrief that touches files.

Rules of this file:

- Without a trainee each session gets its own pair of files; for a trainee the newest session gets
  one pair, with a trend over all of them where there are several.
- Files are named by session and, where it is personal, by the trainee's code.
- Heavy libraries are imported when something is written, not before.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

from simengine.debrief.beside import cards_of
from simengine.problems import InputError, Problem
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session


@dataclass(frozen=True, slots=True)
class DebriefFiles:
    """Where a debrief was written."""

    pdf: Path
    html: Path


def write_debrief(
    sessions: Sequence[Session], folder: Path | str, *, trainee: str | None = None
) -> tuple[DebriefFiles, ...]:
    """Score the sessions and write their debriefs as PDF and web page into ``folder``.

    ``trainee``: the personal debrief of this person key. Raises ``InputError`` where no session
    is given, where the trainee is in none of a session's roles, or where the folder can't be
    written to.
    """
    folder = Path(folder)
    if not sessions:
        raise InputError([_problem(folder, "at least one session", "none", "sessions-missing")])
    if trainee is not None:
        from simengine.debrief.people import check_trainee

        for session in sessions:
            check_trainee(session, trainee)
        sessions = sorted(sessions, key=_wall)
    cards = cards_of(sessions)
    # Takes as long as the scores, which are made meanwhile.
    import_module("simengine.debrief.render")
    scored = list(zip(sessions, cards(), strict=True))
    if trainee is None:
        return tuple(write_scored([one], folder) for one in scored)
    return (write_scored(scored, folder, trainee=trainee),)


def write_scored(
    scored: Sequence[tuple[Session, ScoreCard]], folder: Path, *, trainee: str | None = None
) -> DebriefFiles:
    """Write the debrief of the last of these sessions, whose cards are there already."""
    from simengine.debrief.render import render

    pdf, html = render(scored, trainee)
    session = scored[-1][0]
    stem = f"debrief-{_safe(session.scenario.id)}-{_safe(session.session_id)[:8]}"
    if trainee:
        stem += f"-for-{_safe(trainee)}"
    files = DebriefFiles(folder / f"{stem}.pdf", folder / f"{stem}.html")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        files.pdf.write_bytes(pdf)
        files.html.write_text(html, encoding="utf-8", newline="\n")
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(
            [_problem(folder, "a folder that can be written to", reason, "folder-unwritable")]
        ) from error
    return files


def _wall(session: Session) -> str:
    return session.events[0].wall if session.events else ""


def _safe(text: str) -> str:
    """Return text that is safe in a file's name on any system."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", text).strip("-.") or "unnamed"


def _problem(folder: Path, expected: str, found: str, code: str) -> Problem:
    return Problem(str(folder), 0, 0, "", expected, found, code)
