package scoring

import (
	"io"
	"testing"

	"pgregory.net/rapid"

	"evenhand/align"
	"evenhand/references"
)

// every lists requests of every kind, form, motion and double note that can be written out.
func every() []references.Request {
	var all []references.Request
	for k := references.Scale; k <= references.Cadence; k++ {
		for f := references.Major; f <= references.DiminishedSeventh; f++ {
			for h := references.Together; h <= references.LeftAlone; h++ {
				for m := references.Similar; m <= references.Contrary; m++ {
					for d := references.Single; d <= references.InOctaves; d++ {
						for o := 1; o <= 2; o++ {
							all = append(all, references.Request{
								Kind: k, Tonic: references.Name{Step: references.D}, Form: f, Hands: h, Motion: m, Double: d, Octaves: o,
							})
						}
					}
				}
			}
		}
	}
	return all
}

// TestEveryKindPlayedWell: whatever is asked, playing it cleanly loses nothing.
func TestEveryKindPlayedWell(t *testing.T) {
	tried := 0
	for _, r := range every() {
		ref, err := r.Reference()
		if err != nil {
			continue // there is no such thing
		}
		tried++
		a := even(ref, 0.3).against(r, DefaultSettings())
		if a.Marks.Overall == nil || *a.Marks.Overall != 100 || a.Counts.Correct != a.Counts.Expected {
			t.Errorf("%s: marks %+v, findings %+v", r.Describe(), a.Marks, a.Findings)
		}
		if err := a.EncodeJSON(io.Discard); err != nil {
			t.Errorf("%s: %v", r.Describe(), err)
		}
	}
	if tried < 100 {
		t.Errorf("only %d requests tried", tried)
	}
}

// TestAnythingIsJudged: whatever an alignment holds, it is judged without a panic and can be written.
func TestAnythingIsJudged(t *testing.T) {
	var refs []*references.Reference
	for i, r := range every() {
		if ref, err := r.Reference(); err == nil && i%7 == 0 {
			refs = append(refs, ref)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := &stage{ref: rapid.SampledFrom(refs).Draw(t, "reference")}
		n := len(s.ref.Notes)
		for i := range n {
			if rapid.IntRange(0, 3).Draw(t, "played") == 0 {
				continue
			}
			s.hits = append(s.hits, hit{
				expected: i, near: -1, key: s.ref.Notes[i].Key() + rapid.IntRange(-1, 1).Draw(t, "by"),
				on: rapid.Float64Range(0, 5).Draw(t, "on"), length: rapid.Float64Range(0, 2).Draw(t, "length"),
				velocity: rapid.IntRange(1, 127).Draw(t, "velocity"),
			})
		}
		for range rapid.IntRange(0, 4).Draw(t, "extras") {
			s.hits = append(s.hits, hit{
				expected: -1, near: rapid.IntRange(-1, n-1).Draw(t, "near"), key: rapid.IntRange(0, 127).Draw(t, "key"),
				on: rapid.Float64Range(0, 5).Draw(t, "on"), velocity: 1,
				why: align.Why(rapid.IntRange(int(align.NoWhy), int(align.Other)).Draw(t, "why")),
			})
		}
		if len(s.hits) > 0 && rapid.Bool().Draw(t, "restart") {
			s.restarts = []align.Restart{{At: micro(s.hits[0].on), From: references.Q(9, 1), To: references.Q(-1, 1), Fresh: rapid.Bool().Draw(t, "fresh")}}
		}
		a := s.judged()
		if err := a.EncodeJSON(io.Discard); err != nil {
			t.Fatal(err)
		}
		for _, m := range []*int{a.Marks.Notes, a.Marks.Time, a.Marks.Sound, a.Marks.Overall} {
			if m != nil && (*m < 0 || *m > 100) {
				t.Fatalf("marks %+v", a.Marks)
			}
		}
		for _, l := range a.Losses {
			if l.Finding >= len(a.Findings) {
				t.Fatalf("loss %+v of no finding", l)
			}
		}
	})
}
