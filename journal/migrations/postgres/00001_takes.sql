-- +goose Up

-- Times are microseconds since 1970 in UTC, lengths microseconds. What is looked up by its text is
-- looked up by the SHA-256 of it: a text may be of any length, an index entry may not.
CREATE TABLE pupils (
	id     BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	digest TEXT NOT NULL UNIQUE,
	name   TEXT NOT NULL,
	added  BIGINT NOT NULL
);

-- What is practised: a request without its loudness and tempo, or a piece.
CREATE TABLE subjects (
	id     BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	digest TEXT NOT NULL UNIQUE,
	name   TEXT NOT NULL
);

-- What was played: the Standard MIDI File as it was written.
CREATE TABLE takes (
	id      BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	pupil   BIGINT NOT NULL REFERENCES pupils ON DELETE CASCADE,
	subject BIGINT NOT NULL REFERENCES subjects,
	digest  TEXT NOT NULL,
	started BIGINT NOT NULL,
	asked   TEXT NOT NULL,
	device  TEXT NOT NULL,
	smf     BYTEA NOT NULL,
	UNIQUE (pupil, digest, subject)
);

-- How a version of the program marked a take: the assessment as JSON, deflated.
CREATE TABLE assessments (
	take    BIGINT NOT NULL REFERENCES takes ON DELETE CASCADE,
	version TEXT NOT NULL,
	marked  BIGINT NOT NULL,
	body    BYTEA NOT NULL,
	PRIMARY KEY (take, version)
);

-- What is asked over weeks, out of the last assessment of each take. The table is narrow, so that
-- a year of it is read at once.
CREATE TABLE measures (
	take         BIGINT PRIMARY KEY REFERENCES takes ON DELETE CASCADE,
	pupil        BIGINT NOT NULL REFERENCES pupils ON DELETE CASCADE,
	subject      BIGINT NOT NULL REFERENCES subjects,
	started      BIGINT NOT NULL,
	practised    BIGINT NOT NULL,
	as_asked     BIGINT NOT NULL,
	mark         BIGINT,
	mark_notes   BIGINT,
	mark_time    BIGINT,
	mark_sound   BIGINT,
	evenness     DOUBLE PRECISION,
	speed        DOUBLE PRECISION,
	wrong        BIGINT,
	expected     BIGINT,
	faults       TEXT NOT NULL
);
CREATE INDEX measures_pupil ON measures (pupil, started);
CREATE INDEX measures_started ON measures (started);
CREATE INDEX takes_subject ON takes (subject);
CREATE INDEX measures_subject ON measures (subject);
