package scoring

import (
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/references"
)

// named lists the expected notes of a hand that have a name.
func (s *stage) named(n references.Name, h references.Hand) []int {
	var out []int
	for i := range s.ref.Notes {
		if s.ref.Notes[i].Pitch.Name == n && s.ref.Notes[i].Hand.Has(h) {
			out = append(out, i)
		}
	}
	return out
}

// TestOneWrongNote: the sentence is the pattern for all remarks.
func TestOneWrongNote(t *testing.T) {
	s := hands(t, func(r *references.Request) { r.Dynamic = references.Each(references.Piano) })
	s.each(velocity(50))
	i := s.note(references.Left, 25) // going down: E flat, second octave
	s.of(i).key++
	a := s.judged()
	want := "One wrong note: E natural for E flat, left hand, going down, second octave."
	if len(a.Findings) != 1 || a.Findings[0].Text != want || !strings.HasPrefix(a.Remarks[1], want) {
		t.Errorf("findings %+v\nremarks %q", a.Findings, a.Remarks)
	}
	if c := a.Counts; c != (Counts{Expected: 58, Played: 58, Correct: 57, Wrong: 1}) {
		t.Errorf("counts %+v", c)
	}
	if *a.Marks.Notes != 97 || *a.Marks.Time != 100 {
		t.Errorf("notes %d, time %d", *a.Marks.Notes, *a.Marks.Time)
	}
}

func TestWrongNotesByCause(t *testing.T) {
	eFlat := references.Name{Step: references.E, Alter: -1}
	for _, c := range []struct {
		name   string
		change func(s *stage)
		kind   Kind
		notes  int
		text   string
	}{
		{"an accidental missed each time", func(s *stage) {
			for _, i := range append(s.named(eFlat, references.Right), s.named(eFlat, references.Left)...) {
				s.of(i).key++
			}
		}, WrongAccidental, 8, "E natural was played for E flat eight times: left hand going up, right hand going up, left hand going down and right hand going down."},
		{"a hand in the wrong octave for a while", func(s *stage) {
			for k := range 6 {
				s.of(s.note(references.Left, 10+k)).key -= 12
			}
		}, WrongOctave, 6, "Six notes were an octave too low: left hand going up and left hand going down."},
		{"a hand one note ahead", func(s *stage) {
			for k := range 5 {
				s.of(s.note(references.Left, 3+k)).key = s.ref.Notes[s.note(references.Left, 4+k)].Key()
			}
		}, SlippedAlong, 5, "One hand was one note ahead for five notes, from E flat, left hand, going up, first octave."},
		{"a hand one note behind", func(s *stage) {
			for k := range 4 {
				s.of(s.note(references.Right, 17+k)).key = s.ref.Notes[s.note(references.Right, 16+k)].Key()
			}
		}, SlippedAlong, 4, "One hand was one note behind for four notes, from F, right hand, going down, first octave."},
		{"three ahead are three wrong notes", func(s *stage) {
			for k := range 3 {
				s.of(s.note(references.Left, 3+k)).key = s.ref.Notes[s.note(references.Left, 4+k)].Key()
			}
		}, WrongNote, 1, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := hands(t, nil)
			c.change(s)
			a := s.judged()
			fs := a.find(c.kind)
			if len(fs) == 0 || c.text != "" && (len(a.Findings) != 1 || fs[0].Text != c.text) {
				t.Fatalf("findings %+v", a.Findings)
			}
			if len(fs[0].Notes) != c.notes {
				t.Errorf("%d notes, want %d", len(fs[0].Notes), c.notes)
			}
		})
	}
}

