package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/scoring"
)

// Words are the teacher's own about a take, with a mark of their own or none. They stand beside the
// computed ones; marking again never touches them.
type Words struct {
	Said string    `json:"said"`
	Mark *int      `json:"mark"`
	At   time.Time `json:"at"`
}

// Amendment is a finding the teacher struck out, or a note left out by agreement.
type Amendment struct {
	Finding *FindingKey `json:"finding,omitempty"` // nil where it is a note
	Note    int         `json:"note"`              // index of the expected note; -1 where it is a finding
	Why     string      `json:"why"`
	At      time.Time   `json:"at"`
}

// FindingKey tells a finding by what it says and where, so that it is known again when the take is
// marked again. Onsets are in quarter notes, -1 where the finding has no place.
type FindingKey struct {
	Kind scoring.Kind `json:"kind"`
	Hand string       `json:"hand"`
	From float64      `json:"from"`
	To   float64      `json:"to"`
	Pass int          `json:"pass"`

	// Nth tells apart findings that are alike so far, as two wrong notes of one chord are: how many
	// such come before it.
	Nth int `json:"nth,omitempty"`
}

// keyOf is the key of finding i of an assessment.
func keyOf(a *scoring.Assessment, i int) FindingKey {
	k, nth := alike(&a.Findings[i]), 0
	for before := range i {
		if alike(&a.Findings[before]) == k {
			nth++
		}
	}
	k.Nth = nth
	return k
}

// alike is the key of a finding but for its Nth.
func alike(f *scoring.Finding) FindingKey {
	k := FindingKey{Kind: f.Kind, From: -1, To: -1}
	if f.Hand != nil {
		k.Hand = *f.Hand
	}
	if f.From != nil {
		k.From, k.Pass = f.From.Onset, f.From.Pass
	}
	if f.To != nil {
		k.To = f.To.Onset
	}
	return k
}

// Say stores the teacher's words and mark on a take. A mark is from 0 to 100.
func (j *Journal) Say(ctx context.Context, take int64, w Words) error {
	if w.Mark != nil && (*w.Mark < 0 || *w.Mark > 100) {
		return fmt.Errorf("a mark of %d: give one from 0 to 100", *w.Mark)
	}
	return j.in(ctx, func(tx *sql.Tx) error {
		if err := hasTake(ctx, tx, take); err != nil {
			return err
		}
		return putWords(ctx, tx, take, w)
	})
}

func putWords(ctx context.Context, tx *sql.Tx, take int64, w Words) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO words (take, said, mark, at) VALUES ($1, $2, $3, $4)
		ON CONFLICT (take) DO UPDATE SET said = excluded.said, mark = excluded.mark, at = excluded.at`,
		take, text(w.Said), null(w.Mark), stamp(w.At))
	return err
}

func hasTake(ctx context.Context, tx *sql.Tx, take int64) error {
	var id int64
	err := tx.QueryRowContext(ctx, "SELECT id FROM takes WHERE id = $1", take).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return told{fmt.Errorf("%w %d in the journal; list them with evenhand takes", ErrNoTake, take)}
	}
	return err
}

// ErrNoTake is returned where no take has the number.
var ErrNoTake = errors.New("no take")

// Strike strikes a finding of the last assessment of a take out, by its number counted from 1; the
// measures of the take follow.
func (j *Journal) Strike(ctx context.Context, take int64, finding int, why string, now time.Time) error {
	return j.amendTake(ctx, take, func(a *scoring.Assessment) ([]Amendment, error) {
		if finding < 1 || finding > len(a.Findings) {
			return nil, fmt.Errorf("take %d has no finding %d: it has %d", take, finding, len(a.Findings))
		}
		return []Amendment{{Finding: new(keyOf(a, finding-1)), Note: -1, Why: why, At: now}}, nil
	})
}

// LeaveOut marks expected notes, by their indices, as left out by agreement.
func (j *Journal) LeaveOut(ctx context.Context, take int64, notes []int, why string, now time.Time) error {
	return j.amendTake(ctx, take, func(a *scoring.Assessment) ([]Amendment, error) {
		known := map[int]bool{}
		for _, n := range a.Notes {
			if n.Expected != nil {
				known[n.Expected.Index] = true
			}
		}
		var out []Amendment
		for _, n := range notes {
			if !known[n] {
				return nil, fmt.Errorf("take %d has no expected note %d", take, n)
			}
			out = append(out, Amendment{Note: n, Why: why, At: now})
		}
		return out, nil
	})
}

// amendTake stores amendments that are made out of the last assessment, as the machine made it.
func (j *Journal) amendTake(ctx context.Context, take int64, amend func(*scoring.Assessment) ([]Amendment, error)) error {
	return j.in(ctx, func(tx *sql.Tx) error {
		if err := hasTake(ctx, tx, take); err != nil {
			return err
		}
		a, err := lastAssessment(ctx, tx, take)
		switch {
		case err != nil:
			return err
		case a == nil:
			return told{fmt.Errorf("take %d has no assessment: nothing was asked", take)}
		}
		ams, err := amend(a)
		if err != nil {
			return told{err}
		}
		if err := putAmendments(ctx, tx, take, ams); err != nil {
			return err
		}
		return remeasure(ctx, tx, take, a)
	})
}

func putAmendments(ctx context.Context, tx *sql.Tx, take int64, ams []Amendment) error {
	for _, am := range ams {
		key := ""
		if am.Finding != nil {
			b, err := json.Marshal(am.Finding)
			if err != nil {
				return err
			}
			key = string(b)
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO amendments (take, finding, note, why, at) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (take, finding, note) DO UPDATE SET why = excluded.why`, take, key, am.Note, text(am.Why), stamp(am.At))
		if err != nil {
			return err
		}
	}
	return nil
}

