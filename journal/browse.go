package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"time"
)

// State names the journal as it is now: as long as it is the same, nothing in the journal has changed,
// by this program or another, and what was read from it before still holds. It costs far less than
// reading. It means nothing to another Journal.
func (j *Journal) State(ctx context.Context) (string, error) {
	s, err := j.watch.state(ctx, j)
	return s, j.fault(err)
}

// watch is the one connection that is asked for the state: SQLite counts the changes by all others.
type watch struct {
	mu   sync.Mutex
	conn *sql.Conn
}

func (w *watch) state(ctx context.Context, j *Journal) (s string, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.conn == nil {
		if w.conn, err = j.db.Conn(ctx); err != nil {
			return "", err
		}
	}
	if err = w.conn.QueryRowContext(ctx, j.engine.state()).Scan(&s); err != nil {
		err = errors.Join(err, w.conn.Close())
		w.conn = nil // it may be the connection: another is made next time
	}
	return s, err
}

func (w *watch) close() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.conn == nil {
		return nil
	}
	return w.conn.Close()
}

// Latest are up to n takes of a pupil, the last first: those before the take before, or from the last on
// where before is 0 or no take of the pupil.
func (j *Journal) Latest(ctx context.Context, pupil string, before int64, n int) ([]Measures, error) {
	id, err := pupilID(ctx, j.db, pupil)
	if err != nil {
		return nil, j.fault(err)
	}
	where, args := "WHERE m.pupil = $1", []any{id}
	if before != 0 {
		var started int64
		err := j.db.QueryRowContext(ctx, "SELECT started FROM measures WHERE take = $1 AND pupil = $2", before, id).Scan(&started)
		switch {
		case err == nil:
			where, args = where+" AND (m.started, m.take) < ($2, $3)", append(args, started, before)
		case !errors.Is(err, sql.ErrNoRows):
			return nil, j.fault(err)
		}
	}
	query := fmt.Sprintf("%s%s ORDER BY m.started DESC, m.take DESC LIMIT $%d", selectMeasures, where, len(args)+1)
	ms, err := rows(ctx, j.db, scanMeasures, query, append(args, n)...)
	return ms, j.fault(err)
}

// Said is what the teacher said of a take.
type Said struct {
	Take    int64
	Subject string
	Started time.Time // when the take began
	Words
}

// Said are up to n of the teacher's words on takes of a pupil, the last first.
func (j *Journal) Said(ctx context.Context, pupil string, n int) ([]Said, error) {
	id, err := pupilID(ctx, j.db, pupil)
	if err != nil {
		return nil, j.fault(err)
	}
	all, err := rows(ctx, j.db, func(r *sql.Rows) (s Said, err error) {
		var started, at int64
		var mark sql.Null[int]
		err = r.Scan(&s.Take, &s.Subject, &started, &s.Words.Said, &mark, &at)
		s.Started, s.Mark, s.At = moment(started), pointer(mark), moment(at)
		return s, err
	}, `SELECT w.take, s.name, m.started, w.said, w.mark, w.at FROM words w JOIN measures m ON m.take = w.take
		JOIN subjects s ON s.id = m.subject WHERE m.pupil = $1 ORDER BY w.at DESC, w.take DESC LIMIT $2`, id, n)
	return all, j.fault(err)
}

// TakeBegun is the number of the take that began at a moment, the last kept where there are several, and
// 0 where there is none.
func (j *Journal) TakeBegun(ctx context.Context, started time.Time) (int64, error) {
	var id int64
	err := j.db.QueryRowContext(ctx, "SELECT coalesce(max(take), 0) FROM measures WHERE started = $1", stamp(started)).Scan(&id)
	return id, j.fault(err)
}