// TestSpelling: a wrong key is named as a teacher would.
func TestSpelling(t *testing.T) {
	key := func(step references.Step, alter int8, form references.Form) references.Request {
		return scale(references.Name{Step: step, Alter: alter}, form, references.RightAlone)
	}
	for _, c := range []struct {
		r    references.Request
		note int
		by   int
		want string
	}{
		{key(references.B, -1, references.Major), 3, +1, "E natural for E flat"},
		{key(references.B, -1, references.Major), 3, -1, "D for E flat"},
		{key(references.G, 0, references.Major), 6, -1, "F natural for F sharp"},
		{key(references.C, 0, references.Major), 3, +1, "F sharp for F"},
		{key(references.C, 0, references.Major), 2, -1, "E flat for E"},
		{key(references.A, 0, references.HarmonicMinor), 6, -1, "G natural for G sharp"},
		{key(references.F, 1, references.Major), 6, -1, "E natural for E sharp"},
		{key(references.C, 0, references.Major), 2, 12, "E in another octave for E"},
		{key(references.C, 0, references.Major), 0, 6, "F sharp for C"},
		{key(references.F, 0, references.Major), 0, -4, "D flat for F"},
	} {
		s := even(written(t, c.r), 0.25)
		s.hits[c.note].key += c.by
		fs := s.judged().find(WrongNote)
		if len(fs) != 1 || !strings.Contains(fs[0].Text, ": "+c.want+",") {
			t.Errorf("%s, note %d %+d: %+v", c.r.Describe(), c.note, c.by, fs)
		}
	}
}

// extra adds a key near expected note i.
func (s *stage) extra(i, by int, on, length float64, v int, why align.Why) *stage {
	s.hits = append(s.hits, hit{
		expected: -1, near: i, key: s.ref.Notes[i].Key() + by, velocity: v, on: on, length: length, why: why,
	})
	return s
}

func TestSmallFaults(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *stage)
		kind   Kind
		text   string
		time   int
		charge float64
	}{
		{"brushed", func(s *stage) {
			s.extra(7, 1, s.hits[7].on+0.01, 0.05, 30, align.Slip)
		}, BrushedKey, "One neighbouring key was brushed: C sharp beside C, right hand, going up, first octave.", 100, 0.25},
		{"put right", func(s *stage) {
			at := s.hits[3].on
			s.later(at, 0.3)
			s.extra(3, 1, at, 0.2, 60, align.Corrected)
		}, PutRight, "One wrong note was put right at once: F sharp before F, right hand, going up, first octave.", 100, 0.5},
		{"struck twice", func(s *stage) {
			s.extra(3, 0, s.hits[3].on+0.1, 0.05, 60, align.Repeat)
		}, StruckAgain, "One note was struck twice: F, right hand, going up, first octave.", 100, 0.25},
		{"extra", func(s *stage) {
			s.extra(3, 6, s.hits[3].on+0.1, 0.05, 60, align.Other)
		}, ExtraNote, "One extra note: B near F, right hand, going up, first octave.", 100, 0.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := right(t)
			c.change(s)
			a := s.judged()
			fs := a.find(c.kind)
			if len(fs) != 1 || fs[0].Text != c.text {
				t.Fatalf("findings %+v", a.Findings)
			}
			if a.Counts.Extra != 1 || a.Counts.Correct != 29 || a.Counts.Played != 30 {
				t.Errorf("counts %+v", a.Counts)
			}
			if *a.Marks.Time != c.time || len(a.Flow.Hesitations) != 0 {
				t.Errorf("time %d, hesitations %+v", *a.Marks.Time, a.Flow.Hesitations)
			}
			// the published formula, 100 exp(-2.4 charge / (29 + 20))
			if want := 2.4 * c.charge / 49; !near(fs[0].loss, want, 1e-9) {
				t.Errorf("loss %v, want %v", fs[0].loss, want)
			}
		})
	}
}

// TestBeforeTheStart: notes tried before the start are listed and are in no count.
func TestBeforeTheStart(t *testing.T) {
	s := right(t)
	s.hits = append(s.hits, hit{expected: -1, near: -1, key: 60, velocity: 20, on: 0.01, length: 0.1, why: align.Before})
	a := s.judged()
	if a.Counts.Played != 29 || a.Counts.Extra != 0 || len(a.Findings) != 0 || *a.Marks.Overall != 100 {
		t.Errorf("counts %+v, findings %+v", a.Counts, a.Findings)
	}
	if n := a.Notes[0]; n.Verdict != "extra" || n.Why != "before" || n.Near != nil {
		t.Errorf("first line %+v", n)
	}
}

