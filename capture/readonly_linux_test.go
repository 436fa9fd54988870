package capture

import (
	"os"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// A folder that may not be written is refused in one line, whoever runs the test: as root, who may
// write anywhere, the call is made by a thread that is nobody to the file system.
func TestRecordInReadOnlyFolder(t *testing.T) {
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	result := make(chan error)
	go func() {
		runtime.LockOSThread() // and never unlocked: the thread ends with the goroutine
		if os.Geteuid() == 0 {
			if err := syscall.Setfsuid(65534); err != nil {
				result <- err
				return
			}
		}
		_, err := Record(dir, Take{}, nil)
		result <- err
	}()
	err := <-result
	if err == nil || !strings.HasPrefix(err.Error(), "takes cannot be kept in "+dir+": ") || !strings.Contains(err.Error(), "permission denied") || !oneLine(err) {
		t.Errorf("%v", err)
	}
}
