package journal

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

// engine is all that differs between the databases.
type engine interface {
	// open connects; nothing in the database is changed.
	open(ctx context.Context) (*sql.DB, error)
	// migrations are the steps from an empty database to that of this program.
	migrations() ([]goose.ProviderOption, goose.Dialect, fs.FS, error)
	// versioned is a query that tells whether the database has a version yet.
	versioned() string
	// snapshot begins a transaction that sees the database as it is at one moment.
	snapshot() *sql.TxOptions
	// state is a query, always asked on the same connection, whose answer is another after any change.
	state() string
	// backup writes the whole of a journal into a file that is there and empty.
	backup(ctx context.Context, j *Journal, path string) error
	// forget gives back the space of rows that were removed, so that nothing can be read from it.
	forget(ctx context.Context, db *sql.DB) error
	// explain says in words what kept the database from doing its work; "" where it is not known.
	explain(err error) string
	// name is how people know the database: a path, or an address without its password.
	name() string
}

//go:embed migrations
var migrationFiles embed.FS

// engineFor chooses the engine by how the journal is named: an address of PostgreSQL or a path.
func engineFor(where string) (engine, error) {
	switch {
	case where == "":
		return nil, errors.New("no journal named; give a file or a postgres:// address")
	case strings.HasPrefix(where, "postgres://"), strings.HasPrefix(where, "postgresql://"):
		return newPostgres(where)
	}
	return &sqlite{path: where}, nil
}

// version is how far the database has been migrated: 0 where it is empty.
func version(ctx context.Context, e engine, db *sql.DB) (int64, error) {
	var tables int64
	if err := db.QueryRowContext(ctx, e.versioned()).Scan(&tables); err != nil || tables == 0 {
		return 0, err
	}
	var v sql.NullInt64
	err := db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version").Scan(&v)
	return v.Int64, err
}

// newest is the version of this program.
func newest(e engine) (int64, error) {
	p, err := provider(e, nil)
	if err != nil {
		return 0, err
	}
	sources := p.ListSources()
	return sources[len(sources)-1].Version, nil
}

func provider(e engine, db *sql.DB) (*goose.Provider, error) {
	options, dialect, files, err := e.migrations()
	if err != nil {
		return nil, err
	}
	if db == nil {
		db = new(sql.DB) // only asked for its list
	}
	return goose.NewProvider(dialect, db, files, append(options, goose.WithDisableGlobalRegistry(true))...)
}

// migrate brings the database to version to, or to the newest where to is 0. Two programs may do it
// at once. A database that is newer than the program is left alone.
func migrate(ctx context.Context, e engine, db *sql.DB, to int64) error {
	target, err := newest(e)
	if err != nil {
		return err
	}
	if to > 0 {
		target = to
	}
	// SQLite has no lock for a whole migration: who comes second fails, and finds the work done.
	for try := 0; ; try++ {
		at, err := version(ctx, e, db)
		switch {
		case err != nil:
			return err
		case at > target && to == 0:
			return fmt.Errorf("the journal %s was written by a newer version of evenhand (it has step %d, this program knows %d): use that version, nothing was changed", e.name(), at, target)
		case at >= target:
			return nil
		}
		p, err := provider(e, db)
		if err != nil {
			return err
		}
		if _, err = p.UpTo(ctx, target); err != nil && try == 5 {
			return fmt.Errorf("bring the journal %s up to date: %w", e.name(), err)
		}
	}
}

// sessionLock lets only one program at a time migrate a PostgreSQL database.
func sessionLock() (goose.ProviderOption, error) {
	l, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return nil, err
	}
	return goose.WithSessionLocker(l), nil
}
