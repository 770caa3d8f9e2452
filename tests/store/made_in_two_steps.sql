-- A store as the program made it by its two steps, before they became one.
BEGIN TRANSACTION;
CREATE TABLE accesses (
	number INTEGER NOT NULL,
	wall TEXT NOT NULL,
	who TEXT NOT NULL,
	role TEXT NOT NULL,
	page TEXT NOT NULL,
	whom TEXT NOT NULL,
	PRIMARY KEY (number)
) STRICT;
CREATE TABLE certificates (
	code TEXT NOT NULL,
	requirement TEXT NOT NULL,
	issued TEXT NOT NULL,
	issuer TEXT NOT NULL,
	expires TEXT,
	number INTEGER DEFAULT 0 NOT NULL,
	PRIMARY KEY (code, requirement, issued),
	FOREIGN KEY(code) REFERENCES trainees (code)
) STRICT;
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
    ;
CREATE TABLE evidence (
	session TEXT NOT NULL,
	code TEXT NOT NULL,
	day TEXT NOT NULL,
	scenario TEXT NOT NULL,
	roles TEXT NOT NULL,
	PRIMARY KEY (session, code),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE fault_results (
	session TEXT NOT NULL,
	fault TEXT NOT NULL,
	title TEXT NOT NULL,
	planted INTEGER NOT NULL,
	found_s REAL,
	put_right_s REAL,
	watched_s REAL NOT NULL,
	PRIMARY KEY (session, fault),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE item_results (
	session TEXT NOT NULL,
	item TEXT NOT NULL,
	kind TEXT NOT NULL,
	importance TEXT NOT NULL,
	weight REAL NOT NULL,
	objective TEXT,
	phase TEXT,
	role TEXT,
	person TEXT,
	applied INTEGER NOT NULL,
	credit REAL,
	verdict TEXT NOT NULL,
	prompted INTEGER NOT NULL,
	time_s REAL,
	watched_s REAL,
	limit_s REAL,
	PRIMARY KEY (session, item),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE leaves (
	code TEXT NOT NULL,
	since TEXT NOT NULL,
	until TEXT NOT NULL,
	reason TEXT DEFAULT '' NOT NULL,
	number INTEGER DEFAULT 0 NOT NULL,
	PRIMARY KEY (code, since),
	FOREIGN KEY(code) REFERENCES trainees (code)
) STRICT;
CREATE TABLE postings (
	code TEXT NOT NULL,
	unit TEXT NOT NULL,
	since TEXT NOT NULL,
	until TEXT,
	PRIMARY KEY (code, unit, since),
	FOREIGN KEY(code) REFERENCES trainees (code)
) STRICT;
CREATE TABLE requirements (
	id TEXT NOT NULL,
	title TEXT NOT NULL,
	every_months INTEGER NOT NULL,
	professions TEXT DEFAULT '[]' NOT NULL,
	units TEXT DEFAULT '[]' NOT NULL,
	scenarios TEXT DEFAULT '[]' NOT NULL,
	role TEXT,
	warn_days INTEGER NOT NULL,
	starter_days INTEGER DEFAULT 0 NOT NULL,
	number INTEGER DEFAULT 0 NOT NULL,
	PRIMARY KEY (id)
) STRICT;
CREATE TABLE rescore_runs (
	run TEXT NOT NULL,
	began TEXT NOT NULL,
	ended TEXT,
	asked TEXT NOT NULL,
	PRIMARY KEY (run)
) STRICT;
CREATE TABLE rescored (
	run TEXT NOT NULL,
	session TEXT NOT NULL,
	told TEXT NOT NULL,
	PRIMARY KEY (run, session),
	FOREIGN KEY(run) REFERENCES rescore_runs (run),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE resealings (
	number INTEGER NOT NULL,
	session TEXT NOT NULL,
	wall TEXT NOT NULL,
	events INTEGER NOT NULL,
	hash TEXT NOT NULL,
	why TEXT NOT NULL,
	PRIMARY KEY (number),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE results (
	session TEXT NOT NULL,
	log_hash TEXT NOT NULL,
	scenario_digest TEXT NOT NULL,
	protocol_digest TEXT NOT NULL,
	program TEXT NOT NULL,
	current INTEGER NOT NULL,
	number INTEGER DEFAULT 0 NOT NULL,
	wall TEXT NOT NULL,
	day TEXT NOT NULL,
	unit TEXT,
	scenario TEXT NOT NULL,
	purpose TEXT NOT NULL,
	confirmed INTEGER NOT NULL,
	total REAL,
	outcome TEXT,
	result TEXT NOT NULL,
	card BLOB NOT NULL,
	PRIMARY KEY (session, log_hash, scenario_digest, protocol_digest, program),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE scenario_files (
	scenario_digest TEXT NOT NULL,
	protocol_digest TEXT NOT NULL,
	files BLOB NOT NULL,
	PRIMARY KEY (scenario_digest, protocol_digest)
) STRICT;
CREATE TABLE sessions (
        session TEXT PRIMARY KEY,
        wall    TEXT NOT NULL,
        plan    TEXT NOT NULL
    , number INTEGER DEFAULT 0 NOT NULL, unit TEXT) STRICT
    ;
CREATE TABLE settings (
	"key" TEXT NOT NULL,
	value TEXT NOT NULL,
	PRIMARY KEY ("key")
) STRICT;
CREATE TABLE simengine_revision (
	version_num VARCHAR(32) NOT NULL,
	CONSTRAINT simengine_revision_pkc PRIMARY KEY (version_num)
);
INSERT INTO "simengine_revision" VALUES('0002');
CREATE TABLE standards (
	number INTEGER NOT NULL,
	scenario TEXT NOT NULL,
	scenario_digest TEXT NOT NULL,
	method TEXT NOT NULL,
	panel TEXT NOT NULL,
	judges INTEGER,
	day TEXT NOT NULL,
	cut REAL NOT NULL,
	error REAL,
	details TEXT DEFAULT '{}' NOT NULL,
	PRIMARY KEY (number)
) STRICT;
CREATE TABLE tails (
        session TEXT PRIMARY KEY REFERENCES sessions,
        seq     INTEGER NOT NULL,
        hash    TEXT    NOT NULL
    ) STRICT
    ;
CREATE TABLE takings (
	session TEXT NOT NULL,
	code TEXT NOT NULL,
	role TEXT NOT NULL,
	PRIMARY KEY (session, code, role),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE threats (
	id TEXT NOT NULL,
	session TEXT,
	source TEXT,
	unit TEXT,
	category TEXT NOT NULL,
	words TEXT NOT NULL,
	opened TEXT NOT NULL,
	owner TEXT DEFAULT '' NOT NULL,
	due TEXT,
	closed TEXT,
	closing TEXT DEFAULT '' NOT NULL,
	number INTEGER DEFAULT 0 NOT NULL,
	PRIMARY KEY (id),
	UNIQUE (session, source),
	FOREIGN KEY(session) REFERENCES sessions (session)
) STRICT;
CREATE TABLE trainees (
	code TEXT NOT NULL,
	profession TEXT NOT NULL,
	name TEXT DEFAULT '' NOT NULL,
	"left" TEXT,
	number INTEGER DEFAULT 0 NOT NULL,
	PRIMARY KEY (code)
) STRICT;
CREATE TRIGGER events_are_never_changed BEFORE UPDATE ON events
    BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;
CREATE TRIGGER events_are_never_removed BEFORE DELETE ON events
    BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END;
CREATE TRIGGER events_follow_the_last BEFORE INSERT ON events
    WHEN NEW.seq <> COALESCE((SELECT seq + 1 FROM tails WHERE session = NEW.session), 0)
      OR NEW.prev <> COALESCE((SELECT hash FROM tails WHERE session = NEW.session), '0000000000000000000000000000000000000000000000000000000000000000')
    BEGIN SELECT RAISE(ABORT, 'the event does not follow the last one kept'); END;
CREATE TRIGGER the_last_hash_is_kept AFTER INSERT ON events
    BEGIN
        INSERT INTO tails VALUES (NEW.session, NEW.seq, NEW.hash)
        ON CONFLICT (session) DO UPDATE SET seq = NEW.seq, hash = NEW.hash;
    END;
CREATE INDEX sessions_by_number ON sessions (number);
CREATE INDEX events_by_kind ON events (kind, session);
CREATE INDEX evidence_by_code ON evidence (code, scenario, roles, day, session);
CREATE INDEX resealings_by_session ON resealings (session);
CREATE INDEX results_by_session ON results (session, current);
CREATE INDEX results_by_wall ON results (current, wall, session);
CREATE INDEX results_by_unit ON results (unit, current, wall, session);
CREATE INDEX takings_by_code ON takings (code, session);
CREATE INDEX item_results_by_item ON item_results (item);
CREATE INDEX item_results_by_person ON item_results (person);
CREATE INDEX fault_results_by_planted ON fault_results (planted, session);
CREATE INDEX postings_by_unit ON postings (unit);
CREATE INDEX standards_by_scenario ON standards (scenario);
CREATE INDEX accesses_by_whom ON accesses (whom, number);
CREATE TRIGGER events_are_never_replaced BEFORE INSERT ON events
    WHEN EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND id = NEW.id)
      OR EXISTS (SELECT 1 FROM events WHERE rowid = NEW.rowid)
    BEGIN SELECT RAISE(ABORT, 'an event is never replaced'); END;
CREATE TRIGGER events_have_an_ordinary_rowid AFTER INSERT ON events WHEN NEW.rowid < 1
    BEGIN SELECT RAISE(ABORT, 'an event has an ordinary rowid'); END;
CREATE TRIGGER tails_are_never_removed BEFORE DELETE ON tails
    BEGIN SELECT RAISE(ABORT, 'the end of a log is never removed'); END;
CREATE TRIGGER tails_are_last_events BEFORE INSERT ON tails
    WHEN NOT EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq = NEW.seq
                     AND hash = NEW.hash)
      OR EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq > NEW.seq)
    BEGIN SELECT RAISE(ABORT, 'the end of a log is its last event'); END;
CREATE TRIGGER tails_stay_last_events BEFORE UPDATE ON tails
    WHEN NEW.session <> OLD.session
      OR NOT EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq = NEW.seq
                     AND hash = NEW.hash)
      OR EXISTS (SELECT 1 FROM events WHERE session = NEW.session AND seq > NEW.seq)
    BEGIN SELECT RAISE(ABORT, 'the end of a log is its last event'); END;
CREATE TRIGGER sessions_with_a_log_stay BEFORE DELETE ON sessions
    WHEN EXISTS (SELECT 1 FROM events WHERE session = OLD.session)
    BEGIN SELECT RAISE(ABORT, 'a session with a log is never removed'); END;
COMMIT;
