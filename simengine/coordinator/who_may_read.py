"""Who may open which page of the cohort, and whose record a page shows.

Rules of this file:

- What a page may show is decided here, on the server, by role and by whose record it is; that a
  link is not drawn protects nothing.
- The coordinator reads everybody's record, but for personal debriefs of sessions for learning,
  which are the learner's alone until shared; a trainee their own and nobody else's; an educator the
  outcomes, the agreement, the threats and the figures, none of which is a person's record, but for
  the outcomes of sessions, which the educator ran.
- Each reading of somebody's record is written down before the page is drawn.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from urllib.parse import quote

from starlette.requests import Request

from simengine.coordinator.coordinator_sentences import say
from simengine.store.lists import took_part
from simengine.store.shared_debriefs import shared_by
from simengine.web.app_state import state_of
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor
from simengine.web.who_asks import how_to_come_in, known_visitor

COORDINATOR_ALONE = say("readers_coordinator")
EDUCATORS_TOO = say("readers_educators")
OWN_PAGES = say("readers_own")

_OWN = (say("refused_own"),)
_ALONE = (say("refused_alone"),)


def coordinator(request: Request) -> Visitor:
    """Return the coordinator who is asking. Raises ``RefusalError`` for anybody else."""
    visitor = known_visitor(request)
    if visitor is None or not visitor.coordinator:
        how = how_to_come_in(request, "the coordinator's link")
        raise RefusalError(403, "For the coordinator", say("refused_coordinator"), *how)
    return visitor


def teacher(request: Request) -> Visitor:
    """Return the educator or coordinator who is asking. Raises ``RefusalError``."""
    visitor = known_visitor(request)
    if visitor is None or not visitor.teaches:
        how = how_to_come_in(request, "one of the links")
        words = say("refused_educators")
        raise RefusalError(403, "For educators and the coordinator", words, *how)
    return visitor


def reader_of(request: Request, code: str) -> Visitor:
    """Return who is asking, if they may read this trainee's record. Raises ``RefusalError``.

    Whether there is such a trainee is not told to who may not read of them.
    """
    visitor = known_visitor(request)
    if visitor is not None:
        own = visitor.is_trainee(state_of(request).clock.now_ms())
        if visitor.coordinator or (own and own == code):
            return visitor
    raise RefusalError(403, "Somebody's own pages", *_OWN)


def the_trainee(request: Request, code: str) -> Visitor:
    """Return the trainee who is asking, if the code is theirs. Raises ``RefusalError``."""
    visitor = known_visitor(request)
    if visitor is not None and visitor.is_trainee(state_of(request).clock.now_ms()) == code:
        return visitor
    raise RefusalError(403, "Somebody's own pages", *_OWN)


def takes_part(request: Request) -> Visitor:
    """Return who is asking, if they may read of the session that the address names.

    That is an educator, the coordinator, and a trainee who held a role in it. Raises
    ``RefusalError``.
    """
    visitor = known_visitor(request)
    if visitor is not None:
        if visitor.teaches:
            return visitor
        state = state_of(request)
        own = visitor.is_trainee(state.clock.now_ms())
        if own and took_part(state.store, own, request.path_params["session"]):
            return visitor
    raise RefusalError(403, "For who took part", *_OWN)


def reader_of_debrief(request: Request, code: str, session: str, purpose: str) -> Visitor:
    """Return who is asking, if they may read this trainee's debrief of a session.

    That is the trainee; of an assessment the coordinator; and educators and the coordinator where
    the trainee shares it. Raises ``RefusalError``, in the same words whether or not there is one.
    """
    visitor = known_visitor(request)
    state = state_of(request)
    if visitor is not None:
        if visitor.is_trainee(state.clock.now_ms()) == code:
            return visitor
        if visitor.coordinator and purpose == "summative":
            return visitor
        if visitor.teaches and session in shared_by(state.store, code):
            return visitor
        if visitor.teaches:
            raise RefusalError(403, "For the learner alone", *_ALONE)
    raise RefusalError(403, "Somebody's own pages", *_OWN)


def person_address(code: str) -> str:
    """Return the address of a person's page."""
    return f"/cohort/people/{quote(code, safe='')}"


def today(request: Request) -> date:
    """Return the day that it is where the server stands."""
    wall_ms = state_of(request).clock.wall_ms()
    return datetime.fromtimestamp(wall_ms / 1000, tz=UTC).astimezone().date()
