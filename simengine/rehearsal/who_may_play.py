"""Who may play alone, and whose rehearsal a page is of.

Rules of this file:

- Whoever has an account of an educator or a trainee plays alone, and at a console of this machine
  alone whoever opened it. Nobody opens the rehearsal of somebody else, whatever their role.
"""

from __future__ import annotations

from starlette.requests import Request

from simengine.desk.desk_state import desk_of
from simengine.desk.hub import NoSessionError
from simengine.desk.running import Running
from simengine.desk.session_plan import HERE
from simengine.rehearsal.rehearsal_sentences import say
from simengine.session.rights import Recorder
from simengine.web.app_state import state_of
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor
from simengine.web.who_asks import how_to_come_in, known_visitor


def player(request: Request) -> tuple[Visitor, str]:
    """Return who is asking, and as whom they play. Raises ``RefusalError``."""
    visitor = known_visitor(request)
    if visitor is not None:
        state = state_of(request)
        trainee = visitor.is_trainee(state.clock.now_ms())
        if trainee:
            return visitor, trainee
        if visitor.facilitator:
            return visitor, HERE if state.lan is None else visitor.person
    how = how_to_come_in(request)
    raise RefusalError(403, say("door_title"), say("door_words"), *how)


def own_rehearsal(request: Request) -> tuple[Visitor, Running]:
    """Return who is asking and their own rehearsal of the address. Raises ``RefusalError``."""
    visitor, who = player(request)
    hub = desk_of(request).hub
    try:
        if hub.plan_of(request.path_params["session"]).alone == who:
            return visitor, hub.running(request.path_params["session"])
    except NoSessionError as error:
        raise RefusalError(404, say("no_rehearsal"), str(error)) from error
    raise RefusalError(403, say("not_own_title"), say("not_own"))


def recorder_of(visitor: Visitor) -> Recorder:
    """Return whoever plays alone as who records: nobody else runs the session."""
    return Recorder(visitor.person, "educator")
