package capture

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Whenever the power fails, while playing, while the take is being finished, and once more while it
// is being recovered: all that was safe is in one take, nothing is in it that was not played, and
// no leftovers stay.
func TestPowerLoss(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := newFakeDisk()
		r, err := newRecorder(d, "takes", Take{Started: started}, nil)
		if err != nil {
			t.Fatal(err)
		}
		messages := melody(rapid.IntRange(1, 8).Draw(t, "notes"))
		written, safe := 0, 0
		for i, m := range messages {
			r.Add(m)
			switch rapid.IntRange(0, 2).Draw(t, "disk") {
			case 1:
				r.flush()
				written = i + 1
			case 2:
				r.flush()
				r.sync()
				written, safe = i+1, i+1
			}
		}
		if rapid.Bool().Draw(t, "closed") {
			d.steps = rapid.IntRange(0, 14).Draw(t, "operations before the power fails")
			r.flush()
			if path, _ := r.finish(); path != "" {
				written, safe = len(messages), len(messages)
			} else {
				written = len(messages)
			}
		}
		d = d.powerLoss(t)
		d.steps = rapid.IntRange(-1, 12).Draw(t, "operations of the first recovery")
		_, _ = recoverAll(d)
		d = d.powerLoss(t)
		list, err := recoverAll(d)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range list {
			if r.Err != nil || r.Text == "" {
				t.Fatalf("%+v", r)
			}
		}
		checkRecovered(t, d, messages, safe, written)
	})
}

// checkRecovered looks for one take that holds the first few of messages, at least safe and at most
// written.
func checkRecovered(t *rapid.T, d *fakeDisk, messages []Message, safe, written int) {
	names, err := d.names()
	if err != nil {
		t.Fatal(err)
	}
	var takes []string
	for _, name := range names {
		switch {
		case strings.HasPrefix(name, "."): // a part, which the next take of its name writes over
		case strings.HasSuffix(name, TakeEnding):
			takes = append(takes, name)
		default:
			t.Fatalf("left over: %q", names)
		}
	}
	if len(takes) > 1 || len(takes) == 0 && safe > 0 {
		t.Fatalf("%d messages were safe, and the takes are %q", safe, takes)
	}
	if len(takes) == 0 {
		return
	}
	take, err := ReadSMF(bytes.NewReader(d.now[takes[0]].data), takes[0])
	if err != nil {
		t.Fatal(err)
	}
	for n := safe; n <= written; n++ {
		if cmp.Equal(build(messages[:n]...).Notes, take.Notes) {
			return
		}
	}
	t.Fatalf("%+v is none of the first %d to %d messages", take.Notes, safe, written)
}

func TestRecover(t *testing.T) {
	whole := grown(t, Take{Facts: map[string]string{"request": "C major"}}, melody(3), false)
	for _, c := range []struct {
		name  string
		data  []byte
		notes int // in the take; 0 for none
		text  string
		files []string
	}{
		{"stopped while playing", whole, 3, "an unfinished take was recovered: 3 notes in a.mid", []string{"a.mid"}},
		{"torn end", whole[:len(whole)-5], 3, "an unfinished take was recovered: 3 notes in a.mid", []string{"a.mid"}},
		{"no notes", grown(t, Take{}, nil, false), 0, "an unfinished take (a.growing) held no notes and is removed", nil},
		{"no head yet", whole[:30], 0, "an unfinished take (a.growing) held no notes and is removed", nil},
		{"empty", nil, 0, "an unfinished take (a.growing) held no notes and is removed", nil},
		{"something else", bytes.Repeat([]byte("hello "), 20), 0, "an unfinished take is damaged from its beginning and cannot be read; it is kept as a.damaged", []string{"a.damaged"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, "a.growing", c.data)
			list, err := Recover(dir)
			if err != nil || len(list) != 1 || list[0].Err != nil || list[0].Text != c.text {
				t.Fatalf("%+v, %v", list, err)
			}
			wantFiles(t, dir, c.files...)
			if c.notes == 0 {
				return
			}
			take, err := ReadFile(list[0].Path)
			if err != nil || len(take.Notes) != c.notes || take.Facts["request"] != "C major" || !cmp.Equal(take, list[0].Take) {
				t.Errorf("%+v, %v", take, err)
			}
			if !strings.HasPrefix(take.Warnings[len(take.Warnings)-1], "the recording stopped before the take was ended") {
				t.Errorf("warnings %q", take.Warnings)
			}
			if again, err := Recover(dir); err != nil || len(again) != 0 {
				t.Errorf("recovered again: %+v, %v", again, err)
			}
		})
	}
}

// A take that has the name already is not written over.
func TestRecoverBesideATake(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "a.mid", []byte("another take"))
	write(t, dir, "a.growing", grown(t, Take{}, melody(2), false))
	if list, err := Recover(dir); err != nil || len(list) != 1 || filepath.Base(list[0].Path) != "a-recovered-2.mid" {
		t.Errorf("%+v, %v", list, err)
	}
	wantFiles(t, dir, "a-recovered-2.mid", "a.mid")
}

// One recording that cannot be dealt with does not keep the others from being recovered.
func TestRecoverGoesOn(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "a.growing"), 0o700); err != nil {
		t.Fatal(err)
	}
	write(t, dir, "b.growing", grown(t, Take{}, melody(2), false))
	list, err := Recover(dir)
	if err != nil || len(list) != 2 || list[0].Err == nil || !oneLine(list[0].Err) || list[1].Take == nil {
		t.Errorf("%+v, %v", list, err)
	}
}

func TestRecoverNowhere(t *testing.T) {
	if list, err := Recover(filepath.Join(t.TempDir(), "none")); len(list) > 0 || err != nil {
		t.Errorf("%v, %v", list, err)
	}
	file := filepath.Join(t.TempDir(), "file")
	write(t, filepath.Dir(file), "file", nil)
	if _, err := Recover(file); err == nil || errors.Is(err, os.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

func write(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
		t.Fatal(err)
	}
}
