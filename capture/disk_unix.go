//go:build unix && !solaris && !aix

package capture

import (
	"cmp"
	"errors"
	"os"
	"syscall"
)

// lockFile takes the lock of a file until it is closed or its process dies. Without wait it gives
// errLocked where another has it.
func lockFile(f *os.File, wait bool) error {
	how := syscall.LOCK_EX
	if !wait {
		how |= syscall.LOCK_NB
	}
	for {
		err := syscall.Flock(int(f.Fd()), how)
		switch {
		case errors.Is(err, syscall.EINTR):
			continue
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errLocked
		}
		return err
	}
}

// syncFolder makes changes of names in a folder outlast the power.
func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return cmp.Or(f.Sync(), f.Close())
}
