"""The pages of the practice check: made on the first page, opened by a code, done on a phone.

Rules of this file:

- Who makes or ends a code is an educator; the list itself opens by its code alone, with no account,
  and shows nobody's record.
- What is found goes to the unit's threats, once: sending the same check again adds nothing.
- The sheet is drawn from what the browser sends, and no sheet is kept.
"""

from __future__ import annotations

import io
from asyncio import to_thread
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from uuid import UUID, uuid4, uuid5

import orjson
import segno
from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.records import Threat
from simengine.practice_check.answers import (
    Answer,
    answers,
    list_words,
    none_found,
    should_words,
)
from simengine.practice_check.codes import LASTS_DAYS, Codes, OpenCheck
from simengine.practice_check.practice_sentences import say
from simengine.practice_check.sheet import Sheet, sheet_of
from simengine.problems import InputError
from simengine.quantities import QuantityError
from simengine.quantities.formatting import gestation, weight
from simengine.scenario.as_typed import typed_gestation, typed_weight
from simengine.scenario.cot_check import CotCheck
from simengine.scenario.loading import load_cot_check
from simengine.scenario.model import Infant
from simengine.store.lists import units
from simengine.store.spelt import unit_spelt
from simengine.store.threats import add_threat
from simengine.store.threats import threat as kept_threat
from simengine.web.app_state import state_of
from simengine.web.forms import day_of, form_of
from simengine.web.own_process import ran
from simengine.web.pages import page, see
from simengine.web.paging import LISTED
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor, as_code
from simengine.web.who_asks import client_of, how_to_come_in, known_visitor

PATH = "/practice"
_DRAW = "from simengine.practice_check.draw_sheet import main; main()"
_PROTOCOL, _GESTATION, _WEIGHT = "common-practice", "39 wk", "3.4 kg"
_TOO_MANY = "Too many wrong codes from here. Wait a minute, then try again."


@dataclass(frozen=True, slots=True)
class CodeRow:
    """A code in force, as the page of all lists it."""

    code: str
    unit: str
    protocol: str
    made: str


@dataclass(frozen=True, slots=True)
class PracticePage:
    """`practice.html.j2` at `/practice`. Form: POST there, or `/practice/CODE/end`."""

    problems: tuple[str, ...]
    filled: Mapping[str, str]
    protocols: tuple[tuple[str, str], ...]
    units: tuple[str, ...]
    codes: tuple[CodeRow, ...]
    days: int


@dataclass(frozen=True, slots=True)
class DialView:
    """A dial to be read: ``units`` to choose from, or ``words``; ``should``: what it should be, and
    its ``source``.
    """

    name: str
    label: str
    units: tuple[str, ...]
    words: tuple[str, ...]
    should: str
    source: str


@dataclass(frozen=True, slots=True)
class RowView:
    """A row of the list. ``faults``: (field, what is seen, what puts it right, why it matters)."""

    name: str
    label: str
    place: str
    should_be: str
    dials: tuple[DialView, ...]
    faults: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True, slots=True)
class CheckPage:
    """`practice_check.html.j2` at `/practice/CODE`. Form: POST there."""

    title: str
    code: str
    id: str
    unit: str
    infant: str
    protocol: str
    caution: str
    notices: tuple[str, ...]
    rows: tuple[RowView, ...]
    goes_to: str
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    address: str
    educator: bool


@dataclass(frozen=True, slots=True)
class DonePage:
    """`practice_done.html.j2`: what was found. Form: POST `/practice/CODE/sheet` with ``sheet``.

    ``none_found``: what to tell where ``found`` is empty; ``kept``: where it stands otherwise.
    """

    title: str
    code: str
    protocol: str
    caution: str
    answers: tuple[Answer, ...]
    found: tuple[str, ...]
    none_found: str
    unseen: tuple[str, ...]
    kept: str
    sheet: str


async def practice(request: Request) -> Response:
    """``GET /practice``: the codes in force, and a new one."""
    _educator(request)
    return await _listed(request, (), {})


async def make(request: Request) -> Response:
    """``POST /practice``: a new code, whose list opens here."""
    visitor = _educator(request)
    form = await form_of(request, visitor)
    state = state_of(request)
    filled = {name: form.get(name, "").strip()[:80] for name in ("protocol", "gestation", "weight")}
    problems: list[str] = []
    protocol, infant = filled["protocol"] or _PROTOCOL, Infant(0.0, 0.0)
    try:
        infant = Infant(
            typed_gestation(filled["gestation"] or _GESTATION),
            typed_weight(filled["weight"] or _WEIGHT),
        )
        await to_thread(load_cot_check, protocol, infant, search=state.shelf.folders)
    except QuantityError as error:
        problems.append(f"Gestation or weight: {error}, such as 30+4 and 1.2 kg.")
    except InputError as error:
        problems += [str(problem) for problem in error.problems if problem.level == "error"]
    unit = unit_spelt(state.store, form.get("unit", ""))
    if problems:
        return await _listed(request, tuple(problems), {**filled, "unit": unit}, 422)
    made = _codes(request).make(
        unit=unit,
        protocol=protocol,
        gestation_days=infant.gestation_days,
        weight_g=infant.weight_g,
        now_ms=state.clock.wall_ms(),
    )
    return see(f"{PATH}/{made.code}")


