package scoring

import (
	"bytes"
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenhand/align"
	"evenhand/references"
)

// TestMarksByHand works one take out by the formula: 57 of 58 notes, one wrong, one hesitation, left
// hand 50 ms late.
//
//	notes 100 exp(-2.4 x 1 / (58 + 20))            = 96.97
//	time  100 exp(-(0.04 + 0.1 (50-28) / (40-28))) = 79.99
//	sound 100
//	overall 0.5 x 96.97 + 0.3 x 79.99 + 0.2 x 100  = 92.48
func TestMarksByHand(t *testing.T) {
	s := hands(t, nil)
	s.each(func(h *hit, n *references.Note) {
		if n.Hand == references.Left {
			h.on += 0.05
		}
	})
	i := s.note(references.Right, 20)
	s.later(s.of(s.note(references.Right, 9)).on, 0.5)
	s.of(i).key++
	a := s.judged()
	m := a.Marks
	if *m.Notes != 97 || *m.Time != 80 || *m.Sound != 100 || *m.Overall != 92 {
		t.Errorf("marks %d %d %d %d, by hand 97 80 100 92", *m.Notes, *m.Time, *m.Sound, *m.Overall)
	}
	lost := map[string]float64{}
	for _, l := range a.Losses {
		lost[l.Mark] += l.Points
	}
	if !near(lost["notes"], 3.03, 0.06) || !near(lost["time"], 20.01, 0.11) || lost["sound"] != 0 {
		t.Errorf("losses %v do not add up to what the marks lost", lost)
	}
}

func TestBeyond(t *testing.T) {
	c := defaultCharges
	for _, v := range []struct{ measured, want float64 }{
		{0, 0}, {7, 0}, {8.5, 0.05}, {10, 0.1}, {19, 0.4}, {math.NaN(), 0},
	} {
		if got := c.beyond(v.measured, 10, 0.1); !near(got, v.want, 1e-12) {
			t.Errorf("%v against 10: %v, want %v", v.measured, got, v.want)
		}
	}
}

// TestNothingToMark: no notes give no marks; something else played gives measures and no marks.
func TestNothingToMark(t *testing.T) {
	s := right(t)
	s.hits = nil
	a := s.judged()
	if a.Marks != (Marks{}) || a.Tempo != nil || a.Dynamics != nil || a.Touch != nil || len(a.Evenness) != 0 {
		t.Errorf("marks %+v of nothing", a.Marks)
	}
	if len(a.Remarks) != 1 || a.Remarks[0] != "No notes were heard." || a.Counts.Missing != 29 {
		t.Errorf("remarks %q, counts %+v", a.Remarks, a.Counts)
	}

	s = right(t)
	s.other = true
	a = s.judged()
	if a.Marks != (Marks{}) || a.Tempo == nil || len(a.Evenness) != 2 || len(a.Losses) != 0 {
		t.Errorf("not as asked: marks %+v, tempo %+v", a.Marks, a.Tempo)
	}
}

// TestEmptyReference: nothing asked and nothing played is no panic.
func TestEmptyReference(t *testing.T) {
	s := &stage{ref: &references.Reference{Title: "nothing"}}
	a := Assess(s.aligned(), Asked{}, DefaultSettings())
	if a.Counts != (Counts{}) || a.Marks.Overall != nil {
		t.Errorf("%+v", a)
	}
}

// drawFaults are things that go wrong, each at a place of its own.
func drawFaults(t *rapid.T, base *stage) []func(s *stage) {
	var fs []func(s *stage)
	places := rapid.Permutation([]int{2, 5, 8, 11, 14, 17, 20, 23}).Draw(t, "places")
	for i := range rapid.IntRange(1, 6).Draw(t, "faults") {
		e := places[i]
		h := rapid.SampledFrom([]references.Hand{references.Right, references.Left}).Draw(t, "hand")
		n := base.note(h, e)
		switch rapid.SampledFrom([]string{"wrong", "missing", "slip", "wait", "extra", "corrected"}).Draw(t, "fault") {
		case "wrong":
			by := rapid.SampledFrom([]int{-12, -2, -1, 1, 2, 12}).Draw(t, "by")
			fs = append(fs, func(s *stage) { s.of(n).key += by })
		case "missing":
			fs = append(fs, func(s *stage) { s.drop(n) })
		case "slip":
			fs = append(fs, func(s *stage) { s.extra(n, 1, s.of(n).on+0.01, 0.05, 30, align.Slip) })
		case "extra":
			fs = append(fs, func(s *stage) { s.extra(n, 6, s.of(n).on+0.1, 0.05, 50, align.Other) })
		case "wait":
			fs = append(fs, func(s *stage) { s.later(s.of(n).on, 0.8) })
		case "corrected":
			fs = append(fs, func(s *stage) {
				at := s.of(n).on
				s.later(at, 0.3)
				s.extra(n, 1, at, 0.2, 60, align.Corrected)
			})
		}
	}
	if rapid.Bool().Draw(t, "loud") {
		fs = append(fs, func(s *stage) { s.all(func(h *hit) { h.velocity += 40 }) })
	}
	if rapid.Bool().Draw(t, "short") {
		fs = append(fs, func(s *stage) { s.all(func(h *hit) { h.length *= 0.7 }) })
	}
	return fs
}

