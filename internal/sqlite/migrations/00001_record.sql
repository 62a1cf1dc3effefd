-- Every thing is a row of its kind's table: what others refer to or look for
-- stands in columns, all of it as JSON in body. removed holds the number of
-- the change that took the thing away, 0 while it is there: nothing is ever
-- deleted.

-- +goose Up
CREATE TABLE workshop (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE TABLE owner (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE TABLE movement (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE TABLE watch (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	owner TEXT REFERENCES owner (id), movement TEXT REFERENCES movement (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX watch_owner ON watch (owner);
CREATE INDEX watch_movement ON watch (movement);
CREATE TABLE job (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	number TEXT NOT NULL UNIQUE, state TEXT NOT NULL,
	watch TEXT NOT NULL REFERENCES watch (id), owner TEXT REFERENCES owner (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX job_watch ON job (watch);
CREATE INDEX job_owner ON job (owner);
CREATE INDEX job_state ON job (state, number);
-- Numbers are ordered as numbers: 2026-1000 comes after 2026-999.
CREATE INDEX job_order ON job (CAST(substr(number, 1, 4) AS INTEGER), CAST(substr(number, 6) AS INTEGER));
CREATE TABLE finding (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX finding_job ON finding (job);
CREATE TABLE function_check (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX function_check_job ON function_check (job);
CREATE TABLE hand_check (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX hand_check_job ON hand_check (job);
CREATE TABLE round (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX round_job ON round (job);
CREATE TABLE hearing (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id), round TEXT REFERENCES round (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX hearing_job ON hearing (job);
CREATE INDEX hearing_round ON hearing (round);
CREATE TABLE reading (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id), hearing TEXT NOT NULL REFERENCES hearing (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX reading_job ON reading (job);
CREATE INDEX reading_hearing ON reading (hearing);
CREATE TABLE note (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX note_job ON note (job);
CREATE TABLE picture (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id), number INTEGER NOT NULL,
	body TEXT NOT NULL CHECK (json_valid(body)),
	UNIQUE (job, number)
);
CREATE TABLE move (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	job TEXT NOT NULL REFERENCES job (id),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE INDEX move_job ON move (job);
CREATE TABLE question (
	seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, rev INTEGER NOT NULL, removed INTEGER NOT NULL DEFAULT 0,
	body TEXT NOT NULL CHECK (json_valid(body))
);

-- The history: every act, and what it did to each thing.
CREATE TABLE change (
	number INTEGER PRIMARY KEY AUTOINCREMENT,
	at TEXT NOT NULL, who TEXT NOT NULL, what TEXT NOT NULL,
	job TEXT REFERENCES job (id),
	undoes INTEGER NOT NULL DEFAULT 0, undone_by INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX change_job ON change (job, number);
CREATE TABLE touch (
	change INTEGER NOT NULL REFERENCES change (number),
	kind TEXT NOT NULL, id TEXT NOT NULL,
	before TEXT, after TEXT,
	PRIMARY KEY (change, kind, id)
) WITHOUT ROWID;
CREATE INDEX touch_thing ON touch (kind, id, change);

-- What the lists show of a job, and the words it is found by; both can be made
-- again from the rest.
CREATE TABLE line (
	seq INTEGER PRIMARY KEY REFERENCES job (seq),
	body TEXT NOT NULL CHECK (json_valid(body))
);
CREATE VIRTUAL TABLE words USING fts5 (
	said, content = '', contentless_delete = 1,
	tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3 4'
);

-- +goose Down
SELECT RAISE (ABORT, 'a workshop folder does not go back to an earlier form');
