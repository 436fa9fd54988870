package scoring

import (
	"bytes"
	"fmt"
	"testing"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

// TestRemarks writes down every sentence a pupil may be told.
func TestRemarks(t *testing.T) {
	piano := func(r *references.Request) { r.Dynamic = references.Each(references.Piano) }
	var out bytes.Buffer
	say := func(name string, a *Assessment) {
		fmt.Fprintf(&out, "%s\n", name)
		for _, r := range a.Remarks {
			fmt.Fprintf(&out, "  - %s\n", r)
		}
		mark := func(m *int) string {
			if m == nil {
				return "none"
			}
			return fmt.Sprint(*m)
		}
		fmt.Fprintf(&out, "  notes %s, time %s, sound %s, overall %s\n\n", mark(a.Marks.Notes), mark(a.Marks.Time), mark(a.Marks.Sound), mark(a.Marks.Overall))
	}
	for _, c := range []struct {
		name   string
		change func(s *stage)
	}{
		{"clean", func(*stage) {}},
		{"one wrong note", func(s *stage) { s.of(s.note(references.Left, 25)).key++ }},
		{"five wrong notes", func(s *stage) {
			for _, k := range []int{4, 9, 12, 17, 22} {
				s.of(s.note(references.Right, k)).key += 1 + k%2
			}
		}},
		{"E flat forgotten", func(s *stage) {
			for _, i := range s.named(references.Name{Step: references.E, Alter: -1}, references.Left) {
				s.of(i).key++
			}
		}},
		{"two notes left out", func(s *stage) { s.drop(s.note(references.Right, 3)).drop(s.note(references.Left, 20)) }},
		{"stopped early", func(s *stage) {
			for _, i := range s.notesFrom(22, 29) {
				s.drop(i)
			}
		}},
		{"a stop", func(s *stage) { s.later(s.of(s.note(references.Right, 9)).on, 0.5) }},
		{"a long stop at the turn", func(s *stage) { s.later(s.of(s.note(references.Right, 15)).on, 2.1) }},
		{"slowing down", func(s *stage) {
			s.each(func(h *hit, n *references.Note) { h.on *= 1 + 0.02*h.on })
		}},
		{"left late", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				if n.Hand == references.Left {
					h.on += 0.045
				}
			})
		}},
		{"now and then apart", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				if k := int(n.Onset.Float() * 2); n.Hand == references.Left {
					h.on += 0.06 * float64(k%3-1)
				}
			})
		}},
		{"too loud", func(s *stage) { s.each(velocity(98)) }},
		{"left louder", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				if n.Hand == references.Left {
					h.velocity += 22
				}
			})
		}},
		{"jumping loudness", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				k := int(n.Onset.Float()*2) + int(n.Hand)
				h.velocity += []int{0, 16, -19, 10, -14}[(k*k*7)%5]
			})
		}},
		{"gaps", func(s *stage) { s.each(func(h *hit, n *references.Note) { h.length = 0.15 }) }},
		{"gaps in one hand", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				if n.Hand == references.Right {
					h.length = 0.15
				}
			})
		}},
		{"blurred", func(s *stage) { s.each(func(h *hit, n *references.Note) { h.length = 0.36 }) }},
		{"pedal", func(s *stage) {
			s.pedals = []capture.Pedal{{At: micro(2), Controller: capture.Sustain, Value: 100}}
		}},
		{"one velocity", func(s *stage) { s.each(func(h *hit, n *references.Note) { h.velocity = 64 }) }},
		{"everything at once", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				k := int(n.Onset.Float()*2) + 3*int(n.Hand)
				h.on += 0.05 * float64((k*k*7)%5-2) / 2
				h.velocity += 36
				h.length = 0.12
			})
			s.of(s.note(references.Left, 25)).key++
			s.drop(s.note(references.Right, 3))
			i := s.note(references.Right, 10)
			s.extra(i, 1, s.of(i).on+0.02, 0.05, 40, align.Slip)
			s.later(s.of(s.note(references.Right, 18)).on, 0.9)
		}},
	} {
		s := hands(t, piano).each(velocity(50))
		c.change(s)
		say(c.name, s.judged())
	}
	s := right(t)
	for _, k := range []int{3, 7, 10} {
		s.hits[k].on += 0.03
	}
	say("late thumbs", s.judged())
	s = right(t)
	for k := range s.hits {
		s.hits[k].on += 0.04 * float64((k*k*7)%5-2) / 2
	}
	say("uneven", s.judged())
	s = right(t)
	s.later(s.hits[8].on, 0.06)
	say("a long tonic", s.judged())
	minor := scale(references.Name{Step: references.A}, references.HarmonicMinor, references.RightAlone)
	asked := minor
	asked.Form, asked.BPM, asked.NotesPerBeat = references.Minor, 160, 2
	say("a minor with no form named, slower than asked", even(written(t, minor), 0.25).against(asked, DefaultSettings()))
	golden(t, "remarks.txt", out.Bytes())
}