func TestRestarts(t *testing.T) {
	// again plays the first n notes, stops, and plays the whole from the beginning.
	again := func(ns ...int) *stage {
		s := right(t)
		for _, n := range ns {
			clean := right(t)
			s.later(0, float64(n)*0.1875+1.5)
			for k := range n {
				h := clean.hits[k]
				h.expected, h.near, h.why = -1, k, align.Again
				s.hits = append(s.hits, h)
			}
			from := clean.ref.Notes[n-1].Onset
			s.restarts = append([]align.Restart{{At: micro(1 + float64(n)*0.1875 + 1.5), From: from, Fresh: true}}, s.restarts...)
		}
		return s
	}
	for _, c := range []struct {
		name string
		ns   []int
		loss float64
	}{
		{"in the first octave: free", []int{5}, 0},
		{"later: a little", []int{12}, 0.04},
		{"twice: more", []int{12, 20}, 0.12},
		{"a free one and one later", []int{5, 20}, 0.04},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := again(c.ns...).judged()
			if len(a.Flow.Restarts) != len(c.ns) || len(a.find(FreshStart)) != len(c.ns) {
				t.Fatalf("restarts %+v", a.Flow.Restarts)
			}
			var loss float64
			for _, f := range a.Findings {
				loss += f.loss
			}
			if !near(loss, c.loss, 1e-9) || *a.Marks.Notes != 100 {
				t.Errorf("loss %v, want %v; notes %d; %+v", loss, c.loss, *a.Marks.Notes, a.Findings)
			}
			if a.Tempo.BPM != 160 || len(a.Flow.Hesitations) != 0 {
				t.Errorf("tempo %+v, hesitations %+v", a.Tempo, a.Flow.Hesitations)
			}
		})
	}
}

// TestOnceMore: a second go after the end is told and costs nothing.
func TestOnceMore(t *testing.T) {
	s := right(t)
	end := s.hits[28].on + 3
	for k := range 5 {
		s.extra(k, 0, end+0.2*float64(k), 0.2, 60, align.Repeat)
	}
	s.restarts = []align.Restart{{At: micro(end), From: references.Q(14, 1), Fresh: true}}
	a := s.judged()
	if len(a.Findings) != 1 || a.Findings[0].Kind != OnceMore || *a.Marks.Overall != 100 || a.Counts.Extra != 5 {
		t.Errorf("marks %+v, findings %+v", a.Marks, a.Findings)
	}
}

// TestHandAhead: the left hand leaves a note out, is a note ahead for five and then waits. The note
// left out is charged, and nothing else.
func TestHandAhead(t *testing.T) {
	s := hands(t, nil)
	for k := 9; k < 14; k++ {
		s.of(s.note(references.Left, k)).on -= 0.25
	}
	s.drop(s.note(references.Left, 8))
	a := s.judged()
	fs := a.find(SlippedAlong)
	if len(fs) != 1 || !strings.Contains(fs[0].Text, "ahead of the other for five notes") {
		t.Fatalf("findings %+v", a.Findings)
	}
	if *a.Marks.Time != 100 || *a.Marks.Notes != 97 || a.Together.Mean != 0 {
		t.Errorf("marks %+v, together %+v", a.Marks, a.Together)
	}
}

// TestWentBack: going back three notes is one thing, and its notes are not charged one by one.
func TestWentBack(t *testing.T) {
	s := right(t)
	at := s.hits[10].on
	s.later(at, 3*0.1875)
	for k := range 3 { // notes 7, 8, 9 are played, and then played again
		h := right(t).hits[7+k]
		h.expected, h.near, h.why = -1, 7+k, align.Repeat
		s.hits = append(s.hits, h)
		s.of(7 + k).on += 3 * 0.1875
	}
	s.restarts = []align.Restart{{At: micro(at), From: s.ref.Notes[9].Onset, To: s.ref.Notes[7].Onset}}
	a := s.judged()
	if len(a.Flow.Repeats) != 1 || len(a.Findings) != 1 || a.Findings[0].Kind != WentBack {
		t.Fatalf("flow %+v, findings %+v", a.Flow, a.Findings)
	}
	if j := a.Flow.Repeats[0]; j.FromOnset != 4.5 || j.ToOnset != 3.5 {
		t.Errorf("repeat %+v", j)
	}
	if *a.Marks.Notes != 100 || *a.Marks.Time != 97 || a.Counts.Extra != 3 {
		t.Errorf("marks %+v, counts %+v", a.Marks, a.Counts)
	}
}

