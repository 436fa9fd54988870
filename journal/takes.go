package journal

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"evenhand/scoring"
)

// Take is a take as it is kept.
type Take struct {
	ID       int64
	Pupil    string
	Subject  string
	Entry               // Outcome is the last assessment, as the machine made it
	Versions []Assessed // all assessments, oldest first
	Words    *Words     // the teacher's, nil where there are none
	Amended  []Amendment
}

// Assessed is how one version of the program marked a take.
type Assessed struct {
	Version string              `json:"version"`
	At      time.Time           `json:"at"`
	Outcome *scoring.Assessment `json:"assessment"`
}

// Amendment is what the teacher said, for scoring.
func (t *Take) Amendment() scoring.Amendment { return amendmentOf(t.Outcome, t.Amended) }

// Take reads one take with all that belongs to it.
func (j *Journal) Take(ctx context.Context, id int64) (*Take, error) {
	var t *Take
	err := j.in(ctx, func(tx *sql.Tx) (err error) {
		if err = hasTake(ctx, tx, id); err == nil {
			t, err = readTake(ctx, tx, id)
		}
		return err
	})
	return t, err
}

func readTake(ctx context.Context, db querier, id int64) (*Take, error) {
	t := &Take{ID: id}
	var started, practised int64
	err := db.QueryRowContext(ctx, `SELECT p.name, s.name, t.asked, t.started, t.device, t.smf, m.practised
		FROM takes t JOIN pupils p ON p.id = t.pupil JOIN subjects s ON s.id = t.subject JOIN measures m ON m.take = t.id
		WHERE t.id = $1`, id).Scan(&t.Pupil, &t.Subject, &t.Asked, &started, &t.Device, &t.SMF, &practised)
	if err != nil {
		return nil, err
	}
	t.Started, t.Practised = moment(started), time.Duration(practised)*time.Microsecond
	t.Versions, err = rows(ctx, db, func(r *sql.Rows) (a Assessed, err error) {
		var body []byte
		var at int64
		if err = r.Scan(&a.Version, &at, &body); err != nil {
			return a, err
		}
		a.At = moment(at)
		a.Outcome, err = unpack(body)
		return a, err
	}, "SELECT version, marked, body FROM assessments WHERE take = $1 ORDER BY marked, version", id)
	if err != nil {
		return nil, err
	}
	if n := len(t.Versions); n > 0 {
		t.Outcome, t.Marked = t.Versions[n-1].Outcome, t.Versions[n-1].At
	}
	if t.Amended, err = amendments(ctx, db, id); err != nil {
		return nil, err
	}
	t.Words, err = words(ctx, db, id)
	return t, err
}

func words(ctx context.Context, db querier, take int64) (*Words, error) {
	var w Words
	var at int64
	var mark sql.Null[int]
	err := db.QueryRowContext(ctx, "SELECT said, mark, at FROM words WHERE take = $1", take).Scan(&w.Said, &mark, &at)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	w.Mark, w.At = pointer(mark), moment(at)
	return &w, err
}

// Struck reports whether finding i of the last assessment was struck out, and why.
func (t *Take) Struck(i int) (bool, string) {
	key := keyOf(t.Outcome, i)
	for _, am := range t.Amended {
		if am.Finding != nil && *am.Finding == key {
			return true, am.Why
		}
	}
	return false, ""
}
