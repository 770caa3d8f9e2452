"""Session logs: what the program made before the store had versions, to the letter on SQLite."""

from __future__ import annotations

from alembic import op

revision = "0001"
down_revision = None

FIRST_PREV = "0" * 64

SQLITE = (
    """
    CREATE TABLE sessions (
        session TEXT PRIMARY KEY,
        wall    TEXT NOT NULL,
        plan    TEXT NOT NULL
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
)

# The row of the tail is locked first, so that two writers of one log wait for one another. A
# statement-level trigger refuses even a statement that would meet no row.
POSTGRESQL = (
    """
    CREATE TABLE sessions (
        session TEXT PRIMARY KEY,
        wall    TEXT NOT NULL,
        plan    TEXT NOT NULL
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
)


def upgrade() -> None:
    """Make the tables."""
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)
