package journal

import (
	"context"
	"database/sql"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"evenhand/capture/pupil"
	"evenhand/internal/pgtest"
)

// atVersion makes a database of an earlier version.
func atVersion(t *testing.T, where string, v int64) *sql.DB {
	t.Helper()
	e, err := engineFor(where)
	if err != nil {
		t.Fatal(err)
	}
	db, err := e.open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	if err := migrate(t.Context(), e, db, v); err != nil {
		t.Fatal(err)
	}
	if at, err := version(t.Context(), e, db); err != nil || at != v {
		t.Fatalf("at version %d, %v; want %d", at, err, v)
	}
	return db
}

// From every earlier version, with takes in it, the journal comes up to date and keeps them.
func TestMigrateFromEveryVersion(t *testing.T) {
	for name, where := range map[string]func(testing.TB) string{
		"sqlite":     func(t testing.TB) string { return filepath.Join(t.TempDir(), "journal.db") },
		"postgresql": pgtest.Database,
	} {
		t.Run(name, func(t *testing.T) {
			e, err := engineFor(where(t))
			if err != nil {
				t.Fatal(err)
			}
			last, err := newest(e)
			if err != nil || last < 2 {
				t.Fatalf("newest %d, %v", last, err)
			}
			for v := int64(1); v <= last; v++ {
				if v == queueStep && name == "sqlite" {
					continue // only PostgreSQL has a queue
				}
				at := where(t)
				db := atVersion(t, at, v)
				fillVersion1(t, db)
				db.Close()
				j := open(t, at)
				h, err := j.History(t.Context(), "Ada", monday)
				if err != nil || len(h) != 1 || *h[0].Mark != 91 {
					t.Fatalf("from version %d: %+v, %v", v, h, err)
				}
				take, err := j.Take(t.Context(), h[0].Take)
				if err != nil || string(take.SMF) != "MThd" {
					t.Errorf("from version %d: %v", v, err)
				}
				mustKeep(t, j, "Ada", judged(t, "D major scale, right hand", day(1), pupil.Pupil{Seed: 1}))
			}
		})
	}
}

// fillVersion1 writes as the first version did; the columns it names are for ever.
func fillVersion1(t *testing.T, db *sql.DB) {
	t.Helper()
	for _, q := range []string{
		"INSERT INTO pupils (digest, name, added) VALUES ('" + digest("Ada") + "', 'Ada', 1)",
		"INSERT INTO subjects (digest, name) VALUES ('s', 'D major scale')",
		"INSERT INTO takes (pupil, subject, digest, started, asked, device, smf) VALUES (1, 1, 'd', 1, 'D major', '', $1)",
	} {
		var args []any
		if strings.Contains(q, "$1") {
			args = append(args, []byte("MThd"))
		}
		if _, err := db.ExecContext(t.Context(), q, args...); err != nil {
			t.Fatal(err)
		}
	}
	_, err := db.ExecContext(t.Context(), `INSERT INTO measures (take, pupil, subject, started, practised, as_asked, mark, faults)
		VALUES (1, 1, 1, $1, 1, 1, 91, '')`, stamp(monday))
	if err != nil {
		t.Fatal(err)
	}
}

func TestNewerJournalIsRefused(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, where string) {
		if _, err := j.db.ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, $1)", true); err != nil {
			t.Fatal(err)
		}
		_, err := Open(t.Context(), where)
		if err == nil || !strings.Contains(err.Error(), "newer version of evenhand") {
			t.Errorf("opened a newer journal: %v", err)
		}
	})
}

func TestManyOpenANewJournalAtOnce(t *testing.T) {
	for name, where := range map[string]func(testing.TB) string{
		"sqlite":     func(t testing.TB) string { return filepath.Join(t.TempDir(), "journal.db") },
		"postgresql": pgtest.Database,
	} {
		t.Run(name, func(t *testing.T) {
			at := where(t)
			var wg sync.WaitGroup
			for range 4 {
				wg.Go(func() {
					j, err := Open(context.Background(), at)
					if err != nil {
						t.Error(err)
						return
					}
					j.Close()
				})
			}
			wg.Wait()
		})
	}
}
