package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
)

// Backup writes the whole journal into a new file, itself a journal of SQLite, readable by its owner
// alone. The journal may be in use; the backup is of one moment.
func (j *Journal) Backup(ctx context.Context, path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("no new file for the backup: %w", err)
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := j.engine.backup(ctx, j, path); err != nil {
		return errors.Join(j.fault(err), os.Remove(path))
	}
	return nil
}

// backup has SQLite write the database into the file.
func (s *sqlite) backup(ctx context.Context, j *Journal, path string) error {
	_, err := j.db.ExecContext(ctx, "VACUUM INTO $1", path)
	return err
}

// backup copies every pupil into a journal of SQLite.
func (p *postgres) backup(ctx context.Context, j *Journal, path string) error {
	to, err := Open(ctx, path)
	if err != nil {
		return err
	}
	err = j.reading(ctx, func(tx *sql.Tx) error {
		ids, err := rows(ctx, tx, func(r *sql.Rows) (id int64, err error) { return id, r.Scan(&id) }, "SELECT id FROM pupils ORDER BY id")
		if err != nil {
			return err
		}
		for _, id := range ids {
			if err := to.copyPupil(ctx, tx, id); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		// The log goes into the file, so that the backup is one file.
		_, err = to.db.ExecContext(ctx, "PRAGMA journal_mode(DELETE)")
	}
	return errors.Join(err, to.Close())
}

// copyPupil takes in a pupil of another journal.
func (j *Journal) copyPupil(ctx context.Context, from *sql.Tx, pupil int64) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ch := make(chan Record)
	failed := make(chan error, 1)
	go func() {
		defer close(ch)
		failed <- records(ctx, from, pupil, func(r Record) error {
			select {
			case ch <- r:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
	}()
	_, err := j.TakeIn(ctx, "", func() (Record, error) {
		if r, ok := <-ch; ok {
			return r, nil
		}
		return Record{}, <-failed
	})
	return err
}
