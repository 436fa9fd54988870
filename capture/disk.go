package capture

import (
	"cmp"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// disk is the folder that takes are kept in, as little of it as the recorder needs, so that tests
// can pull its plug.
type disk interface {
	names() ([]string, error)
	read(name string) ([]byte, error)
	create(name string) (handle, error) // new and locked; fs.ErrExist where the name is taken
	lock(name string) (handle, error)   // one that is there; errLocked where another process has it
	rename(from, to string) error
	remove(name string) error
	sync() error // makes names created, renamed and removed outlast the power
}

// handle is an open file that nobody else may have while it is open.
type handle interface {
	io.Writer
	Sync() error
	Close() error
}

var errLocked = errors.New("in use by another process")

// folder is a disk in a folder of the file system.
type folder string

// openFolder makes the folder where it is not there, open to its owner alone.
func openFolder(dir string) (folder, error) { return folder(dir), os.MkdirAll(dir, 0o700) }

func (d folder) path(name string) string { return filepath.Join(string(d), name) }

func (d folder) names() ([]string, error) {
	entries, err := os.ReadDir(string(d))
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	return names, err
}

func (d folder) read(name string) ([]byte, error) { return os.ReadFile(d.path(name)) }

// create looks after locking whether the name still means this file: between the two, a process
// that tidies up may have taken it for an empty leftover.
func (d folder) create(name string) (handle, error) {
	for {
		f, err := os.OpenFile(d.path(name), os.O_CREATE|os.O_EXCL|os.O_RDWR|os.O_APPEND, 0o600)
		if err != nil {
			return nil, err
		}
		if err := lockFile(f, true); err != nil {
			return nil, cmp.Or(err, f.Close(), os.Remove(f.Name()))
		}
		if stillNamed(f) {
			return f, nil
		}
		if err := f.Close(); err != nil {
			return nil, err
		}
	}
}

func (d folder) lock(name string) (handle, error) {
	f, err := os.OpenFile(d.path(name), os.O_RDWR, 0)
	if err != nil {
		return nil, err
	}
	if err := lockFile(f, false); err != nil {
		return nil, cmp.Or(err, f.Close())
	}
	if !stillNamed(f) {
		return nil, cmp.Or(fs.ErrNotExist, f.Close())
	}
	return f, nil
}

func stillNamed(f *os.File) bool {
	a, err := f.Stat()
	if err != nil {
		return false
	}
	b, err := os.Stat(f.Name())
	return err == nil && os.SameFile(a, b)
}

func (d folder) rename(from, to string) error { return os.Rename(d.path(from), d.path(to)) }

func (d folder) remove(name string) error { return os.Remove(d.path(name)) }

func (d folder) sync() error { return syncFolder(string(d)) }
