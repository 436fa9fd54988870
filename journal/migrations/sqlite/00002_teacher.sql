-- +goose Up

-- The teacher's own words and mark, beside the computed ones.
CREATE TABLE words (
	take INTEGER PRIMARY KEY REFERENCES takes ON DELETE CASCADE,
	said TEXT NOT NULL,
	mark INTEGER,
	at   INTEGER NOT NULL
);

-- A finding struck out, told by what it says and where, or a note left out by agreement, told by its
-- place in the reference. Both outlive marking again.
CREATE TABLE amendments (
	take    INTEGER NOT NULL REFERENCES takes ON DELETE CASCADE,
	finding TEXT NOT NULL,
	note    INTEGER NOT NULL,
	why     TEXT NOT NULL,
	at      INTEGER NOT NULL,
	PRIMARY KEY (take, finding, note)
);

-- What the teacher set to be practised.
CREATE TABLE tasks (
	id      INTEGER PRIMARY KEY AUTOINCREMENT,
	pupil   INTEGER NOT NULL REFERENCES pupils ON DELETE CASCADE,
	subject INTEGER NOT NULL REFERENCES subjects,
	asked   TEXT NOT NULL,
	note    TEXT NOT NULL,
	at      INTEGER NOT NULL,
	until   INTEGER NOT NULL
);
CREATE INDEX tasks_pupil ON tasks (pupil, until);
CREATE INDEX tasks_subject ON tasks (subject);
