"""The tables of the store, for SQLite and PostgreSQL.

Rules of this file:

- The files in ``migrations`` make these tables; a test holds the two together on both databases.
- Order matters: a table stands after those that it refers to, and copies are made in this order.
- Events are only ever added; the database itself sees to that by triggers (see ``migrations``).
- What is JSON in the log is kept as text, not as the database's own JSON, so that not a byte of
  what was hashed changes. Instants (``wall``) are UTC as ISO 8601 text, as in the log.
- ``number`` counts up in the order of adding, where order matters.
- People are codes. A name stands in ``trainees.name`` alone.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import (
    REAL,
    BigInteger,
    Boolean,
    Column,
    Date,
    Dialect,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    text,
)
from sqlalchemy.types import TypeEngine

REVISION = "0009"
"""The newest migration, which these tables are."""

REVISION_TABLE = "simengine_revision"
"""Where the database says which migration it has seen last."""


class Day(TypeDecorator[date]):
    """A calendar day: DATE in PostgreSQL, ISO 8601 text in SQLite."""

    impl = Date
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Return the type that the database has for it."""
        return dialect.type_descriptor(Text() if dialect.name == "sqlite" else Date())

    def process_bind_param(self, value: date | None, dialect: Dialect) -> Any:
        """Turn a day into what the database keeps."""
        return value.isoformat() if value is not None and dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:
        """Turn what the database keeps into a day."""
        return date.fromisoformat(value) if isinstance(value, str) else value


