package capture

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

func TestRecordings(t *testing.T) {
	dir := t.TempDir()
	if got, err := Recordings(filepath.Join(dir, "none")); len(got) != 0 || err != nil {
		t.Errorf("in no folder: %v, %v", got, err)
	}
	head, err := growingHead(Take{})
	if err != nil {
		t.Fatal(err)
	}
	left := filepath.Join(dir, "take-2026-01-01-000000"+GrowingEnding)
	if err := os.WriteFile(left, head, 0o600); err != nil {
		t.Fatal(err)
	}
	var paths []string
	var recorders []*Recorder
	for _, hour := range []int{16, 17} {
		r, err := Record(dir, Take{Started: time.Date(2026, 9, 7, hour, 0, 0, 0, time.UTC)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Add(Message{Status: 0x90, Data1: 60, Data2: 64})
		recorders, paths = append(recorders, r), append(paths, r.Growing())
	}
	got, err := Recordings(dir)
	if err != nil || !slices.Equal(got, paths) || Recording(left) {
		t.Errorf("recordings %v, %v, want %v", got, err, paths)
	}
	if _, err := recorders[0].Close(); err != nil {
		t.Fatal(err)
	}
	if got, err := Recordings(dir); err != nil || !slices.Equal(got, paths[1:]) || Recording(paths[0]) {
		t.Errorf("after the first ended: %v, %v", got, err)
	}
	if _, err := recorders[1].Close(); err != nil {
		t.Fatal(err)
	}
}
