package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Pupil is somebody whose takes are kept.
type Pupil struct {
	ID        int64         `json:"id"`
	Name      string        `json:"name"`
	Added     time.Time     `json:"added"`
	Takes     int           `json:"takes"`
	Practised time.Duration `json:"-"`    // time from the first key to the last release, all takes
	Last      time.Time     `json:"last"` // when the last take began; zero where there is none
}

// ErrNoPupil is returned where no pupil has the name.
var ErrNoPupil = errors.New("no such pupil")

// Add adds a pupil. The name is data: it may hold anything but nothing.
func (j *Journal) Add(ctx context.Context, name string, now time.Time) error {
	name = text(name)
	if strings.TrimSpace(name) == "" {
		return errors.New("a pupil needs a name")
	}
	return j.in(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, "INSERT INTO pupils (digest, name, added) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING", digest(name), name, stamp(now))
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, told{fmt.Errorf("there is a pupil named %q already", name)})
		}
		return nil
	})
}

// Pupils lists all pupils by name.
func (j *Journal) Pupils(ctx context.Context) ([]Pupil, error) {
	ps, err := rows(ctx, j.db, scanPupil, `
		SELECT p.id, p.name, p.added, count(m.take), coalesce(sum(m.practised), 0), coalesce(max(m.started), 0)
		FROM pupils p LEFT JOIN measures m ON m.pupil = p.id
		GROUP BY p.id, p.name, p.added ORDER BY p.name, p.id`)
	return ps, j.fault(err)
}

// Names are all pupils by name, without their takes.
func (j *Journal) Names(ctx context.Context) ([]Pupil, error) {
	ps, err := rows(ctx, j.db, func(r *sql.Rows) (p Pupil, err error) { return p, r.Scan(&p.ID, &p.Name) },
		"SELECT id, name FROM pupils ORDER BY name, id")
	return ps, j.fault(err)
}

func scanPupil(r *sql.Rows) (Pupil, error) {
	var p Pupil
	var added, practised, last int64
	err := r.Scan(&p.ID, &p.Name, &added, &p.Takes, &practised, &last)
	p.Added, p.Practised = moment(added), time.Duration(practised)*time.Microsecond
	if last > 0 {
		p.Last = moment(last)
	}
	return p, err
}

// pupilID finds a pupil by name.
func pupilID(ctx context.Context, db querier, name string) (int64, error) {
	var id int64
	err := db.QueryRowContext(ctx, "SELECT id FROM pupils WHERE digest = $1", digest(text(name))).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, told{fmt.Errorf("%w: %q; add one with evenhand pupil add", ErrNoPupil, name)}
	}
	return id, err
}

// Rename gives a pupil another name.
func (j *Journal) Rename(ctx context.Context, old, name string) error {
	name = text(name)
	if strings.TrimSpace(name) == "" {
		return errors.New("a pupil needs a name")
	}
	return j.in(ctx, func(tx *sql.Tx) error {
		id, err := pupilID(ctx, tx, old)
		if err != nil {
			return err
		}
		if other, err := pupilID(ctx, tx, name); err == nil && other != id {
			return told{fmt.Errorf("there is a pupil named %q already", name)}
		}
		_, err = tx.ExecContext(ctx, "UPDATE pupils SET digest = $1, name = $2 WHERE id = $3", digest(name), name, id)
		return err
	})
}

// Gone is what went with a pupil. Digests are the SHA-256 of the takes' files, in hexadecimal, by
// which copies of them can be found.
type Gone struct {
	Takes, Assessments, Words, Amendments, Tasks, Sittings int
	Digests                                                []string
}

// Remove removes every trace of a pupil from the journal and says what went. Copies outside it
// (backups, exports, files) are not touched.
func (j *Journal) Remove(ctx context.Context, name string) (Gone, error) {
	var g Gone
	err := j.in(ctx, func(tx *sql.Tx) error {
		id, err := pupilID(ctx, tx, name)
		if err != nil {
			return err
		}
		g.Digests, err = rows(ctx, tx, func(r *sql.Rows) (d string, err error) { return d, r.Scan(&d) },
			"SELECT DISTINCT digest FROM takes WHERE pupil = $1", id)
		if err != nil {
			return err
		}
		for _, d := range []struct {
			n     *int
			query string
		}{
			{&g.Words, "DELETE FROM words WHERE take IN (SELECT id FROM takes WHERE pupil = $1)"},
			{&g.Amendments, "DELETE FROM amendments WHERE take IN (SELECT id FROM takes WHERE pupil = $1)"},
			{&g.Assessments, "DELETE FROM assessments WHERE take IN (SELECT id FROM takes WHERE pupil = $1)"},
			{&g.Tasks, "DELETE FROM tasks WHERE pupil = $1"},
			{new(int), "DELETE FROM sitting_events WHERE sitting IN (SELECT id FROM sittings WHERE pupil = $1)"},
			{&g.Sittings, "DELETE FROM sittings WHERE pupil = $1"},
			{new(int), "DELETE FROM measures WHERE pupil = $1"},
			{&g.Takes, "DELETE FROM takes WHERE pupil = $1"},
			{new(int), "DELETE FROM pupils WHERE id = $1"},
		} {
			r, err := tx.ExecContext(ctx, d.query, id)
			if err != nil {
				return err
			}
			n, err := r.RowsAffected()
			if err != nil {
				return err
			}
			*d.n = int(n)
		}
		// What nobody practises any more is nobody's.
		_, err = tx.ExecContext(ctx, `DELETE FROM subjects WHERE NOT EXISTS (SELECT 1 FROM takes WHERE subject = subjects.id)
			AND NOT EXISTS (SELECT 1 FROM tasks WHERE subject = subjects.id)`)
		return err
	})
	if err != nil {
		return Gone{}, err
	}
	return g, j.fault(j.engine.forget(ctx, j.db))
}