func amendments(ctx context.Context, db querier, take int64) ([]Amendment, error) {
	return rows(ctx, db, func(r *sql.Rows) (Amendment, error) {
		var am Amendment
		var key string
		var at int64
		if err := r.Scan(&key, &am.Note, &am.Why, &at); err != nil {
			return am, err
		}
		am.At = moment(at)
		if key == "" {
			return am, nil
		}
		am.Finding = new(FindingKey)
		return am, json.Unmarshal([]byte(key), am.Finding)
	}, "SELECT finding, note, why, at FROM amendments WHERE take = $1 ORDER BY at, finding, note", take)
}

// amend is the assessment with what the teacher said of the take.
func amend(ctx context.Context, db querier, take int64, a *scoring.Assessment) (*scoring.Assessment, error) {
	ams, err := amendments(ctx, db, take)
	if err != nil || len(ams) == 0 {
		return a, err
	}
	return a.Amend(amendmentOf(a, ams)), nil
}

func amendmentOf(a *scoring.Assessment, ams []Amendment) scoring.Amendment {
	var m scoring.Amendment
	for _, am := range ams {
		if am.Finding == nil {
			m.LeftOut = append(m.LeftOut, am.Note)
			continue
		}
		for i := range a.Findings {
			if keyOf(a, i) == *am.Finding {
				m.Struck = append(m.Struck, i)
			}
		}
	}
	return m
}

// remeasure writes the measures of a take again from an assessment, with the amendments.
func remeasure(ctx context.Context, tx *sql.Tx, take int64, a *scoring.Assessment) error {
	amended, err := amend(ctx, tx, take, a)
	if err != nil {
		return err
	}
	var pupil, subject, started, practised int64
	err = tx.QueryRowContext(ctx, "SELECT pupil, subject, started, practised FROM measures WHERE take = $1", take).Scan(&pupil, &subject, &started, &practised)
	if err != nil {
		return err
	}
	m := Measures{Take: take, Started: moment(started), Practised: time.Duration(practised) * time.Microsecond}
	m.read(amended)
	return putMeasures(ctx, tx, pupil, subject, m)
}

// lastAssessment is the one marked last, nil where there is none.
func lastAssessment(ctx context.Context, db querier, take int64) (*scoring.Assessment, error) {
	var body []byte
	err := db.QueryRowContext(ctx, "SELECT body FROM assessments WHERE take = $1 ORDER BY marked DESC, version DESC LIMIT 1", take).Scan(&body)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return unpack(body)
}

// Task is something the teacher set to be practised.
type Task struct {
	Asked   string    `json:"asked"`
	Subject string    `json:"-"`
	Note    string    `json:"note"`
	At      time.Time `json:"at"`
	Until   time.Time `json:"until"`
}

// Set stores a task for a pupil.
func (j *Journal) Set(ctx context.Context, pupil string, t Task) error {
	return j.in(ctx, func(tx *sql.Tx) error {
		id, err := pupilID(ctx, tx, pupil)
		if err != nil {
			return err
		}
		return putTask(ctx, tx, id, t)
	})
}

func putTask(ctx context.Context, tx *sql.Tx, pupil int64, t Task) error {
	subject, err := subjectID(ctx, tx, Subject(t.Asked))
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO tasks (pupil, subject, asked, note, at, until) VALUES ($1, $2, $3, $4, $5, $6)",
		pupil, subject, text(t.Asked), text(t.Note), stamp(t.At), stamp(t.Until))
	return err
}

// Tasks are what was set for a pupil and runs at a time or later, those that end first first.
func (j *Journal) Tasks(ctx context.Context, pupil string, at time.Time) ([]Task, error) {
	id, err := pupilID(ctx, j.db, pupil)
	if err != nil {
		return nil, j.fault(err)
	}
	ts, err := tasks(ctx, j.db, id, at)
	return ts, j.fault(err)
}

func tasks(ctx context.Context, db querier, pupil int64, at time.Time) ([]Task, error) {
	return rows(ctx, db, func(r *sql.Rows) (t Task, err error) {
		var set, until int64
		err = r.Scan(&t.Asked, &t.Subject, &t.Note, &set, &until)
		t.At, t.Until = moment(set), moment(until)
		return t, err
	}, `SELECT t.asked, s.name, t.note, t.at, t.until FROM tasks t JOIN subjects s ON s.id = t.subject
		WHERE t.pupil = $1 AND t.until >= $2 ORDER BY t.until, t.id`, pupil, stamp(at))
}
