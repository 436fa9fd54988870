package scoring

import (
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenhand/align"
	"evenhand/references"
)

// anyScore draws a small score: some bars in one metre, a tune in mixed rhythms over chords, with
// dynamics, touches, and perhaps a ritardando.
func anyScore(tb testing.TB, t *rapid.T) *references.Reference {
	meter := rapid.SampledFrom([]references.Meter{{Beats: 2, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 4, Unit: 4}}).Draw(t, "metre")
	bars := rapid.IntRange(5, 10).Draw(t, "bars")
	tune := []string{"C5:1", "D5:1/2 E5:1/2", "E5:3/4 D5:1/4", "F5:1/3 E5:1/3 D5:1/3", "C5+E5:1", "G5:1/2 r:1/2", "E5:1/4 D5:1/4 C5:1/2"}
	var right, left []string
	for range bars {
		for range meter.Beats {
			right = append(right, rapid.SampledFrom(tune).Draw(t, "beat"))
		}
		chord := rapid.SampledFrom([]string{"C3+G3", "F3+A3+C4", "G3+B3", "A2+E3"}).Draw(t, "chord")
		for range meter.Beats {
			left = append(left, chord+":1")
		}
	}
	ref := compose(tb, meter, 0, strings.Join(right, " "), strings.Join(left, " "))
	levels := make([]references.Dynamic, bars)
	for k := range levels {
		levels[k] = references.Dynamic(rapid.IntRange(int(references.Piano), int(references.Forte)).Draw(t, "dynamic"))
	}
	touch := references.Touch(rapid.IntRange(int(references.NoTouch), int(references.Tenuto)).Draw(t, "touch"))
	for i := range ref.Notes {
		n := &ref.Notes[i]
		n.Dynamic = levels[n.Measure/2]
		if n.Hand == references.Right {
			n.Touch = touch
		}
	}
	return ref
}

// TestAnyScorePlayedPlainly: a mechanical performance of any score, with its dynamics and touches, gets
// about 100 and has no fault, at any tempo.
func TestAnyScorePlayedPlainly(tt *testing.T) {
	rapid.Check(tt, func(t *rapid.T) {
		ref := anyScore(tt, t)
		s := plainly(ref, rapid.Float64Range(0.35, 1.2).Draw(t, "spq"))
		if rapid.Bool().Draw(t, "ritardando") {
			end := ref.Bars[len(ref.Bars)-1].Onset.Add(ref.BarLength)
			from := end.Sub(ref.BarLength.Times(2, 1))
			ref.Marks = []references.Mark{{Kind: references.Ritardando, From: from, To: end, Hand: references.Both}}
			staccato := ref.Notes[len(ref.Notes)-1].Touch == references.Staccato
			s.warp(ritarded(0.6, from.Float(), end.Float(), 0.6, 1))
			if staccato {
				s.each(func(h *hit, n *references.Note) {
					if n.Touch == references.Staccato {
						h.length *= 0.4
					}
				})
			}
		}
		a := s.scored()
		for _, f := range a.Findings {
			t.Errorf("%s, %.3f: %s", f.Kind, f.loss, f.Text)
		}
		if a.Marks.Overall == nil || *a.Marks.Overall < 98 {
			t.Fatalf("marks %+v", a.Marks)
		}
	})
}

