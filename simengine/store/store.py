"""The store: session logs, results, roster and the rest, in SQLite or PostgreSQL.

Rules of this file:

- Calls may come from any thread; each is a transaction of its own, and what it wrote is durable
  when it returns.
- A store of an older version is brought up to today's as it is opened, in one transaction.
- What goes wrong is a ``StoreError`` with words for a person.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import IntegrityError

from simengine.session.events import Event
from simengine.store import logs
from simengine.store.counting import set_put_away
from simengine.store.database_errors import store_errors
from simengine.store.log_store import AsKept, Planned, Stored, StoreError
from simengine.store.place import (
    Place,
    engine_of,
    lock,
    make_file,
    make_folder,
    place_of,
    reach,
    writing,
)
from simengine.store.revisions import bring_up, revision_of
from simengine.store.tables import REVISION

if TYPE_CHECKING:  # results need what scores, which a console that starts does not
    from simengine.cohort.records import SessionResult


class Store:
    """A store that is open. Other modules of this package add what they keep by ``begin``."""

    def __init__(self, place: Place, engine: Engine, let_go: Callable[[], None]) -> None:
        self.place = place
        self.where = place.words
        self._engine = engine
        self._writing = writing(engine)
        self._let_go = let_go

    @classmethod
    def open(cls, where: Path | str, *, alone: bool = False) -> Self:
        """Open the store in a data folder, or at a database's address (postgresql://…).

        ``alone``: refuse if another console has it, and keep other consoles out until ``close``.
        Without it, it is read and written beside a console that runs. Raises ``StoreError``.
        """
        place = place_of(where)
        make_folder(place)
        make_file(place)
        engine = engine_of(place)
        let_go = _nothing
        try:
            if alone:
                let_go = lock(place, engine)
            _bring_up(place, engine, alone)
        except BaseException:
            let_go()
            engine.dispose()
            raise
        return cls(place, engine, let_go)

    @property
    def engine(self) -> Engine:
        """SQLAlchemy's engine; what it begins may read."""
        return self._engine

    @contextmanager
    def begin(self) -> Iterator[Connection]:
        """Write in one transaction, all or nothing; durable afterwards."""
        with store_errors(self.where), self._writing.begin() as connection:
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Read what is of one instant."""
        with store_errors(self.where), self._engine.connect() as connection:
            yield connection

    def close(self) -> None:
        """Let go of the store; what is in it stays."""
        self._engine.dispose()
        self._let_go()

    def __enter__(self) -> Self:
        """Return the store itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of it."""
        self.close()

    # --- session logs ---------------------------------------------------------------------------

    def create(self, planned: Planned) -> None:
        """Keep a planned session. Raises ``StoreError`` if its id is taken."""
        with self.begin() as connection:
            try:
                unit = str(planned.plan.get("unit") or "") or None
                logs.create(connection, planned.session, planned.wall, planned.plan, unit)
            except IntegrityError as error:
                raise StoreError(f"there is a session {planned.session} already") from error

    def append(self, session: str, events: Sequence[Event]) -> None:
        """Add events to a session's log, all or none; durable on return.

        Raises ``StoreError`` where they do not follow the last one kept, and if the disk fails.
        """
        with store_errors(self.where):
            try:  # as a rule they are new, and a log that grows is not to be searched each time
                with self._writing.begin() as connection:
                    logs.append_new(connection, session, events)
            except IntegrityError:
                with self._writing.begin() as connection:
                    logs.append(connection, session, events)

    def events(self, session: str) -> tuple[Event, ...]:
        """Return a session's log, its chain verified. Raises ``StoreError`` if it is unknown, and
        ``ChangedLogError`` if it is not as it was written.
        """
        with self.reading() as connection:
            return logs.read(connection, session)

    def events_to_verify(self, session: str) -> tuple[Event, ...]:
        """Like ``events``, for whoever verifies all of the chain but its first entry elsewhere."""
        with self.reading() as connection:
            return logs.to_verify(connection, session)

    def as_kept(self, session: str) -> AsKept:
        """Return a log however it stands. Raises ``StoreError`` if it is unknown."""
        with self.reading() as connection:
            return logs.as_kept(connection, session)

    def sessions(self) -> tuple[Stored, ...]:
        """Return all sessions that were planned here, newest first."""
        with self.reading() as connection:
            return logs.planned(connection)

    def add_log(
        self,
        events: Sequence[Event],
        *,
        plan: Mapping[str, Any] | None = None,
        unit: str | None = None,
    ) -> bool:
        """Add a log that came from elsewhere, as ``read_log`` gave it; False if it is here already.

        Of a log that is here in part, what follows is added. Raises ``StoreError`` if another log
        is here under its id.
        """
        with self.begin() as connection:
            return logs.add(connection, events, plan, unit)

    def add_logs(
        self, several: Sequence[Sequence[Event]], *, unit: str | None = None
    ) -> list[bool | StoreError]:
        """Add logs in one transaction, as ``add_log`` does each; for each whether it is new here.

        One that can't be added has its error in its place, and keeps no other out.
        """
        out: list[bool | StoreError] = []
        try:
            with self.begin() as connection:
                for events in several:
                    try:
                        out.append(logs.add(connection, events, None, unit))
                    except StoreError as error:
                        out.append(error)
        except (StoreError, IntegrityError):
            return [self._added(events, unit) for events in several]
        return out

    def _added(self, events: Sequence[Event], unit: str | None) -> bool | StoreError:
        try:
            return self.add_log(events, unit=unit)
        except StoreError as error:
            return error

    def logs(self, *, counting: bool = False) -> tuple[str, ...]:
        """Return the ids of all sessions that have a log, in the order of adding.

        ``counting``: without those that were put away.
        """
        with self.reading() as connection:
            return tuple(logs.all_logs(connection, counting=counting))

    def put_away(self, session: str, reason: str | None) -> None:
        """Put away a session that was planned and never opened; ``None`` brings it back.

        Of one that was opened its log says it. Raises ``StoreError`` where there is a log.
        """
        with self.begin() as connection:
            if logs.tail(connection, session) is not None:
                raise StoreError(
                    "this session was opened, so an entry in its log puts it away or brings it back"
                )
            set_put_away(connection, session, reason)

    # --- results --------------------------------------------------------------------------------

    def put_result(self, result: SessionResult, card: Mapping[str, Any] | bytes) -> None:
        """Keep a result and its card as the current ones of the log as it is now.

        ``card``: as JSON, or as ``packed_card`` packed it.
        """
        from simengine.store import results

        with self.begin() as connection:
            results.put(connection, result, card)

    def result(self, session: str) -> SessionResult | None:
        """Return the newest result of a session."""
        from simengine.store import results

        with self.reading() as connection:
            return results.current(connection, session)

    def card(self, session: str) -> Mapping[str, Any] | None:
        """Return the score card of the newest result, as JSON."""
        from simengine.store import results

        with self.reading() as connection:
            return results.card(connection, session)

    def has_result(
        self, session: str, *, scenario_digest: str, protocol_digest: str, program: str
    ) -> bool:
        """Return whether the newest result is of the log as it is now, and of these."""
        from simengine.store import results

        with self.reading() as connection:
            return results.is_kept(connection, session, scenario_digest, protocol_digest, program)

    def without_result(self) -> tuple[str, ...]:
        """Return the sessions whose log, as it is now, has no result, in the order of adding."""
        from simengine.store import results

        with self.reading() as connection:
            return tuple(results.without(connection))

    def results(
        self,
        *,
        unit: str | None = None,
        since: date | None = None,
        until: date | None = None,
        trainee: str | None = None,
        purposes: Collection[str] | None = None,
    ) -> Iterator[SessionResult]:
        """Yield the newest result of each session in the order of ``wall``, a part at a time.

        ``since`` and ``until``: the first and the last day that count. ``trainee``: a code that
        held a role.
        """
        from simengine.store import results

        return results.listed(
            self.reading, unit=unit, since=since, until=until, trainee=trainee, purposes=purposes
        )


def _nothing() -> None:
    """What lets go of a place that was not locked."""


def _bring_up(place: Place, engine: Engine, alone: bool) -> None:
    """Bring the store up to today's version, with no console beside it."""
    with reach(place, engine) as connection, store_errors(place.words):
        revision = revision_of(connection)
    if revision == REVISION:
        return
    let_go = _nothing if alone else lock(place, engine)
    try:
        with store_errors(place.words), writing(engine).begin() as connection:
            bring_up(connection)
    finally:
        let_go()
