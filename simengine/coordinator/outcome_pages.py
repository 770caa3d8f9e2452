"""The outcomes of assessments: the list, and what may be done with one.

Rules of this file:

- What may be signed, appealed and superseded is decided by ``people.signing``, not here; what was
  said goes into the session's own log, so that the chain of hashes holds it.
- An educator or the coordinator signs. A trainee reads the outcome of a session that they took
  part in, without what was decided of colleagues, and may say that they see it differently.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.records import SessionResult
from simengine.coordinator.contexts import Choice, Sign
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.outcome_words import appealed_by, entries_of, standing_of
from simengine.coordinator.record_contexts import OutcomePage, OutcomeRow, OutcomesPage
from simengine.coordinator.which_unit import unit_asked, unit_choice, unit_first
from simengine.coordinator.who_may_read import (
    EDUCATORS_TOO,
    OWN_PAGES,
    person_address,
    takes_part,
    teacher,
)
from simengine.people.decisions import OUTCOMES, Decision, Outcomes
from simengine.quantities.formatting import percent
from simengine.session.live import RefusedError
from simengine.session.rights import Recorder
from simengine.store import Store, StoreError, lists
from simengine.store import outcomes as kept
from simengine.store.session_units import put_unit
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.local_time import local_day
from simengine.web.note_read import note_read
from simengine.web.pages import page, see
from simengine.web.paging import ROWS, page_number, pages_onward
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor
from simengine.web.who_asks import known_visitor

PATH = "/cohort/outcomes"
_MOST_TEXT = 2000


async def outcomes(request: Request) -> Response:
    """``GET /cohort/outcomes``."""
    teacher(request)
    store = state_of(request).store
    unit = unit_asked(request)
    instead = unit_first(request, PATH, unit, people=False)
    if instead is not None:
        return instead
    number = page_number(request)
    results = lists.newest_results(
        store,
        purpose="summative",
        unit=unit.chosen or None,
        offset=(number - 1) * ROWS,
        limit=ROWS + 1,
    )
    decided = lists.outcomes_of(store, [result.session for result in results[:ROWS]])
    rows = []
    for result in results[:ROWS]:
        sign, note = standing_of(decided[result.session], result.outcome)
        address = f"{PATH}/{result.session}"
        when = local_day(result.wall)
        rows.append(OutcomeRow(when, result.scenario_title, result.unit or "", sign, note, address))
    data = OutcomesPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        filters=(unit,),
        rows=tuple(rows),
        pages=pages_onward(PATH, {"unit": unit.chosen}, number, len(results)),
    )
    return page(request, "cohort/outcomes.html.j2", data)


async def outcome(request: Request) -> Response:
    """``GET /cohort/outcomes/ID``."""
    visitor = takes_part(request)
    result = _result(request)
    trainee = visitor.trainee if visitor.reads_as == "trainee" else ""
    whose = [trainee] if trainee else [code for codes in result.team.values() for code in codes]
    note_read(request, visitor, "outcome of a session", whose)
    return _drawn(request, result, trainee, (), {})


async def change(request: Request) -> Response:
    """``POST /cohort/outcomes/ID``: sign, countersign, supersede; a trainee: appeal, remark."""
    visitor = takes_part(request)
    form = await form_of(request, visitor)
    result = _result(request)
    trainee = visitor.trainee if visitor.reads_as == "trainee" else ""
    try:
        _say(request, result, form, trainee, visitor)
    except (RefusedError, StoreError) as refusal:
        problem = refusal.words if isinstance(refusal, RefusedError) else str(refusal)
        return _drawn(request, result, trainee, (problem,), form, 422)
    return see(f"{PATH}/{result.session}")


def _say(
    request: Request, result: SessionResult, form: Mapping[str, str], trainee: str, visitor: Visitor
) -> None:
    """Put what a form says into the session's log. Raises ``RefusedError`` or ``StoreError``."""
    state = state_of(request)
    store, session, what = state.store, result.session, form.get("do", "")
    now = wall(state.clock.wall_ms())
    by = Recorder(visitor.person, visitor.reads_as, trainee)
    who = {
        "name": form.get("name", "")[:80],
        "credentials": form.get("credentials", "")[:120],
    }
    if what == "appeal":
        item = form.get("item", "") or None
        text = form.get("text", "")[:_MOST_TEXT]
        kept.appeal(store, session, text=text, by=by, wall=now, person=trainee or None, item=item)
    elif what == "supersede":
        kept.supersede(store, session, instead=form.get("by", "")[:400], by=by, wall=now)
    elif what == "unit":
        _put_unit(store, session, form.get("unit", ""), trainee)
        return
    elif what == "countersign":
        kept.countersign(store, session, **who, by=by, wall=now)
    elif what == "sign":
        chosen = form.get("outcome", "")
        person = form.get("person", "") or None
        kept.sign(store, session, **who, outcome=chosen, by=by, wall=now, person=person)
    else:
        raise RefusedError("nothing-chosen", "Choose what to do.")
    card = store.card(session)
    if card is not None:
        store.put_result(result, card)  # the log's end has moved on, the score has not
    state.sessions.read_again(session)