async def end(request: Request) -> Response:
    """``POST /practice/CODE/end``: the code opens nothing any more."""
    visitor = _educator(request)
    await form_of(request, visitor)
    _codes(request).end(as_code(request.path_params["code"]))
    return see(PATH)


async def check(request: Request) -> Response:
    """``GET /practice/CODE``: the list."""
    opened, listed = await _opened(request)
    return _list(request, opened, listed, (), {})


async def found(request: Request) -> Response:
    """``POST /practice/CODE``: what was found goes to the threats, and the sheet can be printed."""
    opened, listed = await _opened(request)
    form = await form_of(request, known_visitor(request))
    problems: list[str] = []
    given = answers(listed, form, problems)
    due = day_of(form.get("due", ""), "To be put right by", problems)
    if problems:
        return _list(request, opened, listed, tuple(problems), form, 422)
    _keep(request, opened, given, form, due)
    sheet = Sheet(
        unit=opened.unit,
        cot=" ".join(form.get("cot", "").split())[:80],
        when=_now(request).isoformat(timespec="minutes"),
        infant=_infant(listed),
        protocol=_protocol(listed),
        source=f"{listed.source}.",
        caution=listed.caution,
        notices=_notices(listed),
        answers=given,
    )
    data = DonePage(
        title=say("title"),
        code=opened.code,
        protocol=sheet.protocol,
        caution=listed.caution,
        answers=given,
        found=tuple(answer.found for answer in given if answer.found),
        none_found=none_found(given),
        unseen=tuple(answer.label for answer in given if answer.standing == ""),
        kept=list_words(opened.unit),
        sheet=orjson.dumps(sheet.as_values()).decode(),
    )
    return page(request, "practice_done.html.j2", data)


async def sheet_pdf(request: Request) -> Response:
    """``POST /practice/CODE/sheet``: the sheet as PDF."""
    await _opened(request)
    form = await form_of(request, known_visitor(request))
    sheet_json = form.get("sheet", "").encode()
    try:
        sheet_of(orjson.loads(sheet_json))
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        words = "Finish the check again: what was sent can't be read as a sheet."
        raise RefusalError(422, "No sheet", words) from error
    drawn = await ran(_DRAW, told=sheet_json)
    named = {"content-disposition": 'inline; filename="practice-check.pdf"'}
    return Response(drawn, media_type="application/pdf", headers=named)


async def qr(request: Request) -> Response:
    """``GET /practice/CODE/qr.svg``: a picture that opens the list."""
    opened, _ = await _opened(request)
    picture = io.BytesIO()
    segno.make(_address(request, opened), error="m", micro=False).save(
        picture, kind="svg", scale=4, border=2, light="#ffffff", dark="#1b2733", svgclass=None,
        lineclass=None,
    )  # fmt: skip
    return Response(picture.getvalue(), media_type="image/svg+xml")


def opens(request: Request, code: str) -> str:
    """Return the address that a code opens; empty where it opens no practice check."""
    return f"{PATH}/{code}" if _codes(request).get(code, _wall_ms(request)) is not None else ""


def _keep(
    request: Request,
    opened: OpenCheck,
    given: tuple[Answer, ...],
    form: Mapping[str, str],
    due: date | None,
) -> None:
    """Put what was found on the list of threats."""
    try:
        id_ = UUID(form.get("check", ""))
    except ValueError:
        id_ = uuid4()
    store = state_of(request).store
    for answer in given:
        if not answer.found:
            continue
        threat = Threat(
            id=str(uuid5(id_, answer.row)),
            unit=opened.unit or None,
            category=answer.kind,  # type: ignore[arg-type]
            words=answer.found[:400],
            opened=_now(request).date(),
            owner=" ".join(form.get("owner", "").split())[:80],
            due=due,
        )
        # The same check may be sent twice: what was found stands there already.
        if kept_threat(store, threat.id) is None:
            add_threat(store, threat)


