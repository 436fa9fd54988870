-- +goose Up

-- Mock exams: each is the list of what happened in it, as JSON that the exam itself reads. The digest
-- is that of the first event, by which a sitting is known again after an export.
CREATE TABLE sittings (
	id     BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	pupil  BIGINT NOT NULL REFERENCES pupils ON DELETE CASCADE,
	digest TEXT NOT NULL,
	title  TEXT NOT NULL,
	opened BIGINT NOT NULL,
	UNIQUE (pupil, digest)
);

-- The events of a sitting, counted from 0 without a gap. Nothing in it is ever changed.
CREATE TABLE sitting_events (
	sitting BIGINT NOT NULL REFERENCES sittings ON DELETE CASCADE,
	n       BIGINT NOT NULL,
	body    TEXT NOT NULL,
	PRIMARY KEY (sitting, n)
);
