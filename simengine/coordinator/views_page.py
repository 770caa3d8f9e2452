"""What learners see differently, for educators and the coordinator: to be answered, or noted.

Rules of this file:

- People are codes here, as in all that educators read.
- An answer stands on the learner's own page and debrief. The record is corrected in the review.
"""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.record_contexts import ViewRow, ViewsPage
from simengine.coordinator.who_may_read import EDUCATORS_TOO, teacher
from simengine.store import Store, own_words
from simengine.store.own_words import OwnWords
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.local_time import local_day
from simengine.web.note_read import note_read
from simengine.web.pages import page, see
from simengine.web.paging import ROWS, page_number, pages_onward
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor

PATH = "/cohort/views"


async def views(request: Request) -> Response:
    """``GET /cohort/views``."""
    visitor = teacher(request)
    number = page_number(request)
    store = state_of(request).store
    listed = own_words.other_views(store, offset=(number - 1) * ROWS, limit=ROWS + 1)
    note_read(request, visitor, "what learners see differently", {view.code for view in listed})
    data = ViewsPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        rows=tuple(_row(store, view, visitor) for view in listed[:ROWS]),
        pages=pages_onward(PATH, {}, number, len(listed)),
    )
    return page(request, "cohort/views.html.j2", data)


async def answer(request: Request) -> Response:
    """``POST /cohort/views``: ``session``, ``code``, ``item``, and ``answer``, empty to note it."""
    visitor = teacher(request)
    form = await form_of(request, visitor)
    state = state_of(request)
    session, code, item, words = (
        form.get(name, "") for name in ("session", "code", "item", "answer")
    )
    now = wall(state.clock.wall_ms())
    if not own_words.answer(state.store, session, code, item, words, now):
        raise RefusalError(404, "Not there", "The learner has taken this back.")
    return see(PATH)


def _row(store: Store, view: OwnWords, visitor: Visitor) -> ViewRow:
    result = store.result(view.session)
    titles = {item.id: item.title for item in result.items} if result is not None else {}
    return ViewRow(
        when=local_day(view.wall),
        code=view.code,
        session=view.session,
        of=result.scenario_title if result is not None else "",
        item=view.item,
        title=titles.get(view.item, view.item),
        words=view.words,
        answer=view.answer,
        answered=local_day(view.answered) if view.answered else "",
        review=f"/s/{view.session}/review" if visitor.facilitator else "",
    )