// TestFaultsNeverRaiseMarks: whatever fault is added, no mark goes up; another note fault never raises
// the mark for notes.
func TestFaultsNeverRaiseMarks(tt *testing.T) {
	rapid.Check(tt, func(t *rapid.T) {
		s := plainly(anyScore(tt, t), 0.6)
		clean := s.scored()
		last := *clean.Marks.Notes
		for range rapid.IntRange(1, 6).Draw(t, "faults") {
			h := &s.hits[rapid.IntRange(0, len(s.hits)-1).Draw(t, "where")]
			what := rapid.SampledFrom([]string{"wrong", "missing", "extra", "wait"}).Draw(t, "what")
			if h.expected < 0 {
				continue
			}
			i, on := h.expected, h.on
			switch what {
			case "wrong":
				if h.key == s.ref.Notes[i].Key() {
					h.key += rapid.SampledFrom([]int{-12, -2, -1, 1, 2, 12}).Draw(t, "by")
				}
			case "missing":
				if h.key == s.ref.Notes[i].Key() {
					s.drop(i)
				}
			case "extra":
				s.extra(i, 1, on+0.2, 0.1, 60, align.Other)
			case "wait":
				s.later(on, 0.7)
			}
			if len(s.hits) == 0 {
				return
			}
			a := s.scored()
			if *a.Marks.Overall > *clean.Marks.Overall {
				t.Fatalf("%s at %d: overall %d, without a fault %d", what, i, *a.Marks.Overall, *clean.Marks.Overall)
			}
			if *a.Marks.Notes > last {
				t.Fatalf("%s at %d: notes %d, before it %d", what, i, *a.Marks.Notes, last)
			}
			last = *a.Marks.Notes
		}
	})
}

// TestAnythingPlayedIsJudged: whatever is laid against whatever score, with whatever signs, there is
// an assessment that can be written, with marks from 0 to 100 and findings at places that exist.
func TestAnythingPlayedIsJudged(tt *testing.T) {
	rapid.Check(tt, func(t *rapid.T) {
		ref := anyScore(tt, t)
		place := func(name string) references.Quarters {
			return references.Q(int64(rapid.IntRange(0, 60).Draw(t, name)), 2)
		}
		for range rapid.IntRange(0, 6).Draw(t, "marks") {
			m := references.Mark{
				Kind: references.MarkKind(rapid.IntRange(0, int(references.Swing)).Draw(t, "kind")),
				From: place("from"), To: place("to"), Hand: references.Hand(rapid.IntRange(0, int(references.Both)).Draw(t, "hand")),
			}
			ref.Marks = append(ref.Marks, m)
			ref.Pedals = append(ref.Pedals, references.Pedalling{From: m.From, To: m.To})
		}
		if rapid.Bool().Draw(t, "tempo") {
			ref.Tempos = []references.TempoMark{{Onset: place("tempo at"), Words: "Allegro"}, {Onset: place("again"), Printed: true, Tempo: references.Tempo{BPM: 90, Beat: references.Q(1, 1)}}}
		}
		if rapid.IntRange(0, 4).Draw(t, "bars") == 0 {
			ref.Bars = nil // as from MIDI without a metre
		}
		for i := range ref.Notes {
			ref.Notes[i].Ornament = references.Ornament(max(0, rapid.IntRange(-20, int(references.Glissando)).Draw(t, "ornament")))
		}
		s := &stage{ref: ref}
		for i := range ref.Notes {
			if rapid.IntRange(0, 3).Draw(t, "played") > 0 {
				s.hits = append(s.hits, hit{
					expected: i, near: -1, key: ref.Notes[i].Key() + max(0, rapid.IntRange(-4, 2).Draw(t, "by")),
					on: rapid.Float64Range(0, 9).Draw(t, "on"), length: rapid.Float64Range(0, 2).Draw(t, "length"),
					velocity: rapid.IntRange(1, 127).Draw(t, "velocity"),
				})
			}
		}
		a := s.scored()
		if err := a.EncodeJSON(io.Discard); err != nil {
			t.Fatal(err)
		}
		for _, m := range []*int{a.Marks.Notes, a.Marks.Time, a.Marks.Sound, a.Marks.Overall} {
			if m != nil && (*m < 0 || *m > 100) {
				t.Fatalf("marks %+v", a.Marks)
			}
		}
		for _, f := range a.Findings {
			for _, k := range f.Notes {
				if k < 0 || k >= len(a.Notes) {
					t.Fatalf("%s is about line %d of %d", f.Kind, k, len(a.Notes))
				}
			}
			if f.Text == "" || strings.Contains(f.Text, "%!") {
				t.Fatalf("%s says %q", f.Kind, f.Text)
			}
		}
	})
}