func TestLeftOut(t *testing.T) {
	s := hands(t, nil)
	for _, i := range s.notesFrom(10, 14) {
		s.drop(i)
	}
	a := s.judged()
	if len(a.Flow.Skips) != 1 || a.Flow.Skips[0] != (Skip{5, 6.5}) || len(a.find(PassageLeftOut)) != 1 || len(a.Findings) != 1 {
		t.Errorf("skips %+v, findings %+v", a.Flow.Skips, a.Findings)
	}
	if a.Counts.Missing != 8 {
		t.Errorf("counts %+v", a.Counts)
	}

	s = hands(t, nil)
	for _, i := range s.notesFrom(20, 29) {
		s.drop(i)
	}
	a = s.judged()
	if fs := a.find(PassageLeftOut); len(fs) != 1 || !strings.HasPrefix(fs[0].Text, "It stopped before the end: from C on") {
		t.Errorf("findings %+v", fs)
	}
	if *a.Marks.Overall > 75 {
		t.Errorf("a third left out has %d", *a.Marks.Overall)
	}
}

// TestJumpedOver: two beats that are jumped over are a passage left out, also where a note strays into it; two
// that pass in silence are notes left out.
func TestJumpedOver(t *testing.T) {
	const spq = 0.7
	play := func(leave func(onset float64, n *references.Note) bool, jumped float64) *Assessment {
		ref := compose(t, fourFour, 0, "C5:1 D5:1 E5:1 F5:1 G5:1 F5:1 E5:1 D5:1 C5:1 D5:1 E5:1 F5:1 C5:4", "C3:1 D3:1 E3:1 F3:1 G3:1 F3:1 E3:1 D3:1 C3:1 D3:1 E3:1 F3:1 C3:4")
		s := plainly(ref, spq)
		for i := range ref.Notes {
			if leave(ref.Notes[i].Onset.Float(), &ref.Notes[i]) {
				s.drop(i)
			}
		}
		return s.later(1+5*spq, -jumped*spq).scored()
	}
	gone := func(q float64, _ *references.Note) bool { return q >= 3 && q < 5 }
	if a := play(gone, 2); len(a.Flow.Skips) != 1 || a.Flow.Skips[0] != (Skip{3, 4}) || len(a.find(MissingNote)) != 0 || len(a.find(PassageLeftOut)) != 1 {
		t.Errorf("jumped over: skips %+v, %v", a.Flow.Skips, a.Remarks)
	}
	if a := play(gone, 0); len(a.Flow.Skips) != 0 || len(a.find(PassageLeftOut)) != 0 {
		t.Errorf("silent while the beat went on: skips %+v, %v", a.Flow.Skips, a.Remarks)
	}
	left := func(q float64, n *references.Note) bool { return gone(q, n) && n.Hand == references.Left }
	if a := play(left, 0); len(a.Flow.Skips) != 0 {
		t.Errorf("one hand silent: skips %+v, %v", a.Flow.Skips, a.Remarks)
	}
}

// notesFrom are the expected notes of events a up to b.
func (s *stage) notesFrom(a, b int) []int {
	e := s.ref.Events()
	var out []int
	for i := e[a]; i < e[b]; i++ {
		out = append(out, i)
	}
	return out
}

// TestOptional: a note that may be left out, and is, is nowhere.
func TestOptional(t *testing.T) {
	s := right(t)
	s.ref.Notes[28].Optional = true
	al := s.aligned()
	al.Take.Notes = al.Take.Notes[:28]
	al.Pairs = al.Pairs[:28]
	r := *s.ref.Request
	a := Assess(al, Asked{Request: &r}, DefaultSettings())
	if a.Counts != (Counts{Expected: 28, Played: 28, Correct: 28}) || *a.Marks.Overall != 100 || len(a.Findings) != 0 {
		t.Errorf("counts %+v, findings %+v", a.Counts, a.Findings)
	}
}
