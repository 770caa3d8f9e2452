"""The pages on which a scenario is chosen and played alone.

Rules of this file:

- Whoever said that they take no part in recorded sessions may rehearse all the same: then nothing
  is recorded under their code, and it is counted for nobody.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4, uuid5

import orjson
from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.console_view import banner_of
from simengine.desk.desk_state import desk_of
from simengine.desk.event_stream import EventStream
from simengine.desk.hub import opening_data
from simengine.desk.inputs import Input, RefusedInput, is_uuid
from simengine.desk.let_in import stream_of
from simengine.desk.running import Running
from simengine.desk.session_plan import HERE, SessionPlan, team_of
from simengine.problems import InputError
from simengine.quantities.formatting import format_duration, gestation, weight
from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.cot import NOT_RIGHT, arrives, bench_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.director import AloneDirector
from simengine.rehearsal.hands import ONESELF, called_of, has_baby
from simengine.rehearsal.page_contexts import PlayPage, RehearsePage, TryRow
from simengine.rehearsal.rehearsal_sentences import say
from simengine.rehearsal.script_words import script_words
from simengine.rehearsal.show import groups_of, play_view
from simengine.rehearsal.touches import Entered, NotDoneError, Touch, done_by
from simengine.rehearsal.who_may_play import own_rehearsal, player, recorder_of
from simengine.scenario.model import Scenario
from simengine.session.rights import Recorder
from simengine.store import Store, StoreError, consents, lists
from simengine.store.spelt import team_spelt
from simengine.web.app_state import state_of
from simengine.web.forms import check_token, form_of
from simengine.web.local_time import local
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError

_LOG = logging.getLogger("simengine.console")
_MOST_TRIES = 12
_MOST_BODY = 4_000
_PATIENCE_S = 3.0
_PARENT = "parent"


def director_of(
    folders: Sequence[Path], plan: SessionPlan, scenario: Scenario
) -> AloneDirector | None:
    """Return the director of a session that is played alone; ``None`` for any other.

    ``folders``: where files of the hospital's own cot stand, before the shipped ones.
    """
    if not plan.alone:
        return None
    rules = alone_rules()
    return AloneDirector(
        scenario,
        rules,
        guided=plan.guided,
        cot=_cot(scenario, folders),
        show=lambda scene, cot: play_view(scene, rules, cot),
    )


def _cot(scenario: Scenario, folders: Sequence[Path]) -> CotAtHand | None:
    try:
        bench = bench_of(scenario, folders)
    except InputError as error:
        _LOG.error("the cot of %s can't be worked: %s", scenario.id, error)
        return None
    return None if bench is None else CotAtHand(bench)


def _cot_of(running: Running) -> CotAtHand | None:
    director = running.director
    return director.cot if isinstance(director, AloneDirector) else None


async def rehearse(request: Request) -> Response:
    """``GET /rehearse``."""
    player(request)
    return await _choose(request, ())


async def begin(request: Request) -> Response:
    """``POST /rehearse``: it runs at once."""
    visitor, who = player(request)
    form = await form_of(request, visitor)
    state, hub = state_of(request), desk_of(request).hub
    try:
        scenario = state.shelf.scenario(
            form.get("scenario", ""), protocol="", gestation="", weight=""
        )
    except (LookupError, InputError):
        return await _choose(request, (say("choose_one"),), form, 422)
    problems: list[str] = []
    code = form.get("code", "") if who == HERE else ""
    team = _team(scenario, code or visitor.is_trainee(state.clock.now_ms()), problems)
    team, numbers = team_spelt(state.store, team)
    team = _agreed(state.store, team)
    if problems or numbers:
        return await _choose(request, (say("code_alone"),), form, 422)
    plan = hub.plan(
        scenario,
        protocol="",
        gestation="",
        weight="",
        purpose="rehearsal",
        real_cot=False,
        team=team,
        alone=who,
        guided=form.get("way") == "guided",
    )
    running = hub.running(plan.session)
    cot = _cot_of(running)
    comes_late = {"arrives": arrives(cot.bench)} if cot is not None else {}
    running.open({**opening_data(running), **comes_late}, recorder_of(visitor))
    return see(f"/rehearse/{plan.session}")


async def play(request: Request) -> Response:
    """``GET /rehearse/ID``."""
    _, running = own_rehearsal(request)
    running.catch_up()
    if running.closed or running.changed:
        return see(f"/rehearse/{running.plan.session}/after")
    scenario = running.scenario
    banner = banner_of(scenario, running.plan.purpose)
    infant = f"{gestation(scenario.infant.gestation_days)}, {weight(scenario.infant.weight_g)}"
    data = PlayPage(
        say=say,
        session=running.plan.session,
        title=running.plan.title,
        infant=infant,
        protocol=banner.protocol,
        caution=banner.caution,
        bench=cot.source(live.fold, baby=has_baby(scenario))
        if (cot := _cot_of(running)) is not None and (live := running.live) is not None
        else "",
        briefing=tuple(
            (heading, scenario.briefing[name])
            for name, heading in (
                ("learners", say("brief_learners")),
                ("risk", say("brief_risk")),
                ("cord_plan", say("brief_cord")),
            )
            if scenario.briefing.get(name)
        ),
        view=running.view("play").decode(),
        groups=orjson.dumps([asdict(group) for group in groups_of(scenario, cot)]).decode(),
        skips=tuple((ms, say("skip", span=format_duration(ms))) for ms in alone_rules().skips_ms),
        words=orjson.dumps(script_words()).decode(),
    )
    return page(request, "play.html.j2", data)


async def stream(request: Request) -> EventStream:
    """``GET /rehearse/ID/stream``."""
    _, running = own_rehearsal(request)
    return stream_of(request, running, running.join("play"))


async def do(request: Request) -> Response:
    """``POST /rehearse/ID/do``: one touch; answered once it is durable, or refused in words."""
    visitor, running = own_rehearsal(request)
    check_token(request, visitor, request.headers.get("x-csrf-token", ""))
    touch = _touch(await request.body())
    running.catch_up()
    scene = running.scene()
    if scene is None:
        raise RefusalError(409, say("not_begun"))
    recorder, cot = recorder_of(visitor), _cot_of(running)
    try:
        done = done_by(touch, scene, alone_rules(), cot, recorder.key)
        refused = _recorded(running, touch.id, done.entries, recorder)
        if cot is not None and running.live is not None and not running.closed:
            moved = [Entered(drift.kind, drift.data) for drift in cot.drifted(running.live.fold)]
            _recorded(running, str(uuid4()), moved, recorder)
    except NotDoneError as error:
        return _json({"words": str(error)}, 409)
    except StoreError as error:
        raise RefusalError(503, say("not_kept"), str(error)) from error
    if refused:
        return _json({"words": refused[0].words}, 409)
    running.show_soon()
    return _json({"words": done.words or _answer(running, touch)})


def _answer(running: Running, touch: Touch) -> str:
    """Return what is there to be seen after a touch on the cot that nothing else answers."""
    cot, scene = _cot_of(running), running.scene()
    if touch.do != "cot" or cot is None or scene is None:
        return ""
    words = cot.seen(scene, touch.name)
    if touch.chosen.get("control") == NOT_RIGHT:
        words = say("called_wrong")
    called = called_of(alone_rules(), str(touch.chosen.get("by", ONESELF)))
    return say("helper_says", who=called, words=words) if called else words


def _recorded(
    running: Running, id_: str, entries: Sequence[Entered], recorder: Recorder
) -> list[RefusedInput]:
    """Record what a touch became, all at one instant; return what the engine refused."""
    now = running.log_ms()
    ids = [id_, *(str(uuid5(UUID(id_), str(number))) for number in range(1, len(entries)))]
    inputs = [
        Input(one_id, entry.kind, now, dict(entry.data))
        for one_id, entry in zip(ids, entries, strict=False)
    ]
    return running.record(inputs, recorder) if inputs else []


def _touch(body: bytes) -> Touch:
    """Read what a page sends. Raises ``RefusalError``."""
    try:
        sent = orjson.loads(body) if len(body) <= _MOST_BODY else None
    except orjson.JSONDecodeError:
        sent = None
    if not isinstance(sent, Mapping) or not all(
        isinstance(sent.get(name), str) for name in ("id", "do", "name")
    ):
        raise RefusalError(400, say("not_understood"))
    chosen = sent.get("chosen", {})
    if not isinstance(chosen, Mapping) or not is_uuid(sent["id"]):
        raise RefusalError(400, say("not_understood"))
    return Touch(sent["id"].lower(), sent["do"], sent["name"], chosen)


def _team(scenario: Scenario, code: str, problems: list[str]) -> dict[str, tuple[str, ...]]:
    """Return one person in every role but that of a parent; nobody where there is no code."""
    if not code.strip():
        return {}
    roles = {role: label for role, label in scenario.roles.items() if role != _PARENT}
    return team_of({f"role.{role}": code for role in roles}, roles, problems)


def _agreed(store: Store, team: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Return a team without who refused to be recorded under their code."""
    refused = consents.who(store, "taking part", given=False)
    return {} if any(refused.intersection(codes) for codes in team.values()) else team


