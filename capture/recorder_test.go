package capture

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
)

var started = time.Date(2026, 3, 1, 17, 15, 2, 0, time.UTC)

// melody is n notes of half a beat.
func melody(n int) []Message {
	var list []Message
	for i := range n {
		at := time.Duration(i) * 250 * ms
		list = append(list, on(at, byte(60+i%12), 80), off(at+200*ms, byte(60+i%12)))
	}
	return list
}

func TestRecord(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "takes")
	about := Take{Device: "Stage piano", Started: started, Facts: map[string]string{"request": "C major"}}
	r, err := Record(dir, about, func(err error) { t.Error(err) })
	if err != nil {
		t.Fatal(err)
	}
	if list, err := Recover(dir); err != nil || len(list) != 0 {
		t.Fatalf("a take under way was recovered: %+v, %v", list, err)
	}
	for _, m := range melody(8) {
		for _, c := range r.Add(m) {
			if n := r.Note(c.Index); n.Key != m.Data1 || c.Kind == NoteEnded && n.Length() != 200*ms {
				t.Errorf("%+v did %+v: %+v", m, c, n)
			}
		}
	}
	live := r.Take()
	path, err := r.Close()
	if want := filepath.Join(dir, "take-2026-03-01-171502.mid"); err != nil || path != want {
		t.Fatalf("%s, %v; want %s", path, err, want)
	}
	got, err := ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(live, got); d != "" {
		t.Error(d)
	}
	wantFiles(t, dir, "take-2026-03-01-171502.mid")
	if again, err := r.Close(); again != path || err != nil {
		t.Errorf("closed again: %s, %v", again, err)
	}
	if r.Add(on(time.Hour, 60, 80)) != nil || len(r.Take().Notes) != 8 {
		t.Error("a note was added after the end")
	}
}

func wantFiles(t *testing.T, dir string, want ...string) {
	t.Helper()
	got, err := folder(dir).names()
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("in the folder: %q, %v; want %q", got, err, want)
	}
}

// Takes that begin in the same second have names of their own, also while both are played.
func TestRecordNames(t *testing.T) {
	dir := t.TempDir()
	for _, want := range []string{"take.mid", "take-2.mid", "take-3.mid"} {
		first, err := Record(dir, Take{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if want == "take-2.mid" {
			other, err := Record(dir, Take{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if filepath.Base(other.Growing()) != "take-3.growing" {
				t.Errorf("the second of two at once is %s", other.Growing())
			}
			if _, err := other.Close(); !errors.Is(err, ErrNoNotes) {
				t.Error(err)
			}
		}
		first.Add(on(0, 60, 80))
		if path, err := first.Close(); err != nil || filepath.Base(path) != want {
			t.Errorf("%s, %v; want %s", path, err, want)
		}
	}
}

func TestRecordNothing(t *testing.T) {
	dir := t.TempDir()
	r, err := Record(dir, Take{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Add(control(0, Sustain, 127))
	if path, err := r.Close(); path != "" || !errors.Is(err, ErrNoNotes) {
		t.Errorf("%q, %v", path, err)
	}
	wantFiles(t, dir)
}

func TestRecordWhereNothingCanBeWritten(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Record(file, Take{}, nil)
	if want := "takes cannot be kept in " + file + ": not a directory; choose a folder that can be written"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// start runs a recorder on a fake disk.
func start(t *testing.T, d *fakeDisk, fault func(error)) *Recorder {
	t.Helper()
	r, err := newRecorder(d, "takes", Take{}, fault)
	if err != nil {
		t.Fatal(err)
	}
	go r.run()
	return r
}

// Every event is safe from a power failure 100 ms after it came at the latest.
func TestEventsAreSafeInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newFakeDisk()
		r := start(t, d, nil)
		type added struct {
			at   time.Time
			size int // of the file when the event is in it
		}
		var events []added
		size := len(grown(t, Take{}, nil, false))
		for i, gap := range []time.Duration{0, 10, 20, 49, 50, 51, 99, 100, 101, 5, 5, 5, 700, 1, 30} {
			time.Sleep(gap * ms)
			r.Add(on(time.Duration(i)*ms, 60, 80))
			size += recordHead + messageLength
			events = append(events, added{time.Now(), size})
		}
		time.Sleep(time.Second)
		d.mu.Lock()
		for i, e := range events {
			safe := time.Hour
			for _, s := range d.syncs {
				if s.size >= e.size && !s.at.Before(e.at) {
					safe = min(safe, s.at.Sub(e.at))
				}
			}
			if safe > 100*ms {
				t.Errorf("event %d was safe after %v", i, safe)
			}
		}
		if n := len(d.syncs); n > 14 {
			t.Errorf("%d syncs for %d events: the disk is asked too often", n, len(events))
		}
		d.mu.Unlock()
		if _, err := r.Close(); err != nil {
			t.Error(err)
		}
	})
}

// A disk that stands still holds up nobody who plays, and gets everything when it goes on.
func TestSlowDisk(t *testing.T) {
	d := newFakeDisk()
	r, err := newRecorder(d, "takes", Take{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	d.gate = make(chan struct{})
	go r.run()
	for _, m := range melody(500) {
		r.Add(m) // would hang here
	}
	close(d.gate)
	if path, err := r.Close(); err != nil || path != filepath.Join("takes", "take.mid") {
		t.Fatal(path, err)
	}
	take, err := ReadSMF(bytes.NewReader(d.now["take.mid"].data), "take.mid")
	if err != nil || len(take.Notes) != 500 {
		t.Errorf("%v, %v", take, err)
	}
}

// A full disk is told once while the take is played, and again at its end. If there is room by
// then, the take is whole.
func TestFullDisk(t *testing.T) {
	for _, freed := range []bool{true, false} {
		synctest.Test(t, func(t *testing.T) {
			d := newFakeDisk()
			var told []error
			r := start(t, d, func(err error) { told = append(told, err) })
			d.space = 200
			for _, m := range melody(40) {
				r.Add(m)
				synctest.Wait()
			}
			if len(told) != 1 || !errors.Is(told[0], errFull) || !oneLine(told[0]) {
				t.Fatalf("told %v", told)
			}
			if freed {
				d.space = -1
			}
			path, err := r.Close()
			if !errors.Is(err, errFull) || (path != "") != freed || !oneLine(err) {
				t.Errorf("space freed %v: %q, %v", freed, path, err)
			}
			if freed {
				take, err := ReadSMF(bytes.NewReader(d.now["take.mid"].data), "take.mid")
				if err != nil || len(take.Notes) != 40 {
					t.Errorf("%v, %v", take, err)
				}
				return
			}
			d.space = -1
			list, err := recoverAll(d)
			if err != nil || len(list) != 1 || list[0].Take == nil || len(list[0].Take.Notes) < 3 {
				t.Errorf("what was written before the disk was full is lost: %+v, %v", list, err)
			}
		})
	}
}

func oneLine(err error) bool {
	s := err.Error()
	return !strings.Contains(s, "\n") && s[0] >= 'a' && s[0] <= 'z'
}