// TestOtherwise: what was played instead is said in one sentence.
func TestOtherwise(t *testing.T) {
	bFlat := scale(bFlatMajor, references.Major, references.Together)
	for _, c := range []struct {
		change func(r *references.Request)
		want   string
	}{
		{func(r *references.Request) { r.Tonic.Alter = 0 }, "This was B major, 2 octaves; B flat major was asked."},
		{func(r *references.Request) { r.Octaves = 1 }, "This was B flat major, 1 octave; 2 octaves were asked."},
		{func(r *references.Request) { r.Motion = references.Contrary }, "This was B flat major, contrary motion, 2 octaves; similar motion was asked."},
		{func(r *references.Request) { r.Hands = references.RightAlone }, "This was B flat major, right hand, 2 octaves; hands together was asked."},
		{func(r *references.Request) { r.Kind = references.Arpeggio }, "This was B flat major, arpeggio, 2 octaves; scale was asked."},
		{
			func(r *references.Request) { r.Form = references.MixedMinor },
			"This was B flat minor in mixed forms, harmonic going up and natural coming down, 2 octaves; B flat major was asked.",
		},
		{
			func(r *references.Request) { r.Tonic.Alter, r.Octaves = 0, 1 },
			"This was B major, 1 octave; B flat major, 2 octaves was asked.",
		},
	} {
		was := bFlat
		c.change(&was)
		if got := otherwise(&was, &bFlat); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	was := bFlat
	was.Tonic.Alter = 0
	s := even(written(t, was), 0.25)
	s.other = true
	a := s.against(bFlat, DefaultSettings())
	if len(a.Remarks) != 1 || a.Remarks[0] != "This was B major, 2 octaves; B flat major was asked. Play it once more, as it was asked." {
		t.Errorf("remarks %q", a.Remarks)
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{list(nil), ""},
		{list([]string{"F"}), "F"},
		{list([]string{"F", "C", "F"}), "F, C and F"},
		{some([]string{"a", "b", "c", "d", "e"}), "a; b; c; and two more"},
		{times(1), "once"},
		{times(2), "twice"},
		{times(13), "13 times"},
		{longWords(0.52), "about half a second"},
		{longWords(0.31), "about three tenths of a second"},
		{longWords(0.96), "about a second"},
		{longWords(2.2), "about two seconds"},
		{beatName(references.Q(3, 2)), "dotted quarter"},
		{beatName(references.Q(5, 4)), "5/4 quarters"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// TestWhereInAScore: without a request, places are bars and beats.
func TestWhereInAScore(t *testing.T) {
	s := right(t)
	s.ref.Request = nil
	for i := range s.ref.Notes {
		s.ref.Notes[i].Direction = references.NoDirection
	}
	s.hits[9].key++
	a := Assess(s.aligned(), Asked{Take: "a.mid", Against: "study.musicxml"}, DefaultSettings())
	want := "One wrong note: F for E, bar 2, beat 1.5, right hand."
	if fs := a.find(WrongNote); len(fs) != 1 || fs[0].Text != want {
		t.Errorf("findings %+v, want %q", fs, want)
	}
	if a.Heard.Kind != "" || a.Heard.Shift != nil || a.Dynamics.Verdict != "not asked" || len(a.Evenness) != 0 {
		t.Errorf("heard %+v", a.Heard)
	}
}