async def _choose(
    request: Request,
    problems: tuple[str, ...],
    filled: Mapping[str, str] | None = None,
    status: int = 200,
) -> Response:
    state = state_of(request)
    _, who = player(request)
    shelf = await state.shelf.look_and_check()
    if not shelf.scenarios:
        shelf = await state.shelf.look_and_check(_PATIENCE_S)
    chosen = (filled or {}).get("scenario") or request.query_params.get("scenario", "")
    data = RehearsePage(
        say=say,
        scenarios=shelf.scenarios,
        tries=_tries(request, who),
        problems=problems,
        asks_code=who == HERE,
        chosen=chosen or (shelf.scenarios[0].id if shelf.scenarios else ""),
        checking=shelf.checking,
    )
    return page(request, "rehearse.html.j2", data, status=status)


def _tries(request: Request, who: str) -> tuple[TryRow, ...]:
    hub, rows = desk_of(request).hub, []
    for stored in lists.planned(state_of(request).store, offset=0, limit=_MOST_TRIES, alone=who):
        session = stored.planned.session
        address = f"/rehearse/{session}" + ("/after" if stored.closed else "")
        standing = say("try_ended") if stored.closed else say("try_runs")
        title = hub.plan_of(session).title
        rows.append(TryRow(local(stored.planned.wall), title, standing, address))
    return tuple(rows)


def _json(data: Mapping[str, Any], status: int = 200) -> Response:
    return Response(orjson.dumps(data), status, media_type="application/json")
