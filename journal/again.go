package journal

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"time"

	"evenhand/scoring"
)

// Marker marks a take as the program does now. It is called on many goroutines.
type Marker func(t *Take) (*scoring.Assessment, error)

// Again is one take marked again. Old is what it was marked before; Err says why it could not be marked.
type Again struct {
	Take     int64
	Subject  string
	Old, New *scoring.Assessment
	Err      error

	packed []byte // New as it is stored
}

// Unmarked is how many takes have been marked, but not by a version.
func (j *Journal) Unmarked(ctx context.Context, version string) (int, error) {
	ids, err := unmarked(ctx, j.db, version)
	return len(ids), j.fault(err)
}

func unmarked(ctx context.Context, db querier, version string) ([]int64, error) {
	return rows(ctx, db, func(r *sql.Rows) (id int64, err error) { return id, r.Scan(&id) }, `
		SELECT DISTINCT take FROM assessments a WHERE NOT EXISTS
			(SELECT 1 FROM assessments b WHERE b.take = a.take AND b.version = $1) ORDER BY take`, text(version))
}

// MarkAgain marks all takes again that this version has not marked, by so many workers, and hands each
// over when it is stored. What was marked before stays beside it. A run that was ended goes on where it
// stopped. On PostgreSQL all machines that run it share the work. An error of one take does not stop the
// others.
func (j *Journal) MarkAgain(ctx context.Context, version string, workers int, mark Marker, each func(Again)) error {
	ids, err := unmarked(ctx, j.db, version)
	if err != nil || len(ids) == 0 {
		return j.fault(err)
	}
	if p, ok := j.engine.(*postgres); ok {
		return j.fault(j.share(ctx, p, ids, version, workers, mark, each))
	}
	next := make(chan int64)
	done := make(chan Again, 2*mostStored) // the workers go on while the disk is waited for
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var marking sync.WaitGroup
	for range workers {
		marking.Go(func() {
			for id := range next {
				done <- j.markOne(ctx, id, mark)
			}
		})
	}
	go func() {
		defer close(next)
		for _, id := range ids {
			select {
			case next <- id:
			case <-ctx.Done():
				return
			}
		}
	}()
	go func() {
		marking.Wait()
		close(done)
	}()
	err = j.store(ctx, done, each)
	if err == nil {
		err = ctx.Err()
	}
	stop()
	for range done { // let the workers go
	}
	return err
}

// markOne reads a take and marks it.
func (j *Journal) markOne(ctx context.Context, id int64, mark Marker) Again {
	a := Again{Take: id}
	t, err := readTake(ctx, j.db, id)
	if err != nil {
		a.Err = j.fault(err)
		return a
	}
	a.Subject, a.Old = t.Subject, t.Outcome
	if a.New, a.Err = mark(t); a.Err == nil {
		a.packed, a.Err = pack(a.New)
	}
	return a
}

// mostStored is how many takes are stored in one transaction: what is waiting, up to this. A transaction
// waits for the disk once.
const mostStored = 64

// store stores takes as they come and hands them over.
func (j *Journal) store(ctx context.Context, done <-chan Again, each func(Again)) error {
	for a := range done {
		batch := []Again{a}
	more:
		for len(batch) < mostStored {
			select {
			case a, ok := <-done:
				if !ok {
					break more
				}
				batch = append(batch, a)
			default:
				break more
			}
		}
		if err := j.storeAgain(ctx, batch); err != nil {
			return err
		}
		for _, a := range batch {
			each(a)
		}
	}
	return nil
}

// storeAgain stores new assessments and their measures in one transaction. A take that was removed
// meanwhile is passed over.
func (j *Journal) storeAgain(ctx context.Context, batch []Again) error {
	return j.in(ctx, func(tx *sql.Tx) error {
		for _, a := range batch {
			if a.Err != nil {
				continue
			}
			var gone told
			if err := hasTake(ctx, tx, a.Take); errors.As(err, &gone) {
				continue
			} else if err != nil {
				return err
			}
			if err := putPacked(ctx, tx, a.Take, a.New.Version, a.packed, time.Now()); err != nil {
				return err
			}
			if err := remeasure(ctx, tx, a.Take, a.New); err != nil {
				return err
			}
		}
		return nil
	})
}
