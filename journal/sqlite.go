package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/pressly/goose/v3"
	sqlite3 "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"
)

// sqlite is a journal in one file, for one machine.
type sqlite struct{ path string }

func (s *sqlite) name() string { return s.path }

// pragmas are set on every connection. The write-ahead log lets one program write while others
// read; busy_timeout waits for one that writes; synchronous FULL keeps a stored take through a power
// cut; secure_delete overwrites what is removed.
var pragmas = []string{"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "secure_delete(1)"}

// open makes the file, readable by its owner alone, where there is none. SQLite gives the files
// beside it the rights of the database.
func (s *sqlite) open(ctx context.Context) (*sql.DB, error) {
	if err := os.MkdirAll(filepath.Dir(s.path), 0o700); err != nil {
		return nil, fmt.Errorf("no folder for the journal %s: %w", s.path, err)
	}
	if err := private(s.path); err != nil {
		return nil, fmt.Errorf("the journal %s cannot be opened: %w", s.path, err)
	}
	// Without immediate a transaction that reads first and then writes may find that another has
	// written between, and fail at once instead of waiting.
	q := url.Values{"_txlock": {"immediate"}, "_pragma": pragmas}
	abs, err := filepath.Abs(s.path)
	if err != nil {
		return nil, err
	}
	address := url.URL{Scheme: "file", Path: filepath.ToSlash(abs), RawQuery: q.Encode()}
	db, err := sql.Open("sqlite", address.String())
	if err != nil {
		return nil, err
	}
	if err := whileBusy(ctx, db.PingContext); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// whileBusy tries again what finds the database locked, for as long as busy_timeout would wait: to turn a
// new file to the write-ahead log takes a lock that SQLite does not wait for.
func whileBusy(ctx context.Context, try func(context.Context) error) error {
	const wait, atMost = 20 * time.Millisecond, 5 * time.Second
	for waited := time.Duration(0); ; waited += wait {
		err := try(ctx)
		var e *sqlite3.Error
		if !errors.As(err, &e) || e.Code()&0xFF != codes.SQLITE_BUSY || waited >= atMost {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(wait):
		}
	}
}

// private makes sure that a file is there and that nobody but its owner can read it.
func private(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if info.Mode().IsRegular() && info.Mode().Perm()&0o077 != 0 {
		return f.Chmod(0o600)
	}
	return nil
}

func (s *sqlite) migrations() ([]goose.ProviderOption, goose.Dialect, fs.FS, error) {
	files, err := fs.Sub(migrationFiles, "migrations/sqlite")
	return nil, goose.DialectSQLite3, files, err
}

func (s *sqlite) versioned() string {
	return "SELECT count(*) FROM sqlite_master WHERE name = 'goose_db_version'"
}

// state counts the commits of all other connections, of this program or another
// (https://www.sqlite.org/pragma.html#pragma_data_version).
func (s *sqlite) state() string { return "PRAGMA data_version" }

// snapshot is any transaction: SQLite's see one moment.
func (s *sqlite) snapshot() *sql.TxOptions { return &sql.TxOptions{ReadOnly: true} }

// forget empties the write-ahead log and writes the file afresh.
func (s *sqlite) forget(ctx context.Context, db *sql.DB) error {
	for _, q := range []string{"PRAGMA wal_checkpoint(TRUNCATE)", "VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"} {
		if _, err := db.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

func (s *sqlite) explain(err error) string {
	var e *sqlite3.Error
	if !errors.As(err, &e) {
		return ""
	}
	switch e.Code() & 0xFF { // the low byte of an extended code is the plain one
	case codes.SQLITE_FULL:
		return "the disk is full"
	case codes.SQLITE_READONLY:
		return "it may only be read"
	case codes.SQLITE_BUSY, codes.SQLITE_LOCKED:
		return "another program has held it for too long"
	case codes.SQLITE_CORRUPT:
		return "it is damaged; put a backup in its place"
	case codes.SQLITE_NOTADB:
		return "it is no journal"
	case codes.SQLITE_CANTOPEN, codes.SQLITE_PERM:
		return "it cannot be opened"
	case codes.SQLITE_IOERR:
		return "the disk did not answer"
	}
	return ""
}
