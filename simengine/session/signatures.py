"""Which signatures make sense: what is refused when it is given, and has no effect when it is read.

Rules of this file:

- An outcome is signed for a summative session that was finished, and only where the scenario has a
  recorded standard. Anything else has no outcome that anybody could sign.
- A signature that makes no sense is refused by whoever takes entries. One in a log that came from
  elsewhere is kept, since nothing is rewritten; it is a finding (``signed-in-vain``), and counts
  for nothing.
"""

from __future__ import annotations

from simengine.session.record import Session


def why_not_signed(purpose: str, closed: str | None, *, standard: bool | None) -> str:
    """Return why a session has no outcome to sign; empty where it has one.

    ``closed``: why it ended. ``standard``: whether the scenario has a recorded standard, ``None``
    where that is not known here.
    """
    if purpose != "summative":
        return f"A {purpose} session has no outcome to sign."
    if closed != "finished":
        return "Only a session that was finished has an outcome."
    if standard is False:
        return (
            "The scenario has no pass mark with a recorded standard (method, panel, date), so "
            "there is no outcome to sign."
        )
    return ""


def why_no_signature_counts(session: Session) -> str:
    """Return why no signature in a session's log has any effect; empty where they have."""
    standard = session.scenario.scoring.is_set
    return why_not_signed(session.purpose, session.closed, standard=standard)
