// Package pgtest starts a real PostgreSQL for tests: a server of its own in a temporary folder, on a
// free loopback port, as the user postgres where the tests run as root (the server refuses root).
package pgtest

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// server is the one of this test program, started when it is first asked for.
var server struct {
	once    sync.Once
	address string // without a database's name
	lacks   string
	err     error
	stop    func()
}

// Main runs the tests and stops the server that they started.
func Main(m *testing.M) int {
	defer func() {
		if server.stop != nil {
			server.stop()
		}
	}()
	return m.Run()
}

var databases atomic.Int64

// Database is the address of a new, empty database. The test is skipped where there is no PostgreSQL.
func Database(t testing.TB) string {
	t.Helper()
	server.once.Do(func() { server.lacks, server.err = start() })
	if server.lacks != "" {
		t.Skipf("%s: the check on a real PostgreSQL is left out", server.lacks)
	}
	if server.err != nil {
		t.Fatal(server.err)
	}
	name := fmt.Sprintf("test%d", databases.Add(1))
	c, err := pgx.Connect(t.Context(), server.address+"/postgres")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(context.Background())
	if _, err := c.Exec(t.Context(), "CREATE DATABASE "+name); err != nil {
		t.Fatal(err)
	}
	return server.address + "/" + name
}

// tool finds a program of PostgreSQL, which Debian keeps out of the path.
func tool(name string) string {
	if path, err := exec.LookPath(name); err == nil {
		return path
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if len(found) == 0 {
		return ""
	}
	return slices.Max(found)
}

// start starts the server. It says what is lacking, where something is.
func start() (lacks string, err error) {
	initdb, postgres := tool("initdb"), tool("postgres")
	if initdb == "" || postgres == "" {
		return "postgresql is not installed", nil
	}
	dir, err := os.MkdirTemp("", "pgtest")
	if err != nil {
		return "", err
	}
	attr, err := owner(dir)
	if err != nil {
		return err.Error(), os.RemoveAll(dir)
	}
	data := filepath.Join(dir, "data")
	if err := run(attr, dir, initdb, "-D", data, "-U", "postgres", "--auth=trust", "--no-sync", "-E", "UTF8"); err != nil {
		return "", err
	}
	port, err := freePort()
	if err != nil {
		return "", err
	}
	cmd := exec.Command(postgres, "-D", data, "-h", "127.0.0.1", "-p", strconv.Itoa(port), "-k", dir, "-c", "fsync=off")
	cmd.Dir, cmd.SysProcAttr = dir, attr
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		return "", err
	}
	server.stop = func() {
		_ = cmd.Process.Signal(syscall.SIGQUIT) // at once
		_ = cmd.Wait()
		_ = os.RemoveAll(dir)
	}
	server.address = fmt.Sprintf("postgres://postgres@127.0.0.1:%d", port)
	return "", ready(&said)
}

// ready waits until the server answers.
func ready(said *bytes.Buffer) error {
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	for {
		c, err := pgx.Connect(ctx, server.address+"/postgres")
		if err == nil {
			return c.Close(ctx)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("postgresql does not answer: %w\n%s", err, said)
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// owner gives the folder to the user the server will run as.
func owner(dir string) (*syscall.SysProcAttr, error) {
	if os.Geteuid() != 0 {
		return attributes(nil), nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return nil, fmt.Errorf("there is no user postgres for the server to run as: %w", err)
	}
	uid, err := strconv.Atoi(u.Uid)
	if err != nil {
		return nil, err
	}
	gid, err := strconv.Atoi(u.Gid)
	if err != nil {
		return nil, err
	}
	if err := os.Chown(dir, uid, gid); err != nil {
		return nil, err
	}
	return attributes(&[2]uint32{uint32(uid), uint32(gid)}), nil
}

func run(attr *syscall.SysProcAttr, dir, name string, args ...string) error {
	cmd := exec.Command(name, args...)
	cmd.Dir, cmd.SysProcAttr = dir, attr
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w\n%s", name, err, out)
	}
	return nil
}

func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}
