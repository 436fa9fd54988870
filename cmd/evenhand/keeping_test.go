package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/journal"
)

// A take of the journal marked again by the same version has the same assessment to the byte: of a
// listened take, of a passage of free practice, and of a foreign file that was checked.
func TestMarkedAgainIsEqual(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	t.Chdir(t.TempDir())
	a, err := findAsked("D major scale, right hand", nil)
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(a.candidates[0], pupil.Pupil{Seed: 4, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 7}}})
	var smf bytes.Buffer
	if err := capture.WriteSMF(&smf, take); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("take.mid", smf.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"listen", "--from-take", "take.mid", "D major scale, right hand"},
		{"listen", "--from-take", "take.mid"},
		{"check", "take.mid", "--against", "D major scale, right hand, piano", "--level", "first", "--keep"},
	} {
		var out bytes.Buffer
		if status := run(t.Context(), nil, &out, &out, args); status != statusDone {
			t.Fatalf("%v: %s", args, &out)
		}
	}
	data, err := dataFolder()
	if err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(t.Context(), filepath.Join(data, "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	marked := 0
	for id := int64(1); id <= 4; id++ {
		kept, err := j.Take(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if kept.Outcome == nil {
			continue // free practice as a whole
		}
		marked++
		again, err := markTake(kept, nil)
		if err != nil {
			t.Fatal(err)
		}
		var was, is bytes.Buffer
		if kept.Outcome.EncodeJSON(&was) != nil || again.EncodeJSON(&is) != nil || was.String() != is.String() {
			t.Errorf("take %d, %s:\nwas %.600s\nis  %.600s", id, kept.Subject, &was, &is)
		}
	}
	if marked != 3 {
		t.Errorf("%d takes have marks, want 3", marked)
	}
}
