-- +goose Up

-- Times are microseconds since 1970 in UTC, lengths microseconds. What is looked up by its text is
-- looked up by the SHA-256 of it: a text may be of any length, an index entry may not.
CREATE TABLE pupils (
	id     INTEGER PRIMARY KEY AUTOINCREMENT,
	digest TEXT NOT NULL UNIQUE,
	name   TEXT NOT NULL,
	added  INTEGER NOT NULL
);

-- What is practised: a request without its loudness and tempo, or a piece.
CREATE TABLE subjects (
	id     INTEGER PRIMARY KEY AUTOINCREMENT,
	digest TEXT NOT NULL UNIQUE,
	name   TEXT NOT NULL
);

-- What was played: the Standard MIDI File as it was written.
CREATE TABLE takes (
	id      INTEGER PRIMARY KEY AUTOINCREMENT,
	pupil   INTEGER NOT NULL REFERENCES pupils ON DELETE CASCADE,
	subject INTEGER NOT NULL REFERENCES subjects,
	digest  TEXT NOT NULL,
	started INTEGER NOT NULL,
	asked   TEXT NOT NULL,
	device  TEXT NOT NULL,
	smf     BLOB NOT NULL,
	UNIQUE (pupil, digest, subject)
);

-- How a version of the program marked a take: the assessment as JSON, deflated.
CREATE TABLE assessments (
	take    INTEGER NOT NULL REFERENCES takes ON DELETE CASCADE,
	version TEXT NOT NULL,
	marked  INTEGER NOT NULL,
	body    BLOB NOT NULL,
	PRIMARY KEY (take, version)
);

-- What is asked over weeks, out of the last assessment of each take. The table is narrow, so that
-- a year of it is read at once.
CREATE TABLE measures (
	take         INTEGER PRIMARY KEY REFERENCES takes ON DELETE CASCADE,
	pupil        INTEGER NOT NULL REFERENCES pupils ON DELETE CASCADE,
	subject      INTEGER NOT NULL REFERENCES subjects,
	started      INTEGER NOT NULL,
	practised    INTEGER NOT NULL,
	as_asked     INTEGER NOT NULL,
	mark         INTEGER,
	mark_notes   INTEGER,
	mark_time    INTEGER,
	mark_sound   INTEGER,
	evenness     REAL,
	speed        REAL,
	wrong        INTEGER,
	expected     INTEGER,
	faults       TEXT NOT NULL
);
CREATE INDEX measures_pupil ON measures (pupil, started);
CREATE INDEX measures_started ON measures (started);
CREATE INDEX takes_subject ON takes (subject);
CREATE INDEX measures_subject ON measures (subject);
