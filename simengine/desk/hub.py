"""All sessions of this console: planned, running and ended.

Rules of this file:

- A session is brought to life from the store when it is first asked for; those that were running
  when the server last ended are brought to life at its start.
- A session whose scenario can't be loaded any more keeps no other from running; it is told why.
- A recorder's code holds until its session ends; a display's then shows only that it is over.
"""

from __future__ import annotations

import hmac
import logging
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime

from simengine import __version__
from simengine.desk.alone import Director
from simengine.desk.running import Running
from simengine.desk.session_plan import (
    Purpose,
    SessionPlan,
    new_codes,
    new_session_id,
    plan_from_json,
)
from simengine.problems import InputError
from simengine.scenario.model import Scenario
from simengine.session.events import Event
from simengine.session.full_speed import known_by
from simengine.session.retry import Retry, log_of_retry
from simengine.store import Planned, Store, Stored, StoreError, lists
from simengine.web.clock import Clock, wall
from simengine.web.shelf import Shelf, gestation_words, weight_words

_LOG = logging.getLogger("simengine.console")


class NoSessionError(Exception):
    """There is no such session, or it can't be brought to life; the words are for a person."""


def _nothing(_: Running) -> None:
    """What is done at a session's end where nobody asked for anything."""


def _nobody(plan: SessionPlan, scenario: Scenario) -> Director | None:
    """Return who directs a session, where nobody does."""
    del plan, scenario
    return None


