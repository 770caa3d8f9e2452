"""The pages before a session: choose, prebrief, start."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.console_view import banner_of
from simengine.desk.cot import cot_after_the_end
from simengine.desk.day_pages import rows_of
from simengine.desk.desk_sentences import say
from simengine.desk.desk_state import desk_of
from simengine.desk.hub import NoSessionError, opening_data
from simengine.desk.let_in import display_address, facilitator, running_of
from simengine.desk.running import Running
from simengine.desk.session_plan import purpose_of, team_of
from simengine.desk.view import (
    ChoosePage,
    CotLeft,
    PrebriefPage,
    PrebriefPerson,
    RoleRow,
    ScenarioChoice,
    SessionRow,
    TeamChip,
)
from simengine.desk.who_is_here import chips, sees_names, today
from simengine.people.bookings import NamedTeam, seated
from simengine.people.consent import Said, Use
from simengine.problems import InputError
from simengine.quantities import QuantityError
from simengine.quantities.formatting import gestation, weight
from simengine.scenario.as_typed import questions
from simengine.scenario.model import Scenario
from simengine.session.entry_words import HOW
from simengine.session.live import RefusedError
from simengine.session.rights import Recorder
from simengine.store import consents, lists, own_words
from simengine.store.bookings import begun, booking_of
from simengine.store.own_words import OwnWords
from simengine.store.prebriefs import AGREED
from simengine.store.spelt import team_spelt, unit_spelt
from simengine.store.teams import keep_team, teams
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.local_time import local_day
from simengine.web.pages import page, see, way_on
from simengine.web.paging import LISTED, ROWS, page_number, pages_onward
from simengine.web.shelf import ShelfScenario, planned_words
from simengine.web.who_asks import known_visitor

_HEADINGS = {
    "learners": say("heading_learners"),
    "risk": say("heading_risk"),
    "cord_plan": say("heading_cord_plan"),
    "fiction_contract": say("heading_fiction_contract"),
    "confidentiality": say("heading_confidentiality"),
    "consent": say("heading_consent"),
    "distress": say("heading_distress"),
}
_FACILITATOR = "facilitator"
_PATIENCE_S = 3.0
_TEAMS = 12
_PREBRIEF = "prebrief"
"""Who records that it was read out: no device, so that none takes it back by Undo."""


async def choose(request: Request) -> Response:
    """``GET /``."""
    visitor = known_visitor(request)
    if visitor is None or not visitor.facilitator:
        way = way_on(request)[0]
        if way:
            return see(way)
    facilitator(request)
    return await _choose(request, (), _typed_before(request))


async def plan(request: Request) -> Response:
    """``POST /sessions``."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    state = state_of(request)
    problems: list[str] = []
    fields = {name: form.get(name, "").strip() for name in ("protocol", "gestation", "weight")}
    scenario: Scenario | None = None
    try:
        scenario = state.shelf.scenario(form.get("scenario", ""), **fields)
    except LookupError:
        problems.append("Choose a scenario.")
    except QuantityError as error:
        problems.append(f"Gestation or weight: {error}, such as 30+4 and 1.2 kg.")
    except InputError as error:
        problems += [str(problem) for problem in error.problems if problem.level == "error"]
    to_ask: tuple[str, ...] = ()
    meant = f"{fields['gestation']}, {fields['weight']}"
    if scenario is not None and meant not in (", ", form.get("meant", "")):
        to_ask = questions(scenario.infant, scenario.vocabulary)
    purpose = purpose_of(form.get("purpose", ""), problems)
    team = team_of(form, scenario.roles, problems) if scenario is not None else {}
    team, numbers = team_spelt(state.store, team)
    problems += [
        f"{number} is a staff number, which no record may hold: type the code."
        for number in numbers
    ]
    if scenario is None or problems or to_ask:
        filled = {name: value[:200] for name, value in form.items() if name != "csrf_token"}
        filled["meant"] = meant
        return await _choose(request, tuple(problems), filled, 422, to_ask)
    unit = unit_spelt(state.store, form.get("unit", ""))
    planned = desk_of(request).hub.plan(
        scenario,
        protocol=fields["protocol"],
        gestation=fields["gestation"],
        weight=fields["weight"],
        purpose=purpose,
        real_cot=form.get("real_cot") == "yes",
        team=team,
        unit=unit,
    )
    _take_the_place_of(request, form.get("like", ""), planned.session)
    keep_as = " ".join(form.get("keep_as", "").split())[:40]
    if keep_as and team:
        keep_team(state.store, NamedTeam(keep_as, team, unit))
    return see(f"/s/{planned.session}/prebrief")


async def prebrief(request: Request) -> Response:
    """``GET /s/ID/prebrief``."""
    facilitator(request)
    return page(request, "prebrief.html.j2", _prebrief(request, running_of(request), ()))


