"""The list of latent safety threats: taken up, given to somebody, closed, opened again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import get_args

from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.records import Threat, ThreatCategory
from simengine.coordinator.contexts import Choice, Sign
from simengine.coordinator.page_words import day_words
from simengine.coordinator.unit_contexts import Proposal, ThreatRow, ThreatsPage
from simengine.coordinator.which_unit import unit_asked, unit_first
from simengine.coordinator.who_may_read import EDUCATORS_TOO, teacher, today
from simengine.store import StoreError
from simengine.store import threats as kept
from simengine.store.lists import units
from simengine.web.app_state import state_of
from simengine.web.forms import day_of, form_of
from simengine.web.pages import page, see
from simengine.web.paging import LISTED, ROWS, page_number, pages_onward
from simengine.web.refusal import RefusalError

PATH = "/cohort/threats"
_PROPOSALS = 10
_MOST_WORDS = 400
_CATEGORIES: tuple[ThreatCategory, ...] = get_args(ThreatCategory)
_OPEN = Sign("due", "◆", "open")
_LATE = Sign("overdue", "▼", "past its day")
_CLOSED = Sign("current", "●", "closed")


async def threats(request: Request) -> Response:
    """``GET /cohort/threats``."""
    teacher(request)
    unit = unit_asked(request)
    return unit_first(request, PATH, unit, people=False) or _drawn(request, (), {})


async def add(request: Request) -> Response:
    """``POST /cohort/threats``: a new one, or one that a session proposes."""
    visitor = teacher(request)
    form = await form_of(request, visitor)
    store = state_of(request).store
    day = today(request)
    problems: list[str] = []
    category = next((name for name in _CATEGORIES if name == form.get("category")), None)
    if category is None:
        problems.append(f"Category: expected one of {', '.join(_CATEGORIES)}.")
    source = form.get("source", "") or None
    session = form.get("session", "") or None
    unit, words = _line(form, "unit") or None, _line(form, "words")
    due = day_of(form.get("due", ""), "To be put right by", problems)
    if source is not None:
        proposed = next(
            (
                proposal
                for proposal in kept.proposals(store, limit=_PROPOSALS)
                if (proposal.session, proposal.source) == (session, source)
            ),
            None,
        )
        if proposed is None:
            problems.append("It has been taken up already.")
        else:
            unit, words, day = proposed.unit, proposed.words, proposed.day
    elif not words:
        problems.append("Say what was found.")
    if problems or category is None:
        return _drawn(request, tuple(problems), form, 422)
    threat = Threat(
        id=kept.new_threat_id(),
        unit=unit,
        category=category,
        words=words,
        opened=day,
        session=session if source is not None else None,
        owner=_line(form, "owner"),
        due=due,
    )
    try:
        kept.add_threat(store, threat, source=source)
    except StoreError as error:
        return _drawn(request, (str(error),), form, 422)
    return see(f"{PATH}#t-{threat.id}")


async def change(request: Request) -> Response:
    """``POST /cohort/threats/ID``: owner and day, closing, opening again."""
    visitor = teacher(request)
    form = await form_of(request, visitor)
    store = state_of(request).store
    id_ = request.path_params["id"]
    if kept.threat(store, id_) is None:
        raise RefusalError(404, "No such threat", "It is not on the list.")
    problems: list[str] = []
    what = form.get("do")
    if what == "assign":
        due = day_of(form.get("due", ""), "To be put right by", problems)
        if not problems:
            kept.assign_threat(store, id_, _line(form, "owner"), due)
    elif what == "close":
        closing = _line(form, "closing")
        if closing:
            kept.close_threat(store, id_, today(request), closing)
        else:
            problems.append("Say what was done, so that others can learn from it.")
    elif what == "reopen":
        kept.reopen_threat(store, id_)
    else:
        problems.append("Choose what to do with it.")
    if problems:
        return _drawn(request, tuple(problems), {}, 422)
    return see(f"{PATH}#t-{id_}")


def _drawn(
    request: Request, problems: tuple[str, ...], filled: Mapping[str, str], status: int = 200
) -> Response:
    store = state_of(request).store
    day = today(request)
    query = request.query_params
    unit = unit_asked(request)
    standing = query.get("standing", "") if query.get("standing") in ("open", "closed") else ""
    number = page_number(request)
    listed = kept.threats(
        store,
        unit=unit.chosen or None,
        closed={"open": False, "closed": True}.get(standing),
        offset=(number - 1) * ROWS,
        limit=ROWS + 1,
    )
    chosen = {"unit": unit.chosen, "standing": standing}
    data = ThreatsPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        problems=problems,
        filled={name: value[:_MOST_WORDS] for name, value in filled.items()},
        categories=tuple((category, category) for category in _CATEGORIES),
        units=units(store, limit=LISTED),
        filters=(
            unit,
            Choice(
                "standing",
                "Standing",
                (("", "open and closed"), ("open", "open"), ("closed", "closed")),
                standing,
            ),
        ),
        proposals=tuple(
            Proposal(
                proposal.session,
                proposal.source,
                proposal.words,
                _where(proposal.day, proposal.unit),
                proposal.category,
            )
            for proposal in kept.proposals(store, unit=unit.chosen or None, limit=_PROPOSALS)
        ),
        rows=tuple(_row(threat, day) for threat in listed[:ROWS]),
        pages=pages_onward(PATH, chosen, number, len(listed)),
    )
    return page(request, "cohort/threats.html.j2", data, status=status)


def _row(threat: Threat, day: date) -> ThreatRow:
    sign = _OPEN if threat.due is None or threat.due >= day else _LATE
    return ThreatRow(
        id=threat.id,
        sign=sign if threat.closed is None else _CLOSED,
        category=threat.category,
        words=threat.words,
        unit=threat.unit or "",
        opened=day_words(threat.opened),
        owner=threat.owner,
        due=day_words(threat.due),
        due_day=threat.due.isoformat() if threat.due is not None else "",
        closed=day_words(threat.closed),
        closing=threat.closing,
    )


def _where(day: date, unit: str | None) -> str:
    return f"in a session on {day_words(day)}" + (f", {unit}" if unit else "")


def _line(form: Mapping[str, str], name: str) -> str:
    return " ".join(form.get(name, "").split())[:_MOST_WORDS]
