package journal

import (
	"context"
	"log/slog"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

// markJob is a few takes to be marked again by a version. A job is few enough takes that machines share
// well, and enough that the queue costs little beside the marking.
type markJob struct {
	Takes   []int64 `json:"takes"`
	Version string  `json:"version"`
}

// Kind names the job in the queue.
func (markJob) Kind() string { return "mark_again" }

// InsertOpts has a job in the queue once, whoever puts it there.
func (markJob) InsertOpts() river.InsertOpts {
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}, MaxAttempts: 3}
}

const (
	takesPerJob = 20
	// jobTime is how long a job may take; a job of a machine that was switched off is done again by
	// another a while later.
	jobTime   = 2 * time.Minute
	jobRescue = 3 * time.Minute
)

// pool is a pool of connections for the queue.
func (p *postgres) pool(ctx context.Context) (*pgxpool.Pool, error) {
	c, err := pgxpool.ParseConfig(p.config.ConnString())
	if err != nil {
		return nil, err
	}
	return pgxpool.NewWithConfig(ctx, c)
}

// migrateQueue makes the queue's own tables, in its own steps.
func (p *postgres) migrateQueue(ctx context.Context) error {
	pool, err := p.pool(ctx)
	if err != nil {
		return err
	}
	defer pool.Close()
	m, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	_, err = m.Migrate(ctx, rivermigrate.DirectionUp, nil)
	return err
}

// marker works on jobs.
type marker struct {
	river.WorkerDefaults[markJob]
	journal *Journal
	mark    Marker
	each    func(Again)
}

// Work marks what of the job has not been marked: the queue may hand a job out twice.
func (m *marker) Work(ctx context.Context, job *river.Job[markJob]) error {
	open, err := unmarked(ctx, m.journal.db, job.Args.Version)
	if err != nil {
		return err
	}
	var batch []Again
	for _, id := range job.Args.Takes {
		if _, has := slices.BinarySearch(open, id); has {
			batch = append(batch, m.journal.markOne(ctx, id, m.mark))
		}
	}
	if err := m.journal.storeAgain(ctx, batch); err != nil {
		return err
	}
	for _, a := range batch {
		m.each(a)
	}
	return nil
}

// share puts takes into the queue and works on it, with all others who do, until it is empty.
func (j *Journal) share(ctx context.Context, p *postgres, ids []int64, version string, workers int, mark Marker, each func(Again)) error {
	pool, err := p.pool(ctx)
	if err != nil {
		return err
	}
	defer pool.Close()
	done := make(chan Again)
	told := make(chan struct{})
	go func() {
		defer close(told)
		for a := range done {
			each(a)
		}
	}()
	workersOf := river.NewWorkers()
	river.AddWorker(workersOf, &marker{journal: j, mark: mark, each: func(a Again) { done <- a }})
	client, err := river.NewClient(riverpgxv5.New(pool), &river.Config{
		Queues: map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: workers}}, Workers: workersOf,
		Logger: slog.New(slog.DiscardHandler), FetchCooldown: 5 * time.Millisecond, FetchPollInterval: 100 * time.Millisecond,
		JobTimeout: jobTime, RescueStuckJobsAfter: jobRescue,
	})
	if err != nil {
		return err
	}
	if err := enqueue(ctx, client, ids, version); err != nil {
		return err
	}
	if err := client.Start(ctx); err != nil {
		return err
	}
	err = j.emptied(ctx)
	stopping := context.WithoutCancel(ctx)
	if e := client.Stop(stopping); err == nil {
		err = e
	}
	close(done)
	<-told
	if err == nil {
		// What is done is no longer anybody's.
		_, err = j.db.ExecContext(stopping, "DELETE FROM river_job WHERE kind = $1 AND finalized_at IS NOT NULL", markJob{}.Kind())
	}
	return err
}

func enqueue(ctx context.Context, client *river.Client[pgx.Tx], ids []int64, version string) error {
	var jobs []river.InsertManyParams
	for part := range slices.Chunk(ids, takesPerJob) {
		jobs = append(jobs, river.InsertManyParams{Args: markJob{Takes: part, Version: version}})
	}
	for part := range slices.Chunk(jobs, 1000) {
		if _, err := client.InsertMany(ctx, part); err != nil {
			return err
		}
	}
	return nil
}

// emptied waits until no job is left that will be worked on.
func (j *Journal) emptied(ctx context.Context) error {
	for {
		var left int
		err := j.db.QueryRowContext(ctx, "SELECT count(*) FROM river_job WHERE kind = $1 AND finalized_at IS NULL", markJob{}.Kind()).Scan(&left)
		if err != nil || left == 0 {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}
