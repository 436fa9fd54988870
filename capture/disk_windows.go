package capture

import (
	"errors"
	"os"
	"syscall"
	"unsafe"
)

var lockFileEx = syscall.NewLazyDLL("kernel32.dll").NewProc("LockFileEx")

const (
	failImmediately = 1
	exclusiveLock   = 2
	lockViolation   = syscall.Errno(33)
)

// lockFile takes the lock of a file until it is closed or its process dies. Without wait it gives
// errLocked where another has it. The locked byte lies far beyond any end of the file, because a
// lock here keeps others from reading what it covers.
func lockFile(f *os.File, wait bool) error {
	how := uintptr(exclusiveLock)
	if !wait {
		how |= failImmediately
	}
	place := syscall.Overlapped{OffsetHigh: 1 << 30}
	ok, _, err := lockFileEx.Call(f.Fd(), how, 0, 1, 0, uintptr(unsafe.Pointer(&place)))
	switch {
	case ok != 0:
		return nil
	case errors.Is(err, lockViolation):
		return errLocked
	}
	return err
}

// syncFolder does nothing: the file system makes names durable by itself.
func syncFolder(string) error { return nil }