def _put_unit(store: Store, session: str, unit: str, trainee: str) -> None:
    """Set the session's unit, which educators and the coordinator may. Raises ``RefusedError``."""
    if trainee or not lists.is_unit(store, unit):
        raise RefusedError("no-such-unit", "Choose a unit of the roster.")
    put_unit(store, session, unit)


def _unit_of(store: Store, result: SessionResult) -> Choice:
    """Return the choice by which a session's unit is set right."""
    choice = unit_choice(store, result.unit or "")
    now = result.unit or "no unit"
    options = (("", f"{now}, which is no unit of the roster"),) if not choice.chosen else ()
    return replace(choice, options=(*options, *choice.options[1:]))


def _drawn(
    request: Request,
    result: SessionResult,
    trainee: str,
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    status: int = 200,
) -> Response:
    visitor = known_visitor(request)
    coordinates = visitor is not None and visitor.coordinator
    decided = kept.outcomes_of_session(state_of(request).store, result.session)
    decision = decided.of(trainee or None)
    sign, note = standing_of(decided, result.outcome, trainee or None)
    data = OutcomePage(
        here=f"{PATH}/{result.session}",
        readers=OWN_PAGES if trainee else EDUCATORS_TOO,
        title=f"Outcome: {result.scenario_title}",
        when=" · ".join(part for part in (local_day(result.wall), result.unit) if part),
        team=tuple(
            (
                role.replace("_", " "),
                tuple((code, person_address(code) if coordinates else "") for code in codes),
            )
            for role, codes in result.team.items()
            if not trainee
        ),
        total=_total(result),
        standard="none recorded"
        if result.standard is None
        else f"{percent(result.standard)}, as recorded with the scenario",
        proposed=result.outcome or "no outcome",
        sign=sign if not note else Sign(sign.name, sign.sign, f"{sign.words}: {note}"),
        entries=entries_of(decided, trainee),
        beside=_beside(decided, decision, result),
        missing=() if trainee else _missing(decided, result),
        may=_may(decided, trainee, bool(trainee) or not _missing(decided, result)),
        appealed=() if trainee or _missing(decided, result) else appealed_by(decided),
        outcomes=tuple((name, name) for name in OUTCOMES),
        items=tuple((item.id, item.title) for item in result.items),
        problems=problems,
        filled={name: value[:_MOST_TEXT] for name, value in filled.items()},
        review="" if trainee else _review(request, result.session),
        unit=None if trainee else _unit_of(state_of(request).store, result),
    )
    return page(request, "cohort/outcome.html.j2", data, status=status)


def _may(decided: Outcomes, trainee: str, complete: bool) -> tuple[str, ...]:
    """Return what the page offers; what is refused after all is told in words."""
    decision = decided.of(trainee or None)
    standing = decision.standing(trainee or None) if decision is not None else "superseded"
    if decided.purpose != "summative":
        return ()
    if trainee:
        return ("remark",) if standing == "superseded" else ("remark", "appeal")
    if standing == "superseded":
        return ("sign",) if complete else ()
    if standing == "under appeal":
        return ("sign", "supersede") if complete else ("supersede",)
    return ("countersign", "supersede") if complete else ("supersede",)


def _missing(decided: Outcomes, result: SessionResult) -> tuple[str, ...]:
    lines = []
    if decided.closed != "finished":
        lines.append(say("missing_finished"))
    if not decided.confirmed:
        lines.append(say("missing_confirmed"))
    if result.standard is None:
        lines.append(say("missing_standard"))
    elif result.outcome is None:
        lines.append(say("missing_essential"))
    return tuple(lines)


def _result(request: Request) -> SessionResult:
    result = state_of(request).store.result(request.path_params["session"])
    if result is None or result.purpose != "summative":
        raise RefusalError(
            404, "No outcome here", "Learning sessions and rehearsals have no outcome."
        )
    return result


def _beside(decided: Outcomes, decision: Decision | None, result: SessionResult) -> str:
    """Tell today's score beside the one that was signed."""
    if decision is None:
        return ""
    return kept.beside_today(decided, result)[decision.signature.event].words


def _total(result: SessionResult) -> str:
    if result.total is None:
        return say("total_none")
    share = percent(result.total)
    if result.interval is not None:
        low, high = (percent(end) for end in result.interval)
        if low != high:
            share = say("total_interval", total=share, low=low, high=high)
    return share


def _review(request: Request, session: str) -> str:
    visitor = teacher(request)
    return f"/s/{session}/review" if visitor.facilitator else ""
