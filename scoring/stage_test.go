package scoring

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden compares got with a file under testdata.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s (-want +got), go test -update rewrites it:\n%s", path, d)
	}
}

// hit is one key struck on the stage.
type hit struct {
	expected, near int // -1 where there is none
	key, velocity  int
	on, length     float64 // seconds
	why            align.Why
}

// stage is a performance written down by hand: what a test knows to be true.
type stage struct {
	ref      *references.Reference
	hits     []hit
	restarts []align.Restart
	pedals   []capture.Pedal
	period   time.Duration
	other    bool // not as asked
	right    int  // octave shift in semitones
	left     int
}

// written builds the reference of a request.
func written(t testing.TB, r references.Request) *references.Reference {
	t.Helper()
	ref, err := r.Reference()
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// scale is a request for a scale in two octaves.
func scale(tonic references.Name, form references.Form, hands references.Hands) references.Request {
	return references.Request{Tonic: tonic, Form: form, Hands: hands, Octaves: 2}
}

var (
	cMajor     = references.Name{Step: references.C}
	bFlatMajor = references.Name{Step: references.B, Alter: -1}
)

// even plays a reference cleanly: one onset every ioi seconds from the first second on, keys held
// until the next, velocities 63, 64, 65 in turn so that the keyboard is not one of fixed velocity.
func even(ref *references.Reference, ioi float64) *stage {
	s := &stage{ref: ref}
	starts := ref.Events()
	for e := range len(starts) - 1 {
		for i := starts[e]; i < starts[e+1]; i++ {
			s.hits = append(s.hits, hit{
				expected: i, near: -1, key: ref.Notes[i].Key(), velocity: 63 + e%3,
				on: 1 + float64(e)*ioi, length: ioi,
			})
		}
	}
	return s
}

// each changes every hit.
func (s *stage) each(f func(h *hit, n *references.Note)) *stage {
	for k := range s.hits {
		f(&s.hits[k], &s.ref.Notes[s.hits[k].expected])
	}
	return s
}

// of is the hit of expected note i.
func (s *stage) of(i int) *hit {
	return &s.hits[slices.IndexFunc(s.hits, func(h hit) bool { return h.expected == i })]
}

// later moves everything from time t on by d seconds.
func (s *stage) later(t, d float64) *stage {
	for k := range s.hits {
		if s.hits[k].on >= t-1e-9 {
			s.hits[k].on += d
		}
	}
	return s
}

// drop leaves expected note i out.
func (s *stage) drop(i int) *stage {
	s.hits = slices.DeleteFunc(s.hits, func(h hit) bool { return h.expected == i })
	return s
}

// note finds the nth (from 0) expected note of a hand.
func (s *stage) note(h references.Hand, n int) int {
	for i := range s.ref.Notes {
		if s.ref.Notes[i].Hand.Has(h) {
			if n == 0 {
				return i
			}
			n--
		}
	}
	panic("no such note on the stage")
}

func micro(s float64) time.Duration {
	return time.Duration(s*1e6+0.5) * time.Microsecond
}

// aligned lays the stage out as an alignment.
func (s *stage) aligned() *align.Alignment {
	hits := slices.Clone(s.hits)
	slices.SortStableFunc(hits, func(a, b hit) int { return int(micro(a.on) - micro(b.on)) })
	a := &align.Alignment{
		Reference: s.ref, Take: &capture.Take{Pedals: s.pedals, Period: s.period},
		RightShift: s.right, LeftShift: s.left, AsAsked: !s.other, Complete: true,
	}
	done := make([]bool, len(s.ref.Notes))
	for k, h := range hits {
		on := micro(h.on)
		a.Take.Notes = append(a.Take.Notes, capture.Note{
			Key: uint8(h.key), Velocity: uint8(h.velocity), On: on, Off: on + micro(h.length),
		})
		p := align.Pair{Expected: h.expected, Played: k, Near: -1}
		switch {
		case h.expected < 0:
			p.Verdict, p.Why, p.Near = align.Extra, h.why, h.near
		case h.key != a.Key(h.expected):
			p.Verdict = align.Wrong
		}
		if h.expected >= 0 {
			done[h.expected] = true
		}
		a.Pairs = append(a.Pairs, p)
	}
	for i, ok := range done {
		if !ok {
			at := slices.IndexFunc(a.Pairs, func(p align.Pair) bool { return p.Expected > i })
			if at < 0 {
				at = len(a.Pairs)
			}
			a.Pairs = slices.Insert(a.Pairs, at, align.Pair{Expected: i, Played: -1, Near: -1, Verdict: align.Missing})
		}
	}
	for _, r := range s.restarts {
		for k := range a.Take.Notes {
			if a.Take.Notes[k].On >= r.At {
				r.Played = k
				break
			}
		}
		a.Restarts = append(a.Restarts, r)
	}
	return a
}

// judged assesses the stage against the request of its reference.
func (s *stage) judged() *Assessment { return s.against(*s.ref.Request, DefaultSettings()) }

func (s *stage) against(r references.Request, set Settings) *Assessment {
	return Assess(s.aligned(), Asked{Take: "a.mid", Against: r.String(), Request: &r, Version: "test"}, set)
}

// find returns the findings of a kind.
func (a *Assessment) find(k Kind) []Finding {
	var fs []Finding
	for _, f := range a.Findings {
		if f.Kind == k {
			fs = append(fs, f)
		}
	}
	return fs
}

// near reports whether two numbers are closer than tol.
func near(a, b, tol float64) bool { return a-b < tol && b-a < tol }
