package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// Sitting is one mock exam of a pupil: the list of its events, each a JSON text that only the exam
// understands.
type Sitting struct {
	ID     int64             `json:"-"`
	Pupil  string            `json:"-"`
	Title  string            `json:"title"`
	Opened time.Time         `json:"opened"`
	Events []json.RawMessage `json:"events,omitempty"` // left out in a list of sittings
}

// ErrTaken is returned where another program has added the event of the same number.
var ErrTaken = errors.New("another program goes on with this exam")

// ErrNoSitting is returned where no sitting has the number.
var ErrNoSitting = errors.New("no such exam")

// OpenSitting stores a new sitting with its first event and returns its number.
func (j *Journal) OpenSitting(ctx context.Context, pupil, title string, at time.Time, first []byte) (int64, error) {
	var id int64
	err := j.in(ctx, func(tx *sql.Tx) error {
		p, err := pupilID(ctx, tx, pupil)
		if err != nil {
			return err
		}
		id, err = putSitting(ctx, tx, p, Sitting{Title: title, Opened: at, Events: []json.RawMessage{first}})
		return err
	})
	return id, err
}

// putSitting stores a sitting, or the events that are new of one that is there.
func putSitting(ctx context.Context, tx *sql.Tx, pupil int64, s Sitting) (int64, error) {
	var id int64
	err := tx.QueryRowContext(ctx, `INSERT INTO sittings (pupil, digest, title, opened) VALUES ($1, $2, $3, $4)
		ON CONFLICT (pupil, digest) DO UPDATE SET title = excluded.title RETURNING id`,
		pupil, digest([]byte(s.Events[0])), text(s.Title), stamp(s.Opened)).Scan(&id)
	for n := 0; n < len(s.Events) && err == nil; n++ {
		_, err = tx.ExecContext(ctx, "INSERT INTO sitting_events (sitting, n, body) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING", id, n, string(s.Events[n]))
	}
	return id, err
}

// AddEvent stores event n of a sitting, counted from 0. When it returns without an error the event is
// on disk. An event that is there already is ErrTaken, unless it is the same.
func (j *Journal) AddEvent(ctx context.Context, sitting int64, n int, event []byte) error {
	return j.in(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, "INSERT INTO sitting_events (sitting, n, body) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING", sitting, n, string(event))
		if err != nil {
			return err
		}
		if added, err := r.RowsAffected(); err != nil || added > 0 {
			return err
		}
		var body string
		err = tx.QueryRowContext(ctx, "SELECT body FROM sitting_events WHERE sitting = $1 AND n = $2", sitting, n).Scan(&body)
		if err == nil && body != string(event) {
			return told{ErrTaken}
		}
		return err
	})
}

// Sitting returns a sitting by its number, with its events in order.
func (j *Journal) Sitting(ctx context.Context, id int64) (Sitting, error) {
	var s Sitting
	err := j.reading(ctx, func(tx *sql.Tx) (err error) {
		s, err = readSitting(ctx, tx, id)
		return err
	})
	return s, err
}

func readSitting(ctx context.Context, tx querier, id int64) (Sitting, error) {
	s := Sitting{ID: id}
	var opened int64
	err := tx.QueryRowContext(ctx, "SELECT p.name, s.title, s.opened FROM sittings s JOIN pupils p ON p.id = s.pupil WHERE s.id = $1", id).Scan(&s.Pupil, &s.Title, &opened)
	if errors.Is(err, sql.ErrNoRows) {
		return s, told{fmt.Errorf("%w: %d; see evenhand exam list", ErrNoSitting, id)}
	}
	if err != nil {
		return s, err
	}
	s.Opened = moment(opened)
	s.Events, err = rows(ctx, tx, func(r *sql.Rows) (json.RawMessage, error) {
		var body string
		err := r.Scan(&body)
		return json.RawMessage(body), err
	}, "SELECT body FROM sitting_events WHERE sitting = $1 ORDER BY n", id)
	return s, err
}

// Sittings are those of a pupil without their events, the latest last.
func (j *Journal) Sittings(ctx context.Context, pupil string) ([]Sitting, error) {
	id, err := pupilID(ctx, j.db, pupil)
	if err != nil {
		return nil, j.fault(err)
	}
	all, err := rows(ctx, j.db, func(r *sql.Rows) (Sitting, error) {
		s := Sitting{Pupil: pupil}
		var opened int64
		err := r.Scan(&s.ID, &s.Title, &opened)
		s.Opened = moment(opened)
		return s, err
	}, "SELECT id, title, opened FROM sittings WHERE pupil = $1 ORDER BY opened, id", id)
	return all, j.fault(err)
}

// emitSittings hands over the sittings of a pupil with their events.
func emitSittings(ctx context.Context, tx *sql.Tx, pupil int64, emit func(Record) error) error {
	ids, err := rows(ctx, tx, func(r *sql.Rows) (id int64, err error) { return id, r.Scan(&id) },
		"SELECT id FROM sittings WHERE pupil = $1 ORDER BY opened, id", pupil)
	if err != nil {
		return err
	}
	for _, id := range ids {
		s, err := readSitting(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := emit(Record{Kind: "sitting", Schema: RecordSchema, Sitting: &s}); err != nil {
			return told{err}
		}
	}
	return nil
}

// takeInSitting stores a sitting of an export, or what is new of one that is there.
func takeInSitting(ctx context.Context, tx *sql.Tx, pupil int64, s Sitting) error {
	if len(s.Events) == 0 {
		return told{errors.New("an exam has no events")}
	}
	_, err := putSitting(ctx, tx, pupil, s)
	return err
}
