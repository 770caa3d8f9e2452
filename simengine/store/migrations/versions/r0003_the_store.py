"""All tables of the store, and what keeps its events from being changed.

It is numbered 0003, since 0001 and 0002 were never released; ``revisions`` brings over a store of
0002 and refuses one of 0001.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = None

TEXT = sa.Text()
BYTES = sa.LargeBinary()
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
DAY = sa.Date().with_variant(sa.Text(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")

FIRST_PREV = "0" * 64

# REPLACE removes rows without asking a trigger, so it is refused before it begins; and a row can
# be replaced by its rowid as well. An ordinary rowid is unknown before it is given (-1).
# Foreign keys hold in SQLite only on connections that ask for it; a trigger always does.
SQLITE = (
    """
    CREATE TABLE sessions (
        session TEXT PRIMARY KEY,
        wall    TEXT NOT NULL,
        plan    TEXT NOT NULL,
        number  INTEGER DEFAULT 0 NOT NULL,
        unit    TEXT
    ) STRICT
    """,
    """
    CREATE TABLE events (
        session  TEXT    NOT NULL REFERENCES sessions,
        seq      INTEGER NOT NULL,
        id       TEXT    NOT NULL,
        at_ms    INTEGER NOT NULL,
        noted_ms INTEGER NOT NULL,
        wall     TEXT    NOT NULL,
        kind     TEXT    NOT NULL,
        by       TEXT    NOT NULL,
        data     TEXT    NOT NULL,
        prev     TEXT    NOT NULL,
        hash     TEXT    NOT NULL,
        PRIMARY KEY (session, seq),
        UNIQUE (session, id)
    ) STRICT
    """,
    """
    CREATE TABLE tails (
        session TEXT PRIMARY KEY REFERENCES sessions,
        seq     INTEGER NOT NULL,
        hash    TEXT    NOT NULL
    ) STRICT
    """,
    """
    CREATE TRIGGER events_are_never_changed BEFORE UPDATE ON events
    BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END
    """,
    """
    CREATE TRIGGER events_are_never_removed BEFORE DELETE ON events
    BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END
    """,
    f"""
    CREATE TRIGGER events_follow_the_last BEFORE INSERT ON events
    WHEN NEW.seq <> COALESCE((SELECT seq + 1 FROM tails WHERE session = NEW.session), 0)
      OR NEW.prev <> COALESCE((SELECT hash FROM tails WHERE session = NEW.session), '{FIRST_PREV}')
    BEGIN SELECT RAISE(ABORT, 'the event does not follow the last one kept'); END
    """,
    """
    CREATE TRIGGER the_last_hash_is_kept AFTER INSERT ON events
    BEGIN
        INSERT INTO tails VALUES (NEW.session, NEW.seq, NEW.hash)
        ON CONFLICT (session) DO UPDATE SET seq = NEW.seq, hash = NEW.hash;
    END
    """,
    """
    CREATE TRIGGER events_are_never_replaced BEFORE INSERT ON events
    WHEN EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND id = NEW.id)
      OR EXISTS (SELECT 1 FROM events WHERE rowid = NEW.rowid)
    BEGIN SELECT RAISE(ABORT, 'an event is never replaced'); END
    """,
    """
    CREATE TRIGGER events_have_an_ordinary_rowid AFTER INSERT ON events WHEN NEW.rowid < 1
    BEGIN SELECT RAISE(ABORT, 'an event has an ordinary rowid'); END
    """,
    """
    CREATE TRIGGER tails_are_never_removed BEFORE DELETE ON tails
    BEGIN SELECT RAISE(ABORT, 'the end of a log is never removed'); END
    """,
    """
    CREATE TRIGGER tails_are_last_events BEFORE INSERT ON tails
    WHEN NOT EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq = NEW.seq
                     AND hash = NEW.hash)
      OR EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq > NEW.seq)
    BEGIN SELECT RAISE(ABORT, 'the end of a log is its last event'); END
    """,
    """
    CREATE TRIGGER tails_stay_last_events BEFORE UPDATE ON tails
    WHEN NEW.session <> OLD.session
      OR NOT EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq = NEW.seq
                     AND hash = NEW.hash)
      OR EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq > NEW.seq)
    BEGIN SELECT RAISE(ABORT, 'the end of a log is its last event'); END
    """,
    """
    CREATE TRIGGER sessions_with_a_log_stay BEFORE DELETE ON sessions
    WHEN EXISTS (SELECT 1 FROM events WHERE session = OLD.session)
    BEGIN SELECT RAISE(ABORT, 'a session with a log is never removed'); END
    """,
)

# The row of the tail is locked first, so that two writers of one log wait for one another. A
# statement-level trigger refuses even a statement that would meet no row.
POSTGRESQL = (
    """
    CREATE TABLE sessions (
        session TEXT PRIMARY KEY,
        wall    TEXT NOT NULL,
        plan    TEXT NOT NULL,
        number  BIGINT DEFAULT 0 NOT NULL,
        unit    TEXT
    )
    """,
    """
    CREATE TABLE events (
        session  TEXT   NOT NULL REFERENCES sessions,
        seq      BIGINT NOT NULL,
        id       TEXT   NOT NULL,
        at_ms    BIGINT NOT NULL,
        noted_ms BIGINT NOT NULL,
        wall     TEXT   NOT NULL,
        kind     TEXT   NOT NULL,
        by       TEXT   NOT NULL,
        data     TEXT   NOT NULL,
        prev     TEXT   NOT NULL,
        hash     TEXT   NOT NULL,
        PRIMARY KEY (session, seq),
        UNIQUE (session, id)
    )
    """,
    """
    CREATE TABLE tails (
        session TEXT PRIMARY KEY REFERENCES sessions,
        seq     BIGINT NOT NULL,
        hash    TEXT   NOT NULL
    )
    """,
    """
    CREATE OR REPLACE FUNCTION an_event_is_never_changed() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        RAISE EXCEPTION 'an event is never changed'
        USING ERRCODE = 'integrity_constraint_violation';
    END $$
    """,
    """
    CREATE OR REPLACE FUNCTION an_event_is_never_removed() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        RAISE EXCEPTION 'an event is never removed'
        USING ERRCODE = 'integrity_constraint_violation';
    END $$
    """,
    f"""
    CREATE OR REPLACE FUNCTION an_event_follows_the_last() RETURNS trigger LANGUAGE plpgsql AS $$
    DECLARE last RECORD;
    BEGIN
        SELECT * INTO last FROM tails WHERE session = NEW.session FOR UPDATE;
        IF NEW.seq <> COALESCE(last.seq + 1, 0) OR NEW.prev <> COALESCE(last.hash, '{FIRST_PREV}')
        THEN
            RAISE EXCEPTION 'the event does not follow the last one kept'
            USING ERRCODE = 'integrity_constraint_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE OR REPLACE FUNCTION the_last_hash_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        INSERT INTO tails VALUES (NEW.session, NEW.seq, NEW.hash)
        ON CONFLICT (session) DO UPDATE SET seq = NEW.seq, hash = NEW.hash;
        RETURN NULL;
    END $$
    """,
    """
    CREATE TRIGGER events_are_never_changed BEFORE UPDATE ON events
    FOR EACH STATEMENT EXECUTE FUNCTION an_event_is_never_changed()
    """,
    """
    CREATE TRIGGER events_are_never_removed BEFORE DELETE OR TRUNCATE ON events
    FOR EACH STATEMENT EXECUTE FUNCTION an_event_is_never_removed()
    """,
    """
    CREATE TRIGGER events_follow_the_last BEFORE INSERT ON events
    FOR EACH ROW EXECUTE FUNCTION an_event_follows_the_last()
    """,
    """
    CREATE TRIGGER the_last_hash_is_kept AFTER INSERT ON events
    FOR EACH ROW EXECUTE FUNCTION the_last_hash_is_kept()
    """,
    """
    CREATE OR REPLACE FUNCTION the_end_of_a_log_is_never_removed()
    RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        RAISE EXCEPTION 'the end of a log is never removed'
        USING ERRCODE = 'integrity_constraint_violation';
    END $$
    """,
    """
    CREATE OR REPLACE FUNCTION the_end_of_a_log_is_its_last_event()
    RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF NOT EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq = NEW.seq
                       AND hash = NEW.hash)
           OR EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq > NEW.seq)
        THEN
            RAISE EXCEPTION 'the end of a log is its last event'
            USING ERRCODE = 'integrity_constraint_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE TRIGGER tails_are_never_removed BEFORE DELETE OR TRUNCATE ON tails
    FOR EACH STATEMENT EXECUTE FUNCTION the_end_of_a_log_is_never_removed()
    """,
    """
    CREATE TRIGGER tails_are_last_events BEFORE INSERT OR UPDATE ON tails
    FOR EACH ROW EXECUTE FUNCTION the_end_of_a_log_is_its_last_event()
    """,
)


def upgrade() -> None:
    """Make the tables."""
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)
    _sessions()
    _results()
    _roster()
    _unit()


def _column(name: str, kind: Any, *more: Any, null: bool = False, **other: Any) -> sa.Column[Any]:
    return sa.Column(name, kind, *more, nullable=null, **other)


def _session(*, null: bool = False, **other: Any) -> sa.Column[Any]:
    return _column("session", TEXT, sa.ForeignKey("sessions.session"), null=null, **other)


def _code() -> sa.Column[Any]:
    return _column("code", TEXT, sa.ForeignKey("trainees.code"))


def _number() -> sa.Column[Any]:
    return _column("number", WHOLE, server_default=sa.text("0"))


def _sessions() -> None:
    op.create_index("sessions_by_number", "sessions", ["number"])
    op.create_index("events_by_kind", "events", ["kind", "session"])
    op.create_table(
        "evidence",
        _session(),
        _column("code", TEXT),
        _column("day", DAY),
        _column("scenario", TEXT),
        _column("roles", TEXT),
        sa.PrimaryKeyConstraint("session", "code"),
        sqlite_strict=True,
    )
    op.create_index("evidence_by_code", "evidence", ["code", "scenario", "roles", "day", "session"])
    op.create_table(
        "resealings",
        sa.Column("number", WHOLE, primary_key=True, autoincrement=True),
        _session(),
        _column("wall", TEXT),
        _column("events", WHOLE),
        _column("hash", TEXT),
        _column("why", TEXT),
        sqlite_strict=True,
    )
    op.create_index("resealings_by_session", "resealings", ["session"])


def _results() -> None:
    op.create_table(
        "results",
        _session(),
        _column("log_hash", TEXT),
        _column("scenario_digest", TEXT),
        _column("protocol_digest", TEXT),
        _column("program", TEXT),
        _column("current", FLAG),
        _number(),
        _column("wall", TEXT),
        _column("day", DAY),
        _column("unit", TEXT, null=True),
        _column("scenario", TEXT),
        _column("purpose", TEXT),
        _column("confirmed", FLAG),
        _column("total", REAL, null=True),
        _column("outcome", TEXT, null=True),
        _column("result", TEXT),
        _column("card", BYTES),
        sa.PrimaryKeyConstraint(
            "session", "log_hash", "scenario_digest", "protocol_digest", "program"
        ),
        sqlite_strict=True,
    )
    op.create_index("results_by_session", "results", ["session", "current"])
    op.create_index("results_by_wall", "results", ["current", "wall", "session"])
    op.create_index("results_by_unit", "results", ["unit", "current", "wall", "session"])
    op.create_table(
        "takings",
        _session(),
        _column("code", TEXT),
        _column("role", TEXT),
        sa.PrimaryKeyConstraint("session", "code", "role"),
        sqlite_strict=True,
    )
    op.create_index("takings_by_code", "takings", ["code", "session"])
    op.create_table(
        "item_results",
        _session(),
        _column("item", TEXT),
        _column("kind", TEXT),
        _column("importance", TEXT),
        _column("weight", REAL),
        _column("objective", TEXT, null=True),
        _column("phase", TEXT, null=True),
        _column("role", TEXT, null=True),
        _column("person", TEXT, null=True),
        _column("applied", FLAG),
        _column("credit", REAL, null=True),
        _column("verdict", TEXT),
        _column("with_cue", FLAG),
        _column("time_s", REAL, null=True),
        _column("watched_s", REAL, null=True),
        _column("limit_s", REAL, null=True),
        sa.PrimaryKeyConstraint("session", "item"),
        sqlite_strict=True,
    )
    op.create_index("item_results_by_item", "item_results", ["item"])
    op.create_index("item_results_by_person", "item_results", ["person"])
    op.create_table(
        "fault_results",
        _session(),
        _column("fault", TEXT),
        _column("title", TEXT),
        _column("planted", FLAG),
        _column("found_s", REAL, null=True),
        _column("put_right_s", REAL, null=True),
        _column("watched_s", REAL),
        sa.PrimaryKeyConstraint("session", "fault"),
        sqlite_strict=True,
    )
    op.create_index("fault_results_by_planted", "fault_results", ["planted", "session"])
    op.create_table(
        "scenario_files",
        _column("scenario_digest", TEXT),
        _column("protocol_digest", TEXT),
        _column("files", BYTES),
        sa.PrimaryKeyConstraint("scenario_digest", "protocol_digest"),
        sqlite_strict=True,
    )
    op.create_table(
        "rescore_runs",
        _column("run", TEXT, primary_key=True),
        _column("began", TEXT),
        _column("ended", TEXT, null=True),
        _column("asked", TEXT),
        sqlite_strict=True,
    )
    op.create_table(
        "rescored",
        sa.Column("run", TEXT, sa.ForeignKey("rescore_runs.run"), nullable=False),
        _session(),
        _column("told", TEXT),
        sa.PrimaryKeyConstraint("run", "session"),
        sqlite_strict=True,
    )


def _roster() -> None:
    op.create_table(
        "trainees",
        _column("code", TEXT, primary_key=True),
        _column("profession", TEXT),
        _column("name", TEXT, server_default=sa.text("''")),
        _column("left", DAY, null=True),
        _number(),
        sqlite_strict=True,
    )
    op.create_table(
        "postings",
        _code(),
        _column("unit", TEXT),
        _column("since", DAY),
        _column("until", DAY, null=True),
        sa.PrimaryKeyConstraint("code", "unit", "since"),
        sqlite_strict=True,
    )
    op.create_index("postings_by_unit", "postings", ["unit"])
    op.create_table(
        "requirements",
        _column("id", TEXT, primary_key=True),
        _column("title", TEXT),
        _column("every_months", WHOLE),
        _column("professions", TEXT, server_default=sa.text("'[]'")),
        _column("units", TEXT, server_default=sa.text("'[]'")),
        _column("scenarios", TEXT, server_default=sa.text("'[]'")),
        _column("role", TEXT, null=True),
        _column("warn_days", WHOLE),
        _column("starter_days", WHOLE, server_default=sa.text("0")),
        _number(),
        sqlite_strict=True,
    )
    op.create_table(
        "leaves",
        _code(),
        _column("since", DAY),
        _column("until", DAY),
        _column("reason", TEXT, server_default=sa.text("''")),
        _number(),
        sa.PrimaryKeyConstraint("code", "since"),
        sqlite_strict=True,
    )
    op.create_table(
        "certificates",
        _code(),
        _column("requirement", TEXT),
        _column("issued", DAY),
        _column("issuer", TEXT),
        _column("expires", DAY, null=True),
        _number(),
        sa.PrimaryKeyConstraint("code", "requirement", "issued"),
        sqlite_strict=True,
    )


def _unit() -> None:
    op.create_table(
        "threats",
        _column("id", TEXT, primary_key=True),
        _session(null=True),
        _column("source", TEXT, null=True),
        _column("unit", TEXT, null=True),
        _column("category", TEXT),
        _column("words", TEXT),
        _column("opened", DAY),
        _column("owner", TEXT, server_default=sa.text("''")),
        _column("due", DAY, null=True),
        _column("closed", DAY, null=True),
        _column("closing", TEXT, server_default=sa.text("''")),
        _number(),
        sa.UniqueConstraint("session", "source"),
        sqlite_strict=True,
    )
    op.create_table(
        "standards",
        sa.Column("number", WHOLE, primary_key=True, autoincrement=True),
        _column("scenario", TEXT),
        _column("scenario_digest", TEXT),
        _column("method", TEXT),
        _column("panel", TEXT),
        _column("judges", WHOLE, null=True),
        _column("day", DAY),
        _column("cut", REAL),
        _column("error", REAL, null=True),
        _column("details", TEXT, server_default=sa.text("'{}'")),
        sqlite_strict=True,
    )
    op.create_index("standards_by_scenario", "standards", ["scenario"])
    op.create_table(
        "accesses",
        sa.Column("number", WHOLE, primary_key=True, autoincrement=True),
        _column("wall", TEXT),
        _column("who", TEXT),
        _column("role", TEXT),
        _column("page", TEXT),
        _column("whom", TEXT),
        sqlite_strict=True,
    )
    op.create_index("accesses_by_whom", "accesses", ["whom", "number"])
    op.create_table(
        "settings",
        _column("key", TEXT, primary_key=True),
        _column("value", TEXT),
        sqlite_strict=True,
    )