async def _opened(request: Request) -> tuple[OpenCheck, CotCheck]:
    """Return what a code opens. Raises ``RefusalError`` where it opens nothing."""
    state = state_of(request)
    now_ms = state.clock.now_ms()
    client = client_of(request)
    code = as_code(request.path_params["code"])
    opened = _codes(request).get(code, _wall_ms(request))
    if opened is None:
        if state.guesses.too_many(client, now_ms):
            raise RefusalError(429, "Wait a little", _TOO_MANY)
        state.guesses.wrong(client, now_ms)
        words = "No practice check has this code. It may have been ended; ask an educator for one."
        raise RefusalError(404, "No practice check here", words)
    infant = Infant(opened.gestation_days, opened.weight_g)
    try:
        listed = await to_thread(
            load_cot_check, opened.protocol, infant, search=state.shelf.folders
        )
    except InputError as error:
        errors = [str(problem) for problem in error.problems if problem.level == "error"]
        raise RefusalError(409, "Its list can't be read", *errors[:5]) from error
    return opened, listed


def _list(
    request: Request,
    opened: OpenCheck,
    listed: CotCheck,
    problems: tuple[str, ...],
    form: Mapping[str, str],
    status: int = 200,
) -> Response:
    visitor = known_visitor(request)
    data = CheckPage(
        title=say("title"),
        code=opened.code,
        id=form.get("check") or str(uuid4()),
        unit=opened.unit,
        infant=_infant(listed),
        protocol=_protocol(listed),
        caution=listed.caution,
        notices=_notices(listed),
        rows=tuple(
            RowView(
                row.row.name,
                row.row.label,
                listed.places[row.row.place],
                row.row.should_be,
                tuple(
                    DialView(
                        f"{row.row.name}.{dial.setting.name}",
                        dial.setting.label,
                        (dial.setting.unit, *dial.setting.read_in) if dial.setting.unit else (),
                        dial.setting.words,
                        should_words(dial),
                        dial.source,
                    )
                    for dial in row.dials
                ),
                tuple(
                    (
                        f"fault.{row.row.name}.{fault.name}",
                        fault.shows.split(",")[0],
                        fault.put_right,
                        fault.why,
                    )
                    for fault in row.row.faults.values()
                ),
            )
            for row in listed.rows
        ),
        goes_to=(say("threats_go", unit=opened.unit) if opened.unit else say("threats_go_no_unit")),
        problems=problems,
        filled={name: value[:200] for name, value in form.items() if name != "csrf_token"},
        address=_address(request, opened),
        educator=visitor is not None and visitor.facilitator,
    )
    return page(request, "practice_check.html.j2", data, status=status)


async def _listed(
    request: Request, problems: tuple[str, ...], filled: Mapping[str, str], status: int = 200
) -> Response:
    state = state_of(request)
    shelf = await state.shelf.look_and_check()
    titles = dict(shelf.protocols)
    data = PracticePage(
        problems=problems,
        filled={"protocol": _PROTOCOL, **filled},
        protocols=shelf.protocols,
        units=units(state.store, limit=LISTED),
        codes=tuple(
            CodeRow(
                open_check.code,
                open_check.unit,
                titles.get(open_check.protocol, open_check.protocol),
                datetime.fromtimestamp(open_check.made_ms / 1_000, tz=UTC).isoformat(),
            )
            for open_check in _codes(request).all(_wall_ms(request))
        ),
        days=LASTS_DAYS,
    )
    return page(request, "practice.html.j2", data, status=status)


def _educator(request: Request) -> Visitor:
    visitor = known_visitor(request)
    if visitor is None or not visitor.facilitator:
        words = "An educator makes the codes of practice checks. A code opens its check directly."
        raise RefusalError(403, "For educators", words, *how_to_come_in(request))
    return visitor


def _codes(request: Request) -> Codes:
    made = request.app.state.practice_checks
    assert isinstance(made, Codes)
    return made


def _wall_ms(request: Request) -> int:
    return state_of(request).clock.wall_ms()


def _now(request: Request) -> datetime:
    return datetime.fromtimestamp(_wall_ms(request) / 1_000, tz=UTC).astimezone()


def _address(request: Request, opened: OpenCheck) -> str:
    """Return what a QR code opens: over a network the page with the fingerprint."""
    state = state_of(request)
    if state.lan is not None:
        return f"{state.address}/join?code={opened.code}"
    return f"{state.address}{PATH}/{opened.code}"


def _infant(listed: CotCheck) -> str:
    infant = listed.infant
    return f"a baby of {gestation(infant.gestation_days)}, {weight(infant.weight_g)}"


def _protocol(listed: CotCheck) -> str:
    return f"{listed.protocol.title}, edition {listed.protocol.edition}"


def _notices(listed: CotCheck) -> tuple[str, ...]:
    protocol = listed.protocol
    unsigned = () if protocol.signed_by else (say("unsigned"),)
    newer = protocol.superseded_by
    return (*unsigned, *((say("superseded", superseded_by=newer),) if newer else ()))