async def start(request: Request) -> Response:
    """``POST /s/ID/start``."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    running = running_of(request)
    _keep_goals(request, running, form)
    other_cot = " ".join(form.get("other_cot", "").split())[:120]
    problems = []
    if running.plan.returns_cot and not other_cot:
        problems.append(
            "Write down where the other cot is, checked and ready for a baby: this one is not, "
            "until its faults are put right."
        )
    problems += [person.stops for person in _people(request, running) if person.stops]
    if form.get("acknowledged") != "yes":
        problems.append("Read the prebrief out and have everybody agree before the start.")
    if problems:
        data = _prebrief(request, running, tuple(problems), other_cot)
        return page(request, "prebrief.html.j2", data, status=422)
    try:
        running.open(opening_data(running, other_cot), visitor.recorder)
        running.record_one("note", {"text": AGREED}, Recorder(_PREBRIEF, "educator"))
    except RefusedError:
        pass  # a second touch on the button: the session is open, which is what was wanted
    return see(f"/s/{running.plan.session}")


def _take_the_place_of(request: Request, before: str, session: str) -> None:
    """Have a session take the place of one that was changed before it was ever opened."""
    store = state_of(request).store
    try:
        changed = desk_of(request).hub.running(before)
    except NoSessionError:
        return
    if changed.live is not None:
        return
    booked = booking_of(store, before)
    if booked is not None:
        begun(store, booked.id, session)
    store.put_away(before, "It was changed before the start.")


def _typed_before(request: Request) -> dict[str, str]:
    """Fill the form as for the session that ``?like=ID`` names, or with the team ``?team=NAME``.

    ``who=others``: like that session, with nobody in it yet. ``scenario``: the one to choose.
    """
    query = request.query_params
    if "team" in query:
        return _with_team(request, query["team"], query.get("scenario", ""))
    try:
        plan = desk_of(request).hub.plan_of(query.get("like", ""))
    except NoSessionError:
        return {}
    filled = {"scenario": plan.scenario, "protocol": plan.protocol, "unit": plan.unit}
    filled |= {"gestation": plan.gestation, "weight": plan.weight, "purpose": plan.purpose}
    filled |= {"like": plan.session}
    if query.get("who") != "others":
        filled |= {f"role.{role}": ", ".join(people) for role, people in plan.team.items()}
    return filled | ({"real_cot": "yes"} if plan.real_cot else {})


def _with_team(request: Request, name: str, scenario: str) -> dict[str, str]:
    state = state_of(request)
    team = next((kept for kept in teams(state.store, limit=None) if kept.name == name), None)
    shelf = {listed.id: listed for listed in state.shelf.look().scenarios}
    chosen = shelf.get(scenario) or next(iter(shelf.values()), None)
    if team is None or chosen is None:
        return {}
    placed = seated(team.team, chosen.roles)
    filled = {f"role.{role}": ", ".join(people) for role, people in placed.items()}
    return filled | {"scenario": chosen.id, "unit": team.unit, "real_cot": "yes"}


async def _choose(
    request: Request,
    problems: tuple[str, ...],
    filled: dict[str, str],
    status: int = 200,
    to_ask: tuple[str, ...] = (),
) -> Response:
    state = state_of(request)
    visitor = facilitator(request)
    # Reading all files takes a while, in which no running session should wait.
    shelf = await state.shelf.look_and_check()
    if problems:  # what was typed stands beside its scenario
        shelf = await state.shelf.checked()
    elif not shelf.scenarios:  # as a rule they are there within a second of the first start
        shelf = await state.shelf.look_and_check(_PATIENCE_S)
    rows = []
    number = page_number(request)
    listed = desk_of(request).hub.sessions((number - 1) * ROWS, ROWS + 1)
    pages = pages_onward("/", {}, number, len(listed))
    for stored, planned in listed[:ROWS]:
        address = f"/s/{planned.session}"
        if not stored.opened:
            standing, address = "prebrief", f"{address}/prebrief"
        elif desk_of(request).hub.is_cot_out(planned.session):
            standing, address = "cot not returned", f"{address}/return"
        elif stored.closed:
            standing, address = "ended", f"{address}/review"
        else:
            standing = "running"
        rows.append(
            SessionRow(
                planned.session,
                planned.title,
                stored.planned.wall,
                standing,  # type: ignore[arg-type]
                planned.purpose,
                address,
            )
        )
    data = ChoosePage(
        scenarios=tuple(_choice(scenario) for scenario in shelf.scenarios),
        protocols=shelf.protocols,
        sessions=tuple(rows),
        problems=problems,
        asked=to_ask,
        filled=filled,
        broken=shelf.broken,
        checking=shelf.checking,
        units=lists.units(state.store, limit=LISTED),
        newer=pages.before,
        older=pages.after,
        cots=_cots_out(request),
        people=chips(request, visitor, unit=filled.get("unit", "")),
        names=sees_names(state.store, visitor),
        teams=tuple(
            TeamChip(team.name, team.people, f"/?{urlencode({'team': team.name})}")
            for team in teams(state.store, limit=_TEAMS)
        ),
        today=rows_of(request, today(request)),
        away=bool(desk_of(request).hub.sessions(0, 1, away=True)),
    )
    return page(request, "choose.html.j2", data, status=status)


def _cots_out(request: Request) -> tuple[CotLeft, ...]:
    left = []
    for running in desk_of(request).hub.cots_out():
        scene = running.scene()
        cot = cot_after_the_end(scene) if scene is not None else None
        if scene is not None and cot is not None:
            address = f"/s/{running.plan.session}/return"
            left.append(CotLeft(running.plan.title, scene.fold.events[0].wall, cot, address))
    return tuple(left)


def _choice(scenario: ShelfScenario) -> ScenarioChoice:
    return ScenarioChoice(
        id=scenario.id,
        title=scenario.title,
        planned=scenario.planned,
        learners=scenario.learners,
        roles=tuple(scenario.roles.items()),
        gestation=scenario.gestation,
        weight=scenario.weight,
        protocol=scenario.protocol,
        faults=scenario.faults,
    )


def _prebrief(
    request: Request, running: Running, problems: tuple[str, ...], other_cot: str = ""
) -> PrebriefPage:
    scenario, planned = running.scenario, running.plan
    briefing = [
        (heading, scenario.briefing[name])
        for name, heading in _HEADINGS.items()
        if scenario.briefing.get(name)
    ]
    briefing += [
        (name.replace("_", " ").capitalize(), text)
        for name, text in scenario.briefing.items()
        if name not in _HEADINGS and name != _FACILITATOR and text
    ]
    infant = f"{gestation(scenario.infant.gestation_days)}, {weight(scenario.infant.weight_g)}"
    return PrebriefPage(
        session=planned.session,
        title=scenario.title,
        banner=banner_of(scenario, planned.purpose),
        infant=f"{infant}: {scenario.infant.words}" if scenario.infant.words else infant,
        briefing=tuple(briefing),
        facilitator=scenario.briefing.get(_FACILITATOR, ""),
        objectives=tuple(scenario.objectives.values()),
        roles=tuple(
            RoleRow(role, label, planned.team.get(role, ()))
            for role, label in scenario.roles.items()
        ),
        ways=_ways(scenario),
        planned=planned_words(scenario),
        faults=tuple((fault.shows, fault.plant) for fault in scenario.start.faults.values()),
        bedside=display_address(request, running),
        qr=f"/s/{planned.session}/qr.svg",
        code=planned.display,
        returns_cot=planned.returns_cot,
        other_cot=other_cot,
        problems=problems,
        people=_people(request, running),
    )


def _people(request: Request, running: Running) -> tuple[PrebriefPerson, ...]:
    """Return who is to take part: what they took along, set out to do, and agreed to."""
    store, session = state_of(request).store, running.plan.session
    codes = dict.fromkeys(code for codes in running.plan.team.values() for code in codes)
    along = {text.code: text.words for text in own_words.taken_along(store, tuple(codes), session)}
    written = own_words.of_session(store, session)
    goals = {text.code: text.words for text in written if text.kind == "goal"}
    consented = consents.of_people(store, tuple(codes))
    return tuple(
        PrebriefPerson(
            code, along.get(code, ""), goals.get(code, ""), *_consent(code, consented[code])
        )
        for code in codes
    )


def _consent(code: str, answers: Mapping[Use, Said]) -> tuple[str, str]:
    """Tell what somebody agreed to, and why the session can't start with them, if it can't."""
    taking_part, research = answers.get("taking part"), answers.get("research")
    if taking_part is None:
        words = say("consent_open")
    else:
        key = "consent_given" if taking_part.given else "consent_refused"
        words = say(key, day=local_day(taking_part.wall))
    if research is not None and research.given:
        words = say("consent_research", taking_part=words)
    if taking_part is None or taking_part.given:
        return words, ""
    return words, say("consent_stops", code=code, day=local_day(taking_part.wall))


def _keep_goals(request: Request, running: Running, form: Mapping[str, str]) -> None:
    state, session = state_of(request), running.plan.session
    now = wall(state.clock.wall_ms())
    for person in _people(request, running):
        goal = form.get(f"goal.{person.code}")
        if goal is not None:
            own_words.put(state.store, OwnWords(session, person.code, "goal", goal, now))


def _ways(scenario: Scenario) -> str:
    """Tell what counts as done, and the items where that differs."""
    usual = ("done", "simulated")
    others = [
        f"{item.title} ({', '.join(item.accepts)})"
        for item in scenario.key
        if item.asked is not None and item.accepts != usual
    ]
    known = ", ".join(way for way in HOW if way not in usual)
    words = say("what_counts", known=known)
    return say("what_counts_else", usual=words, items="; ".join(others)) if others else words
