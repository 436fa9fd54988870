package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// RecordSchema is the number of the format of records.
const RecordSchema = 1

// Record is one line of an export: the pupil first, then each take, each task and
// each sitting of an exam. Times are in UTC to
// the microsecond.
type Record struct {
	Kind   string `json:"kind"` // pupil, take, task, sitting
	Schema int    `json:"schema"`

	// Of a pupil.
	Name  string     `json:"name,omitempty"`
	Added *time.Time `json:"added,omitempty"`

	// Of a take. The assessments are all there were, oldest first, as the machine made them.
	Asked       string      `json:"asked,omitempty"`
	Started     *time.Time  `json:"started,omitempty"`
	Practised   int64       `json:"practised_us,omitempty"`
	Device      string      `json:"device,omitempty"`
	Digest      string      `json:"sha256,omitempty"` // of the file, in hexadecimal
	File        string      `json:"file,omitempty"`   // in the folder of the export
	SMF         []byte      `json:"smf,omitempty"`    // in place of File, in base64
	Assessments []Assessed  `json:"assessments,omitempty"`
	Words       *Words      `json:"words,omitempty"`
	Amendments  []Amendment `json:"amendments,omitempty"`

	Task *Task `json:"task,omitempty"`

	Sitting *Sitting `json:"sitting,omitempty"`
}

// Records hands over all there is of a pupil, each take with its SMF, as it was at one moment.
func (j *Journal) Records(ctx context.Context, pupil string, emit func(Record) error) error {
	return j.reading(ctx, func(tx *sql.Tx) error {
		id, err := pupilID(ctx, tx, pupil)
		if err != nil {
			return err
		}
		return records(ctx, tx, id, emit)
	})
}

// reading does work in a transaction that sees the journal as it was at one moment.
func (j *Journal) reading(ctx context.Context, work func(*sql.Tx) error) error {
	tx, err := j.db.BeginTx(ctx, j.engine.snapshot())
	if err != nil {
		return j.fault(err)
	}
	defer tx.Rollback()
	return j.fault(work(tx))
}

func records(ctx context.Context, tx *sql.Tx, pupil int64, emit func(Record) error) error {
	var name string
	var added int64
	if err := tx.QueryRowContext(ctx, "SELECT name, added FROM pupils WHERE id = $1", pupil).Scan(&name, &added); err != nil {
		return err
	}
	if err := emit(Record{Kind: "pupil", Schema: RecordSchema, Name: name, Added: new(moment(added))}); err != nil {
		return told{err}
	}
	ids, err := rows(ctx, tx, func(r *sql.Rows) (id int64, err error) { return id, r.Scan(&id) },
		"SELECT id FROM takes WHERE pupil = $1 ORDER BY started, id", pupil)
	if err != nil {
		return err
	}
	for _, id := range ids {
		t, err := readTake(ctx, tx, id)
		if err != nil {
			return err
		}
		err = emit(Record{
			Kind: "take", Schema: RecordSchema, Asked: t.Asked, Started: &t.Started, Practised: t.Practised.Microseconds(),
			Device: t.Device, Digest: digest(t.SMF), SMF: t.SMF, Assessments: t.Versions, Words: t.Words, Amendments: t.Amended,
		})
		if err != nil {
			return told{err}
		}
	}
	ts, err := tasks(ctx, tx, pupil, moment(0))
	if err != nil {
		return err
	}
	for _, t := range ts {
		if err := emit(Record{Kind: "task", Schema: RecordSchema, Task: &t}); err != nil {
			return told{err}
		}
	}
	return emitSittings(ctx, tx, pupil, emit)
}

// TakeIn reads records, each take with its SMF, into the journal: all of them or none. The pupil is
// added where there is none of the name; as, where it is not "", is the name instead. Takes that are
// there already stay as they are, with what the teacher said of them in the records. It returns how
// many takes there were. A Record without a Kind is the end.
func (j *Journal) TakeIn(ctx context.Context, as string, next func() (Record, error)) (int, error) {
	n := 0
	err := j.in(ctx, func(tx *sql.Tx) error {
		var pupil int64
		for {
			r, err := next()
			if err != nil {
				return told{err}
			}
			if r.Kind == "" {
				return nil
			}
			if r.Schema > RecordSchema {
				return told{fmt.Errorf("the records are of a newer version of evenhand (schema %d): use that version", r.Schema)}
			}
			if r.Kind != "pupil" && pupil == 0 {
				return told{fmt.Errorf("a %s comes before its pupil", r.Kind)}
			}
			switch {
			case r.Kind == "pupil":
				pupil, err = takeInPupil(ctx, tx, as, r)
			case r.Kind == "take":
				n++
				err = takeInTake(ctx, tx, pupil, r)
			case r.Kind == "task" && r.Task != nil:
				err = takeInTask(ctx, tx, pupil, *r.Task)
			case r.Kind == "sitting" && r.Sitting != nil:
				err = takeInSitting(ctx, tx, pupil, *r.Sitting)
			default:
				err = told{fmt.Errorf("a record of an unknown kind: %.40q", r.Kind)}
			}
			if err != nil {
				return err
			}
		}
	})
	return n, err
}

func takeInPupil(ctx context.Context, tx *sql.Tx, as string, r Record) (int64, error) {
	name := text(r.Name)
	if as != "" {
		name = text(as)
	}
	if name == "" || r.Added == nil {
		return 0, told{errors.New("the record of the pupil has no name, or not when it was added")}
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO pupils (digest, name, added) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING", digest(name), name, stamp(*r.Added))
	if err != nil {
		return 0, err
	}
	return pupilID(ctx, tx, name)
}

func takeInTake(ctx context.Context, tx *sql.Tx, pupil int64, r Record) error {
	switch {
	case r.Started == nil:
		return told{errors.New("a take does not say when it was played")}
	case r.Digest != digest(r.SMF):
		return told{fmt.Errorf("the take %s was changed since it was exported", r.File)}
	}
	e := Entry{Asked: r.Asked, Started: *r.Started, Practised: time.Duration(r.Practised) * time.Microsecond, Device: r.Device, SMF: r.SMF}
	id, err := keep(ctx, tx, pupil, e)
	if err != nil {
		return err
	}
	for _, a := range r.Assessments {
		if a.Outcome == nil {
			return told{fmt.Errorf("the take %s has an assessment that is empty", r.File)}
		}
		if err := putAssessment(ctx, tx, id, a.Outcome, a.At); err != nil {
			return err
		}
	}
	if err := putAmendments(ctx, tx, id, r.Amendments); err != nil {
		return err
	}
	if r.Words != nil {
		has, err := words(ctx, tx, id)
		if err == nil && (has == nil || has.At.Before(r.Words.At)) {
			err = putWords(ctx, tx, id, *r.Words)
		}
		if err != nil {
			return err
		}
	}
	// What is in the journal may be newer than the record.
	last, err := lastAssessment(ctx, tx, id)
	if err != nil || last == nil {
		return err
	}
	return remeasure(ctx, tx, id, last)
}

// takeInTask stores a task unless it is there.
func takeInTask(ctx context.Context, tx *sql.Tx, pupil int64, t Task) error {
	ts, err := tasks(ctx, tx, pupil, t.Until)
	if err != nil {
		return err
	}
	for _, has := range ts {
		if has.Asked == text(t.Asked) && has.Note == text(t.Note) && has.At.Equal(t.At) && has.Until.Equal(t.Until) {
			return nil
		}
	}
	return putTask(ctx, tx, pupil, t)
}
