package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/scoring"
)

// smallDisk is a disk of its own of so many KiB; who may mount none has none.
func smallDisk(t *testing.T, kib int) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%dk", kib)); err != nil {
		t.Skipf("only root may mount a disk: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// aTake is a file with a clean C major scale.
func aTake(t *testing.T) (path string) {
	t.Helper()
	r, err := references.Parse("C major scale, hands together")
	if err != nil {
		t.Fatal(err)
	}
	ref, err := r.Reference()
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 1})
	path = filepath.Join(t.TempDir(), "played.mid")
	save(t, path, take)
	return path
}

// TestDiskFull: where there is no room for the take, it is judged all the same, and that it is not
// kept is said and is in the exit status.
func TestDiskFull(t *testing.T) {
	played := aTake(t)
	disk := smallDisk(t, 64)
	if err := os.WriteFile(filepath.Join(disk, "fill"), make([]byte, 60<<10), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Setenv("XDG_DATA_HOME", disk)
	var out, errw bytes.Buffer
	status := run(context.Background(), strings.NewReader(""), &out, &errw, []string{"listen", "--from-take", played, "C major scale, hands together"})
	if status != statusFault || !strings.Contains(errw.String(), "no space left on device") || !strings.Contains(out.String(), "notes     58 of 58 right") {
		t.Errorf("status %d\n%s\n%s", status, &errw, &out)
	}
}

// TestReadOnlyHome: where nothing can be written, nothing is heard that would be lost, and what to do
// is said.
func TestReadOnlyHome(t *testing.T) {
	played := aTake(t)
	disk := smallDisk(t, 64)
	if err := syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	t.Setenv("XDG_DATA_HOME", disk)
	var out, errw bytes.Buffer
	status := run(context.Background(), strings.NewReader(""), &out, &errw, []string{"listen", "--from-take", played, "C major scale, hands together"})
	if status != statusFault || out.Len() != 0 || !strings.Contains(errw.String(), "read-only file system; choose a folder that can be written, with --keep") {
		t.Errorf("status %d\n%s\n%s", status, &errw, &out)
	}
	out.Reset()
	errw.Reset()
	if status := run(context.Background(), strings.NewReader(""), &out, &errw, []string{"check", "--against", "C major", played}); status != statusDone {
		t.Errorf("check, which writes nothing: status %d: %s", status, &errw)
	}
}

// TestDiskFullKeepsWhatWasMeasured: where there is no room for more pianos, those that were measured stay.
func TestDiskFullKeepsWhatWasMeasured(t *testing.T) {
	disk := smallDisk(t, 64)
	t.Setenv("XDG_DATA_HOME", disk)
	m, err := openMeasured()
	if err != nil {
		t.Fatal(err)
	}
	if err := m.keep(measured{Calibration: scoring.Calibration{Piano: "upright"}}); err != nil {
		t.Fatal(err)
	}
	fill := make([]byte, 64<<10)
	if err := os.WriteFile(filepath.Join(disk, "fill"), fill, 0o644); err == nil {
		t.Fatal("the disk is not full")
	}
	err = m.keep(measured{Calibration: scoring.Calibration{Piano: strings.Repeat("grand", 2000)}})
	if err == nil || !strings.Contains(err.Error(), "no space left on device") {
		t.Errorf("kept on a full disk: %v", err)
	}
	if m, err = openMeasured(); err != nil || len(m.all) != 1 || m.all[0].Piano != "upright" {
		t.Errorf("after a full disk: %+v, %v", m, err)
	}
}

// TestStuckKeyAndPedal: a key that is never let go and a pedal that never comes up leave every note right,
// and both are said.
func TestStuckKeyAndPedal(t *testing.T) {
	played, err := capture.ReadFile(aTake(t))
	if err != nil {
		t.Fatal(err)
	}
	played.Notes[9].Open = true
	messages := append([]capture.Message{{Status: 0xB0, Data1: capture.Sustain, Data2: 127}}, pupil.Messages(played)...)
	b := capture.NewBuilder(capture.Take{})
	for _, m := range messages {
		b.Add(m)
	}
	path := filepath.Join(t.TempDir(), "stuck.mid")
	save(t, path, b.Take())
	a := one(t, must(t, "check", "--against", "C major scale, hands together", "--format", "json", path))
	if a.Counts.Correct != 58 || a.Counts.Extra != 0 || !a.Touch.Pedal || *a.Marks.Notes != 100 {
		t.Errorf("%+v, touch %+v, marks %+v", a.Counts, a.Touch, a.Marks)
	}
}