class Hub:
    """The sessions in ``store``, their scenarios from ``shelf``.

    ``ended`` is called with each session as it is closed, ``renewed`` then and with whatever is
    recorded afterwards. ``directed`` gives a session that is played alone its director.
    """

    def __init__(self, store: Store, shelf: Shelf, clock: Clock) -> None:
        self.shelf = shelf
        self.clock = clock
        self.ended: Callable[[Running], None] = _nothing
        self.renewed: Callable[[Running], None] = _nothing
        self.directed: Callable[[SessionPlan, Scenario], Director | None] = _nobody
        self._shut = False
        self.store = store
        self._running: dict[str, Running] = {}
        self._plans: dict[str, SessionPlan] = {}
        self._cots_out: set[str] = set()
        self.take_up()

    def start(self) -> None:
        """Carry on with every session that has been opened and not closed."""
        for stored in self.store.sessions():
            if stored.opened and not stored.closed:
                session = stored.planned.session
                try:
                    self.running(session).catch_up()
                except (NoSessionError, StoreError) as error:
                    _LOG.error("session %s can't go on: %s", session, error)

    def stop(self) -> None:
        """End all streams and timers."""
        for running in self._running.values():
            running.stop()

    def close(self) -> None:
        """End everything and let go of the store."""
        self.stop()
        self.store.close()

    def plan(
        self,
        scenario: Scenario,
        *,
        protocol: str,
        gestation: str,
        weight: str,
        purpose: Purpose,
        real_cot: bool,
        team: Mapping[str, tuple[str, ...]],
        unit: str = "",
        alone: str = "",
        guided: bool = False,
    ) -> SessionPlan:
        """Plan a session of a scenario as it was loaded. Raises ``StoreError``."""
        display, recorder = new_codes()
        plan = SessionPlan(
            session=new_session_id(),
            scenario=scenario.id,
            title=scenario.title,
            digest=scenario.digest,
            protocol=protocol,
            protocol_digest=scenario.protocol.digest,
            gestation=gestation,
            weight=weight,
            purpose=purpose,
            real_cot=real_cot,
            team=team,
            display=display,
            recorder=recorder,
            unit=unit,
            returns_cot=scenario.returns_cot and purpose != "rehearsal",
            alone=alone,
            guided=guided,
        )
        planned = Planned(plan.session, wall(self.clock.wall_ms()), plan.as_json())
        self.store.create(planned)
        self._plans[plan.session] = plan
        return plan

    def retry(self, first: Running, entered: Event, from_ms: int, lasts_ms: int) -> SessionPlan:
        """Begin a retry of a session from the state that ``entered`` names; it runs at once.

        ``from_ms``: the scenario time of the entry. Raises ``StoreError``.
        """
        live = first.live
        assert live is not None
        state = str(entered.data["state"])
        display, recorder = new_codes()
        title = f"{first.scenario.title}: again from “{first.scenario.states[state].title}”"
        plan = replace(
            first.plan,
            session=new_session_id(),
            title=title,
            purpose="rehearsal",
            display=display,
            recorder=recorder,
            returns_cot=False,
            again=f"{first.plan.session} {state} {from_ms}",
        )
        again = Retry(first.plan.session, state, from_ms, lasts_ms)
        now = datetime.fromtimestamp(self.clock.wall_ms() / 1000, tz=UTC)
        log = log_of_retry(live.events, entered, again, session=plan.session, now=now)
        self.store.create(Planned(plan.session, wall(self.clock.wall_ms()), plan.as_json()))
        self.store.append(plan.session, log)
        self._plans[plan.session] = plan
        self.running(plan.session).catch_up()
        return plan

    def plan_like(self, plan: SessionPlan, team: Mapping[str, tuple[str, ...]]) -> SessionPlan:
        """Plan a session like another, of the scenario as it is now, with a team.

        Raises ``StoreError``, ``InputError`` and ``LookupError`` where it can't be loaded.
        """
        scenario = self.shelf.scenario(
            plan.scenario, protocol=plan.protocol, gestation=plan.gestation, weight=plan.weight
        )
        return self.plan(
            scenario,
            protocol=plan.protocol,
            gestation=plan.gestation,
            weight=plan.weight,
            purpose=plan.purpose,
            real_cot=plan.real_cot,
            team=team,
            unit=plan.unit,
        )

    def plan_of(self, session: str) -> SessionPlan:
        """Return how a session was planned. Raises ``NoSessionError``."""
        plan = self._plans.get(session)
        if plan is None:
            raise NoSessionError("There is no such session here.")
        return plan

    def sessions(
        self, offset: int, limit: int, *, away: bool = False
    ) -> tuple[tuple[Stored, SessionPlan], ...]:
        """Return sessions that were planned here, newest first; ``away``: that were put away."""
        return tuple(
            (stored, self._plans[stored.planned.session])
            for stored in lists.planned(self.store, offset=offset, limit=limit, away=away)
        )

    def running(self, session: str) -> Running:
        """Return a session. Raises ``NoSessionError``."""
        running = self._running.get(session)
        if running is not None:
            return running
        if self._shut:
            raise NoSessionError("Somebody is being erased from the records. Try in a moment.")
        plan = self.plan_of(session)
        try:
            scenario = self.shelf.scenario(
                plan.scenario,
                protocol=plan.protocol,
                gestation=plan.gestation,
                weight=plan.weight,
            )
        except (InputError, LookupError) as error:
            raise NoSessionError(
                f"The scenario '{plan.scenario}' can't be loaded any more: {error}"
            ) from error
        if (scenario.digest, scenario.protocol.digest) != (plan.digest, plan.protocol_digest):
            raise NoSessionError(
                f"The scenario '{plan.scenario}' or its protocol has been changed since this "
                "session was planned. Put the old version back, or plan the session anew."
            )
        try:
            running = Running(
                plan,
                scenario,
                self.store,
                self.clock,
                lambda other: self.ended(other),
                self._renewed,
                self.directed(plan, scenario),
            )
        except StoreError as error:
            raise NoSessionError(str(error)) from error
        self._running[session] = running
        return running

    def cots_out(self) -> tuple[Running, ...]:
        """Return the ended sessions whose cot has not been returned, as far as they can be read."""
        sessions = []
        for session in sorted(self._cots_out):
            try:
                sessions.append(self.running(session))
            except NoSessionError as error:
                _LOG.error("session %s, whose cot has not been returned: %s", session, error)
        return tuple(sessions)

    def is_cot_out(self, session: str) -> bool:
        """Whether a session has ended and its cot has not been returned."""
        return session in self._cots_out

    def _renewed(self, running: Running) -> None:
        live = running.live
        out = live is not None and running.closed and live.fold.must_return
        (self._cots_out.add if out else self._cots_out.discard)(running.plan.session)
        self.renewed(running)

    def read_again(self, session: str) -> None:
        """Take over what was added to a session's log by others than its engine."""
        running = self._running.get(session)
        if running is not None:
            running.read_again()

    def any_runs(self) -> bool:
        """Whether any session has been opened here and not ended."""
        return any(
            running.live is not None and not running.closed for running in self._running.values()
        )

    def let_go(self) -> None:
        """Hold no session in memory any longer, until ``take_up``; their streams end."""
        self._shut = True
        for running in self._running.values():
            running.stop()
        self._running.clear()

    def take_up(self) -> None:
        """Read all plans from the store, and let sessions come to life again."""
        self._shut = False
        stored = self.store.sessions()
        self._plans = {
            session.planned.session: plan_from_json(session.planned.plan) for session in stored
        }
        left = [
            session.planned.session for session in stored if session.closed and not session.returned
        ]
        self._cots_out = {session for session in left if self._plans[session].returns_cot}

    def by_display(self, code: str) -> Running | None:
        """Return the session that a display's code opens."""
        return self._by_code(code, "display")

    def by_recorder(self, code: str) -> Running | None:
        """Return the session that a second recorder's code opens, until it ends."""
        running = self._by_code(code, "recorder")
        return None if running is None or running.closed else running

    def played_by(self, who: str) -> tuple[SessionPlan, ...]:
        """Return the sessions that somebody plays alone, in the order in which they were begun."""
        return tuple(plan for plan in self._plans.values() if who and plan.alone == who)

    def planned(self) -> tuple[str, ...]:
        """Return the ids of all sessions that were planned here."""
        return tuple(self._plans)

    def _by_code(self, code: str, which: str) -> Running | None:
        session = None
        for plan in self._plans.values():
            if hmac.compare_digest(str(getattr(plan, which)).encode(), code.encode()):
                session = plan.session
        if session is None:
            return None
        try:
            return self.running(session)
        except NoSessionError:
            return None


def opening_data(running: Running, other_cot: str = "") -> dict[str, object]:
    """Return the data of the event that opens a session's log.

    ``other_cot``: where the cot for a real baby stands.
    """
    plan, scenario = running.plan, running.scenario
    data: dict[str, object] = {
        "session": plan.session,
        **known_by(scenario),
        "program": f"simengine {__version__}",
        "team": {role: list(people) for role, people in plan.team.items()},
        "purpose": plan.purpose,
    }
    if other_cot:
        data["other_cot"] = other_cot
    if plan.gestation or plan.weight:
        data["infant"] = {
            "gestation": gestation_words(scenario.infant),
            "weight": weight_words(scenario.infant),
        }
    return data
