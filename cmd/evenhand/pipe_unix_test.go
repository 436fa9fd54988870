//go:build unix

package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// A pipe that nobody writes to is waited for, and the wait can be ended.
func TestNamedPipeCanBeLeft(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Skipf("no named pipes here: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan int)
	var errw bytes.Buffer
	go func() {
		done <- run(ctx, nil, &bytes.Buffer{}, &errw, []string{"listen", "--from-bytes", path, "--keep", t.TempDir(), "C"})
	}()
	cancel()
	if status := <-done; status != statusFault || errw.String() != "evenhand: ended before a note was played\n" {
		t.Errorf("status %d: %s", status, &errw)
	}
	// Let the goroutine that waits for a writer go.
	if f, err := os.OpenFile(path, os.O_WRONLY|syscall.O_NONBLOCK, 0); err == nil {
		f.Close()
	}
}
