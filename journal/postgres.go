package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
)

// postgres is a journal that many machines share.
type postgres struct{ config *pgx.ConnConfig }

func newPostgres(address string) (*postgres, error) {
	c, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("the address of the journal cannot be read: %w", err)
	}
	return &postgres{config: c}, nil
}

func (p *postgres) name() string {
	return fmt.Sprintf("%s on %s", p.config.Database, net.JoinHostPort(p.config.Host, fmt.Sprint(p.config.Port)))
}

func (p *postgres) open(ctx context.Context) (*sql.DB, error) {
	db := stdlib.OpenDB(*p.config)
	if err := db.PingContext(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// queueStep is the migration that makes the queue of takes to be marked again.
const queueStep = 3

func (p *postgres) migrations() ([]goose.ProviderOption, goose.Dialect, fs.FS, error) {
	files, err := fs.Sub(migrationFiles, "migrations/postgres")
	if err != nil {
		return nil, "", nil, err
	}
	locked, err := sessionLock()
	queue := goose.NewGoMigration(queueStep, &goose.GoFunc{RunDB: func(ctx context.Context, _ *sql.DB) error { return p.migrateQueue(ctx) }}, nil)
	return []goose.ProviderOption{locked, goose.WithGoMigrations(queue)}, goose.DialectPostgres, files, err
}

func (p *postgres) versioned() string {
	return "SELECT count(*) FROM pg_tables WHERE schemaname = current_schema() AND tablename = 'goose_db_version'"
}

// state is which transactions can be seen: one that ends after that is not among them yet. It changes
// with every transaction of the server that writes, of other databases too.
func (p *postgres) state() string { return "SELECT pg_current_snapshot()::text" }

func (p *postgres) snapshot() *sql.TxOptions {
	return &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
}

// forget lets the server take back the rows that were removed.
func (p *postgres) forget(ctx context.Context, db *sql.DB) error {
	_, err := db.ExecContext(ctx, "VACUUM FULL pupils, subjects, takes, assessments, measures, words, amendments, tasks, sittings, sitting_events")
	return err
}

// explain reads the classes of errors of the PostgreSQL documentation, appendix A.
func (p *postgres) explain(err error) string {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		switch {
		case e.Code == "53100":
			return "the server's disk is full"
		case e.Code == "25006":
			return "it may only be read"
		case e.Code[:2] == "28":
			return "the server does not know this user or password"
		case e.Code[:2] == "3D":
			return "the server has no such database"
		case e.Code[:2] == "57" || e.Code[:2] == "53" || e.Code[:2] == "08":
			return "the server is not to be had just now"
		case e.Code[:2] == "XX":
			return "it is damaged; put a backup in its place"
		}
		return ""
	}
	var connect *pgconn.ConnectError
	var network net.Error
	if errors.As(err, &connect) || errors.As(err, &network) || pgconn.Timeout(err) {
		return "no connection to the server"
	}
	return ""
}
