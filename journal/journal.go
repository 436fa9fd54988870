package journal

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Journal is an open journal. It may be used by many goroutines, and by many programs at once.
type Journal struct {
	db     *sql.DB
	engine engine
	watch  watch
}

// Open opens the journal at where, a path or a postgres:// address; makes it where there is none;
// and brings it up to date. The error of a journal that cannot be had is an Unavailable.
func Open(ctx context.Context, where string) (*Journal, error) {
	e, err := engineFor(where)
	if err != nil {
		return nil, err
	}
	db, err := e.open(ctx)
	if err != nil {
		return nil, unavailable(e, err)
	}
	if err := migrate(ctx, e, db, 0); err != nil {
		return nil, unavailable(e, errors.Join(err, db.Close()))
	}
	return &Journal{db: db, engine: e}, nil
}

// Close lets the journal go.
func (j *Journal) Close() error { return errors.Join(j.watch.close(), j.db.Close()) }

// Name is how people know the journal: its path, or its database and host.
func (j *Journal) Name() string { return j.engine.name() }

// Unavailable says that the journal could not be read or written, and why.
type Unavailable struct {
	Journal string
	Why     string
	Err     error
}

func (u *Unavailable) Error() string {
	if u.Why == "" {
		return fmt.Sprintf("the journal %s: %v", u.Journal, u.Err)
	}
	return fmt.Sprintf("the journal %s: %s (%v)", u.Journal, u.Why, u.Err)
}

func (u *Unavailable) Unwrap() error { return u.Err }

func unavailable(e engine, err error) error {
	return &Unavailable{e.name(), e.explain(err), err}
}

// told are errors of what was asked and not of the database.
type told struct{ error }

// in does work in one transaction: all of it is stored, or nothing.
func (j *Journal) in(ctx context.Context, work func(*sql.Tx) error) error {
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return j.fault(err)
	}
	if err = work(tx); err != nil {
		return j.fault(errors.Join(err, tx.Rollback()))
	}
	return j.fault(tx.Commit())
}

// fault makes an Unavailable of an error of the database.
func (j *Journal) fault(err error) error {
	var t told
	var u *Unavailable
	switch {
	case err == nil, errors.As(err, &u):
		return err
	case errors.As(err, &t):
		return t.error
	}
	return unavailable(j.engine, err)
}

// rows reads all rows of a query.
func rows[T any](ctx context.Context, db querier, scan func(*sql.Rows) (T, error), query string, args ...any) ([]T, error) {
	r, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var all []T
	for r.Next() {
		v, err := scan(r)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, r.Err()
}

// querier is a database or a transaction.
type querier interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
	ExecContext(context.Context, string, ...any) (sql.Result, error)
}

// text is s as both databases can store it.
func text(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "")
}

// digest is by what a text or a file is looked up.
func digest[T string | []byte](of T) string {
	sum := sha256.Sum256([]byte(of))
	return hex.EncodeToString(sum[:])
}

// stamp and moment turn times into the numbers that are stored and back.
func stamp(t time.Time) int64   { return t.UnixMicro() }
func moment(us int64) time.Time { return time.UnixMicro(us).UTC() }
func null[T any](v *T) sql.Null[T] {
	if v == nil {
		return sql.Null[T]{}
	}
	return sql.Null[T]{V: *v, Valid: true}
}

func pointer[T any](n sql.Null[T]) *T {
	if !n.Valid {
		return nil
	}
	return &n.V
}
