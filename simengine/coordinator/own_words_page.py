"""A learner's own words of a session: a goal before it, what to take along, and another view.

Rules of this file:

- Only the learner writes here. The goal is asked for until the session has begun; afterwards what
  to take along, and for each item whether the learner sees it differently.
- Another view reaches the educators and the coordinator (``views_page``); nothing of it is scored.
"""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.record_contexts import OwnWordsPage, ViewLine
from simengine.coordinator.who_may_read import OWN_PAGES, person_address, the_trainee
from simengine.debrief.wrote import OtherView, Wrote
from simengine.store import Store, own_words
from simengine.store.lists import took_part
from simengine.store.own_words import OwnWords
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError


async def ask(request: Request) -> Response:
    """``GET /cohort/people/CODE/words/ID``."""
    the_trainee(request, request.path_params["code"])
    return page(request, "cohort/own_words.html.j2", _page(request))


async def write(request: Request) -> Response:
    """``POST /cohort/people/CODE/words/ID``: ``goal``, ``along`` or ``item`` with ``words``."""
    code, session = request.path_params["code"], request.path_params["session"]
    visitor = the_trainee(request, code)
    form = await form_of(request, visitor)
    before = _page(request)
    state = state_of(request)
    now = wall(state.clock.wall_ms())
    if before.ahead and "goal" in form:
        own_words.put(state.store, OwnWords(session, code, "goal", form["goal"], now))
    elif not before.ahead and "along" in form:
        own_words.put(state.store, OwnWords(session, code, "take along", form["along"], now))
    elif form.get("item") in [line.item for line in before.items]:
        view = OwnWords(session, code, "other view", form.get("words", ""), now, form["item"])
        own_words.put(state.store, view)
    else:
        raise RefusalError(400, "Nothing to write", "This session has no such item.")
    return see(before.here)


def wrote_of(store: Store, session: str, code: str) -> Wrote:
    """Return what a person wrote of a session, for their own debrief."""
    mine = [text for text in own_words.of_session(store, session) if text.code == code]
    words = {text.kind: text.words for text in mine}
    views = tuple(
        OtherView(view.item, view.words, view.answer) for view in mine if view.kind == "other view"
    )
    return Wrote(words.get("goal", ""), words.get("take along", ""), views)


def _page(request: Request) -> OwnWordsPage:
    code, session = request.path_params["code"], request.path_params["session"]
    store = state_of(request).store
    ahead = dict(own_words.not_begun(store, code))
    result = store.result(session) if took_part(store, code, session) else None
    if result is None and session not in ahead:
        raise RefusalError(404, "No such session", "You did not take part in this session.")
    wrote = wrote_of(store, session, code)
    views = {view.item: view for view in wrote.views}
    answered = {
        text.item
        for text in own_words.of_session(store, session)
        if text.code == code and text.answered
    }
    return OwnWordsPage(
        here=f"{person_address(code)}/words/{session}",
        readers=OWN_PAGES,
        back=person_address(code),
        title=result.scenario_title if result is not None else ahead[session],
        ahead=result is None,
        goal=wrote.goal,
        along=wrote.along,
        items=tuple(
            ViewLine(
                item.id,
                item.title,
                views[item.id].words if item.id in views else "",
                views[item.id].answer if item.id in views else "",
                item.id in answered,
            )
            for item in (result.items if result is not None else ())
        ),
    )