class Flag(TypeDecorator[bool]):
    """Yes or no: BOOLEAN in PostgreSQL, 0 or 1 in SQLite."""

    impl = Boolean
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Return the type that the database has for it."""
        return dialect.type_descriptor(Integer() if dialect.name == "sqlite" else Boolean())

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> Any:
        """Turn it into what the database keeps."""
        return int(value) if value is not None and dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:
        """Turn what the database keeps into yes or no."""
        return None if value is None else bool(value)


Whole = BigInteger().with_variant(Integer(), "sqlite")
Real: TypeEngine[float] = Double().with_variant(REAL(), "sqlite")

metadata = MetaData()


def _table(name: str, *parts: Any) -> Table:
    return Table(name, metadata, *parts, sqlite_strict=True)


def _session(**kind: Any) -> Column[str]:
    return Column("session", Text, ForeignKey("sessions.session"), **kind)


def _number() -> Column[int]:
    return Column("number", Whole, nullable=False, server_default=text("0"))


# --- session logs ---------------------------------------------------------------------------------

sessions = _table(
    "sessions",
    Column("session", Text, primary_key=True),
    Column("wall", Text, nullable=False),
    Column("plan", Text, nullable=False),  # JSON; null for a log that came from elsewhere
    _number(),
    Column("unit", Text),
    Column("put_away", Text),  # why, where it was begun by mistake; kept as the log says
    Index("sessions_by_number", "number"),
)

events = _table(
    "events",
    _session(nullable=False),
    Column("seq", Whole, nullable=False),
    Column("id", Text, nullable=False),
    Column("at_ms", Whole, nullable=False),
    Column("noted_ms", Whole, nullable=False),
    Column("wall", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("data", Text, nullable=False),
    Column("prev", Text, nullable=False),
    Column("hash", Text, nullable=False),
    PrimaryKeyConstraint("session", "seq"),
    UniqueConstraint("session", "id"),
    # so that the list of sessions, and what was signed, never reads whole logs
    Index("events_by_kind", "kind", "session"),
)

tails = _table(  # kept by a trigger: the last event of each log
    "tails",
    _session(primary_key=True),
    Column("seq", Whole, nullable=False),
    Column("hash", Text, nullable=False),
)

evidence = _table(  # whom the signed outcomes of a session prove something of; kept with the log
    "evidence",
    _session(nullable=False),
    Column("code", Text, nullable=False),
    Column("day", Day, nullable=False),
    Column("scenario", Text, nullable=False),
    Column("roles", Text, nullable=False),  # JSON list
    PrimaryKeyConstraint("session", "code"),
    # so that the newest of each person, scenario and roles is found in the index alone
    Index("evidence_by_code", "code", "scenario", "roles", "day", "session"),
)

resealings = _table(  # logs that were written anew because a person was erased from them
    "resealings",
    Column("number", Whole, primary_key=True, autoincrement=True),
    _session(nullable=False),
    Column("wall", Text, nullable=False),
    Column("events", Whole, nullable=False),  # how many were changed
    Column("hash", Text, nullable=False),  # of the last event, after it
    Column("why", Text, nullable=False),
    Index("resealings_by_session", "session"),
)

# --- results: a cache that can always be computed again -------------------------------------------

results = _table(
    "results",
    _session(nullable=False),
    Column("log_hash", Text, nullable=False),  # of the log's last event
    Column("scenario_digest", Text, nullable=False),
    Column("protocol_digest", Text, nullable=False),
    Column("program", Text, nullable=False),
    Column("current", Flag, nullable=False),  # the one that was put last for its session
    _number(),
    Column("wall", Text, nullable=False),
    Column("day", Day, nullable=False),
    Column("unit", Text),
    Column("scenario", Text, nullable=False),
    Column("purpose", Text, nullable=False),
    Column("confirmed", Flag, nullable=False),
    Column("total", Real),
    Column("outcome", Text),
    Column("result", Text, nullable=False),  # JSON of the SessionResult
    Column("card", LargeBinary, nullable=False),  # JSON of the score card, compressed (zlib)
    PrimaryKeyConstraint("session", "log_hash", "scenario_digest", "protocol_digest", "program"),
    Index("results_by_session", "session", "current"),
    Index("results_by_wall", "current", "wall", "session"),
    Index("results_by_unit", "unit", "current", "wall", "session"),
)

takings = _table(  # who held which role in the current result of a session
    "takings",
    _session(nullable=False),
    Column("code", Text, nullable=False),
    Column("role", Text, nullable=False),
    PrimaryKeyConstraint("session", "code", "role"),
    Index("takings_by_code", "code", "session"),
)

item_results = _table(  # the items of the current result of a session
    "item_results",
    _session(nullable=False),
    Column("item", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("importance", Text, nullable=False),
    Column("weight", Real, nullable=False),
    Column("objective", Text),
    Column("phase", Text),
    Column("role", Text),
    Column("person", Text),
    Column("applied", Flag, nullable=False),
    Column("credit", Real),
    Column("verdict", Text, nullable=False),
    Column("with_cue", Flag, nullable=False),
    Column("time_s", Real),
    Column("watched_s", Real),
    Column("limit_s", Real),
    PrimaryKeyConstraint("session", "item"),
    Index("item_results_by_item", "item"),
    Index("item_results_by_person", "person"),
)

fault_results = _table(  # the faults of the current result of a session
    "fault_results",
    _session(nullable=False),
    Column("fault", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("planted", Flag, nullable=False),
    Column("found_s", Real),
    Column("put_right_s", Real),
    Column("watched_s", Real, nullable=False),
    PrimaryKeyConstraint("session", "fault"),
    Index("fault_results_by_planted", "planted", "session"),
)

scenario_files = _table(  # what a session ran, so that it can be shown when the files have changed
    "scenario_files",
    Column("scenario_digest", Text, nullable=False),
    Column("protocol_digest", Text, nullable=False),
    Column("files", LargeBinary, nullable=False),  # JSON, name to text, compressed (zlib)
    PrimaryKeyConstraint("scenario_digest", "protocol_digest"),
)

rescore_runs = _table(
    "rescore_runs",
    Column("run", Text, primary_key=True),
    Column("began", Text, nullable=False),  # instant
    Column("ended", Text),  # instant; null while it has not ended
    Column("asked", Text, nullable=False),  # JSON: under what, so that a run like it goes on
)

rescored = _table(  # what a run has done so far, one row a session
    "rescored",
    Column("run", Text, ForeignKey("rescore_runs.run"), nullable=False),
    _session(nullable=False),
    Column("told", Text, nullable=False),  # JSON: why it was scored, before and after
    PrimaryKeyConstraint("run", "session"),
)

# --- the roster -----------------------------------------------------------------------------------

trainees = _table(
    "trainees",
    Column("code", Text, primary_key=True),
    Column("profession", Text, nullable=False),
    Column("name", Text, nullable=False, server_default=text("''")),
    Column("left", Day),
    _number(),
    Column("staff_number", Text, nullable=False, server_default=text("''")),
)

postings = _table(
    "postings",
    Column("code", Text, ForeignKey("trainees.code"), nullable=False),
    Column("unit", Text, nullable=False),
    Column("since", Day, nullable=False),
    Column("until", Day),
    PrimaryKeyConstraint("code", "unit", "since"),
    Index("postings_by_unit", "unit"),
)

requirements = _table(
    "requirements",
    Column("id", Text, primary_key=True),
    Column("title", Text, nullable=False),
    Column("every_months", Whole, nullable=False),
    Column("professions", Text, nullable=False, server_default=text("'[]'")),  # JSON lists
    Column("units", Text, nullable=False, server_default=text("'[]'")),
    Column("scenarios", Text, nullable=False, server_default=text("'[]'")),
    Column("role", Text),
    Column("warn_days", Whole, nullable=False),
    Column("starter_days", Whole, nullable=False, server_default=text("0")),
    _number(),
    Column("since", Day),
)

leaves = _table(
    "leaves",
    Column("code", Text, ForeignKey("trainees.code"), nullable=False),
    Column("since", Day, nullable=False),
    Column("until", Day, nullable=False),
    Column("reason", Text, nullable=False, server_default=text("''")),
    _number(),
    PrimaryKeyConstraint("code", "since"),
)

certificates = _table(
    "certificates",
    Column("code", Text, ForeignKey("trainees.code"), nullable=False),
    Column("requirement", Text, nullable=False),
    Column("issued", Day, nullable=False),
    Column("issuer", Text, nullable=False),
    Column("expires", Day),
    _number(),
    PrimaryKeyConstraint("code", "requirement", "issued"),
)

attendances = _table(  # that somebody was at a training of which no session is kept
    "attendances",
    Column("code", Text, nullable=False),
    Column("day", Day, nullable=False),
    Column("title", Text, nullable=False),
    Column("minutes", Whole, nullable=False),
    Column("place", Text, nullable=False, server_default=text("''")),
    PrimaryKeyConstraint("code", "day", "title"),
    Index("attendances_by_day", "day"),
)

# --- sessions to come -----------------------------------------------------------------------------

bookings = _table(
    "bookings",
    Column("id", Text, primary_key=True),  # random; also what a calendar knows it by
    Column("day", Day, nullable=False),
    Column("starts", Text, nullable=False, server_default=text("''")),  # 09:30, local; or nothing
    Column("minutes", Whole, nullable=False),
    Column("place", Text, nullable=False, server_default=text("''")),
    Column("unit", Text, nullable=False, server_default=text("''")),
    Column("scenario", Text, nullable=False),
    Column("purpose", Text, nullable=False),
    Column("team_name", Text, nullable=False, server_default=text("''")),
    Column("team", Text, nullable=False, server_default=text("'{}'")),  # JSON: role to codes
    Column("note", Text, nullable=False, server_default=text("''")),
    Column("changes", Whole, nullable=False, server_default=text("0")),
    Column("cancelled", Flag, nullable=False),
    _session(),  # that was planned from it
    Column("ticked", Text),  # instant at which somebody ticked it off
    _number(),
    Index("bookings_by_day", "day", "number"),
)

teams = _table(  # named, to be taken again
    "teams",
    Column("number", Whole, primary_key=True, autoincrement=True),
    Column("name", Text, nullable=False),
    Column("unit", Text, nullable=False, server_default=text("''")),
    Column("team", Text, nullable=False),  # JSON: role to codes
)

# --- the unit -------------------------------------------------------------------------------------

threats = _table(
    "threats",
    Column("id", Text, primary_key=True),
    _session(),
    Column("source", Text),  # the session's fault that it was taken up from
    Column("unit", Text),
    Column("category", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("opened", Day, nullable=False),
    Column("owner", Text, nullable=False, server_default=text("''")),
    Column("due", Day),
    Column("closed", Day),
    Column("closing", Text, nullable=False, server_default=text("''")),
    _number(),
    UniqueConstraint("session", "source"),
)

standards = _table(
    "standards",
    Column("number", Whole, primary_key=True, autoincrement=True),
    Column("scenario", Text, nullable=False),
    Column("scenario_digest", Text, nullable=False),
    Column("method", Text, nullable=False),
    Column("panel", Text, nullable=False),
    Column("judges", Whole),
    Column("day", Day, nullable=False),
    Column("cut", Real, nullable=False),
    Column("error", Real),
    Column("details", Text, nullable=False, server_default=text("'{}'")),  # JSON
    Index("standards_by_scenario", "scenario"),
)

accesses = _table(
    "accesses",
    Column("number", Whole, primary_key=True, autoincrement=True),
    Column("wall", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("page", Text, nullable=False),
    Column("whom", Text, nullable=False),
    Index("accesses_by_whom", "whom", "number"),
)

settings = _table(
    "settings",
    Column("key", Text, primary_key=True),
    Column("value", Text, nullable=False),  # JSON
)

# --- who may come in over the network -------------------------------------------------------------

accounts = _table(
    "accounts",
    Column("id", Text, primary_key=True),  # random; what the person records is by it
    Column("name", Text, nullable=False),  # as it was typed
    Column("folded", Text, nullable=False),  # the name as names are compared
    Column("educator", Flag, nullable=False),
    Column("coordinator", Flag, nullable=False),
    Column("trainee", Text),  # whose own pages it opens
    Column("password", Text, nullable=False),  # its Argon2id hash
    Column("wall", Text, nullable=False),
    UniqueConstraint("folded"),
    UniqueConstraint("trainee"),
)

invitations = _table(  # to make an account, or to set an account's password anew
    "invitations",
    Column("digest", Text, primary_key=True),  # SHA-256 of the code
    Column("educator", Flag, nullable=False),
    Column("coordinator", Flag, nullable=False),
    Column("trainee", Text),
    Column("account", Text, ForeignKey("accounts.id")),
    Column("until_ms", Whole, nullable=False),
)

sign_ins = _table(  # the browsers in which somebody is signed in
    "sign_ins",
    Column("digest", Text, primary_key=True),  # SHA-256 of what the browser's cookie holds
    Column("account", Text, ForeignKey("accounts.id"), nullable=False),
    Column("until_ms", Whole, nullable=False),
    Index("sign_ins_by_account", "account"),
)

shared_debriefs = _table(  # personal debriefs that the learner lets educators and coordinator read
    "shared_debriefs",
    Column("code", Text, nullable=False),
    _session(nullable=False),
    Column("wall", Text, nullable=False),
    PrimaryKeyConstraint("code", "session"),
)

own_words = _table(  # what a learner writes of a session: a goal, what to take along, another view
    "own_words",
    _session(nullable=False),
    Column("code", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("item", Text, nullable=False, server_default=text("''")),  # of the marking guide
    Column("words", Text, nullable=False),
    Column("wall", Text, nullable=False),
    Column("answer", Text, nullable=False, server_default=text("''")),
    Column("answered", Text, nullable=False, server_default=text("''")),  # instant
    PrimaryKeyConstraint("session", "code", "kind", "item"),
    Index("own_words_by_code", "code"),
)

consents = _table(  # what people say themselves of being recorded and counted; the last one holds
    "consents",
    Column("number", Whole, primary_key=True, autoincrement=True),
    Column("code", Text, nullable=False),
    Column("use", Text, nullable=False),
    Column("given", Flag, nullable=False),
    Column("wall", Text, nullable=False),
    Index("consents_by_code", "code"),
    Index("consents_by_use", "use"),
)