// all changes every hit, extra ones too.
func (s *stage) all(f func(h *hit)) {
	for k := range s.hits {
		f(&s.hits[k])
	}
}

// TestMarkProperties: counts add up, marks lie in 0 to 100, the same input gives the same bytes, and
// taking any one fault away never lowers the overall mark or that for notes.
func TestMarkProperties(t *testing.T) {
	r := scale(bFlatMajor, references.Major, references.Together)
	r.Dynamic = references.Each(references.MezzoPiano)
	ref := written(t, r)
	rapid.Check(t, func(t *rapid.T) {
		fs := drawFaults(t, even(ref, 0.25))
		play := func(leave int) *Assessment {
			s := even(ref, 0.25)
			for i, f := range fs {
				if i != leave {
					f(s)
				}
			}
			return s.judged()
		}
		all := play(-1)
		if c := all.Counts; c.Expected != c.Correct+c.Wrong+c.Missing || c.Played != c.Correct+c.Wrong+c.Extra || c.Expected != 58 {
			t.Fatalf("counts %+v", c)
		}
		for _, m := range []*int{all.Marks.Notes, all.Marks.Time, all.Marks.Sound, all.Marks.Overall} {
			if m == nil || *m < 0 || *m > 100 {
				t.Fatalf("marks %+v", all.Marks)
			}
		}
		if n := len(all.Remarks); n == 0 || n > 5 {
			t.Fatalf("%d remarks", n)
		}
		var one, two bytes.Buffer
		if all.EncodeJSON(&one) != nil || play(-1).EncodeJSON(&two) != nil || !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Fatal("the same take gives other bytes")
		}
		leave := rapid.IntRange(0, len(fs)-1).Draw(t, "leave")
		less := play(leave)
		if *less.Marks.Overall < *all.Marks.Overall || *less.Marks.Notes < *all.Marks.Notes {
			t.Fatalf("without fault %d: overall %d to %d, notes %d to %d", leave,
				*all.Marks.Overall, *less.Marks.Overall, *all.Marks.Notes, *less.Marks.Notes)
		}
	})
}

// TestInvariance: a take begun later, or an octave higher, is judged the same; one played at another
// speed has its spread scaled with it.
func TestInvariance(t *testing.T) {
	ref := written(t, scale(bFlatMajor, references.Major, references.Together))
	rapid.Check(t, func(t *rapid.T) {
		jitter := rapid.SliceOfN(rapid.Float64Range(-0.02, 0.02), len(ref.Notes), len(ref.Notes)).Draw(t, "jitter")
		play := func(by float64) *stage {
			s := even(ref, 0.25)
			for k := range s.hits {
				s.hits[k].on += jitter[k]
				s.hits[k].on *= by
				s.hits[k].length *= by
			}
			return s
		}
		one := play(1).judged()

		later := play(1)
		later.later(0, 7)
		two := later.judged()
		if *one.Marks.Overall != *two.Marks.Overall || *one.Evenness[0].SD != *two.Evenness[0].SD || one.Together.Mean != two.Together.Mean {
			t.Fatalf("7 s later: %+v and %+v", one.Marks, two.Marks)
		}

		high := play(1)
		high.right, high.left = 12, -12
		high.each(func(h *hit, n *references.Note) {
			if n.Hand == references.Left {
				h.key -= 12
			} else {
				h.key += 12
			}
		})
		three := high.judged()
		if *one.Marks.Overall != *three.Marks.Overall || three.Counts.Correct != 58 || three.Notes[0].Expected.Key != three.Notes[0].Played.Key {
			t.Fatalf("octaves apart: %+v and %+v", one.Marks, three.Marks)
		}

		slow := play(2).judged()
		if got, want := *slow.Evenness[0].SD, 2*(*one.Evenness[0].SD); !near(got, want, 0.16) {
			t.Fatalf("at half the speed the sd is %.1f ms and not %.1f", got, want)
		}
		if got := slow.Tempo.BPM; !near(got, one.Tempo.BPM/2, 0.11) {
			t.Fatalf("at half the speed %.1f beats a minute and not half of %.1f", got, one.Tempo.BPM)
		}
	})
}

func BenchmarkAssess(b *testing.B) {
	r := scale(bFlatMajor, references.Major, references.Together)
	r.Octaves = 4
	al := even(written(b, r), 0.15).aligned()
	asked := Asked{Take: "a.mid", Request: &r}
	for b.Loop() {
		Assess(al, asked, DefaultSettings())
	}
}
