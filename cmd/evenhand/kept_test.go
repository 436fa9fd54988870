package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/internal/outside"
	"evenhand/internal/smf"
	"evenhand/scoring"
)

// must runs the program and returns what it wrote.
func must(t rapid.TB, args ...string) []byte {
	t.Helper()
	var out, errw bytes.Buffer
	if status := run(context.Background(), strings.NewReader(""), &out, &errw, args); status != statusDone {
		t.Fatalf("evenhand %q: status %d: %s", args, status, &errw)
	}
	return out.Bytes()
}

// save writes a take to a file.
func save(t rapid.TB, path string, take *capture.Take) {
	t.Helper()
	var b bytes.Buffer
	if err := capture.WriteSMF(&b, take); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// one reads one line of JSON.
func one(t rapid.TB, line []byte) *scoring.Assessment {
	t.Helper()
	a := &scoring.Assessment{}
	if err := json.Unmarshal(line, a); err != nil {
		t.Fatalf("%v in %.200s", err, line)
	}
	return a
}

// What is told of a take when it is played is told again, byte for byte, when the kept file is
// checked on another day; also when another program has saved that file as two tracks.
func TestKeptTakeHasTheVerdictItHadLive(t *testing.T) {
	refs, words := readings(t)
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		level := rapid.SampledFrom([]string{"first", "middle", "top"}).Draw(t, "level")
		ref, p, label := pupil.Draw(rng, refs)
		take, _ := pupil.Play(ref, p)
		n++
		played := filepath.Join(dir, "played.mid")
		save(t, played, take)
		live := must(t, "listen", "--from-take", played, "--keep", dir, "-f", "json", "-l", level, words[ref])
		kept := one(t, live).Take
		if d := cmp.Diff(string(live), string(must(t, "check", kept, "-f", "json"))); d != "" {
			t.Fatalf("%s of %q (-live +checked):\n%s", label, words[ref], d)
		}
		inTwoTracks(t, kept)
		if d := cmp.Diff(string(live), string(must(t, "check", kept, "-f", "json"))); d != "" {
			t.Fatalf("%s of %q (-live +saved again):\n%s", label, words[ref], d)
		}
		if err := os.Remove(kept); err != nil {
			t.Fatal(err)
		}
	})
	t.Logf("%d takes", n)
}

// inTwoTracks saves a file again as format 1: what is said in one track, what is played in another.
func inTwoTracks(t rapid.TB, path string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Read(bytes.NewReader(data), path)
	if err != nil {
		t.Fatal(err)
	}
	said, played := smf.Track{End: f.Tracks[0].End}, smf.Track{End: f.Tracks[0].End}
	for _, e := range f.Tracks[0].Events {
		if e.Status == smf.Meta {
			said.Events = append(said.Events, e)
		} else {
			played.Events = append(played.Events, e)
		}
	}
	f.Format, f.Tracks = 1, []smf.Track{said, played}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// A kept take that midicsv has taken apart and csvmidi put together again has the same verdict.
// (midicsv 1.1, John Walker, public domain.)
func TestKeptTakeThroughMidicsv(t *testing.T) {
	apart, together := outside.Tool(t, "midicsv"), outside.Tool(t, "csvmidi")
	cases, words := casesOf(t, 3, 22)
	dir := t.TempDir()
	for _, c := range cases {
		take, _ := pupil.Play(c.Reference, c.Pupil)
		played := filepath.Join(dir, "played.mid")
		save(t, played, take)
		live := must(t, "listen", "--from-take", played, "--keep", dir, "-f", "json", words[c.Reference])
		kept := one(t, live).Take
		csv := filepath.Join(dir, "take.csv")
		for _, step := range [][]string{{apart, kept, csv}, {together, csv, kept}} {
			if out, err := exec.Command(step[0], step[1:]...).CombinedOutput(); err != nil {
				t.Fatalf("%q: %v %s", step, err, out)
			}
		}
		if d := cmp.Diff(string(live), string(must(t, "check", kept, "-f", "json"))); d != "" {
			t.Errorf("%s of %q (-live +through midicsv):\n%s", c.Label, words[c.Reference], d)
		}
	}
}

// Whatever settings a file holds, it is judged or refused, and nothing breaks.
func TestOddSettingsBreakNothing(t *testing.T) {
	usual, err := json.Marshal(scoring.DefaultSettings())
	if err != nil {
		t.Fatal(err)
	}
	var fields struct{ Limits, Charges map[string]any }
	if err := json.Unmarshal(usual, &fields); err != nil {
		t.Fatal(err)
	}
	take, err := writtenTake("asked C major, right hand, 1 octave\nC4 D4 E4 F♯4 G4 A4 B4 C5 C5 B4 A4\nwait 1\nG4 F4 E4 D4~40")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "odd.mid")
	rapid.Check(t, func(t *rapid.T) {
		below := false
		change := func(part map[string]any) map[string]float64 {
			changed := map[string]float64{}
			for _, name := range slices.Sorted(maps.Keys(part)) {
				if rapid.IntRange(0, 3).Draw(t, name) == 0 {
					v := rapid.SampledFrom([]float64{0, 0, 1, 2, 7, 1e9, -1}).Draw(t, name)
					changed[name], below = v, below || v < 0
				}
			}
			return changed
		}
		text, err := json.Marshal(map[string]any{"level": "middle", "limits": change(fields.Limits), "charges": change(fields.Charges)})
		if err != nil {
			t.Fatal(err)
		}
		take.Facts[factSettings] = string(text)
		save(t, path, take)
		if !below {
			one(t, must(t, "check", path, "-f", "json"))
			return
		}
		var errw bytes.Buffer
		status := run(context.Background(), nil, io.Discard, &errw, []string{"check", path})
		if status != statusFault || !strings.Contains(errw.String(), "is below 0): choose some with --level") {
			t.Fatalf("status %d: %s", status, &errw)
		}
	})
}
