-- What the store was made by before it had versions, to the letter.
CREATE TABLE IF NOT EXISTS sessions (
    session TEXT PRIMARY KEY,
    wall    TEXT NOT NULL,
    plan    TEXT NOT NULL
) STRICT;

CREATE TABLE IF NOT EXISTS events (
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
) STRICT;

CREATE TABLE IF NOT EXISTS tails (
    session TEXT PRIMARY KEY REFERENCES sessions,
    seq     INTEGER NOT NULL,
    hash    TEXT    NOT NULL
) STRICT;

CREATE TRIGGER IF NOT EXISTS events_are_never_changed BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;

CREATE TRIGGER IF NOT EXISTS events_are_never_removed BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END;

CREATE TRIGGER IF NOT EXISTS events_follow_the_last BEFORE INSERT ON events
WHEN NEW.seq <> COALESCE((SELECT seq + 1 FROM tails WHERE session = NEW.session), 0)
  OR NEW.prev <> COALESCE((SELECT hash FROM tails WHERE session = NEW.session), '0000000000000000000000000000000000000000000000000000000000000000')
BEGIN SELECT RAISE(ABORT, 'the event does not follow the last one kept'); END;

CREATE TRIGGER IF NOT EXISTS the_last_hash_is_kept AFTER INSERT ON events
BEGIN
    INSERT INTO tails VALUES (NEW.session, NEW.seq, NEW.hash)
    ON CONFLICT (session) DO UPDATE SET seq = NEW.seq, hash = NEW.hash;
END;
