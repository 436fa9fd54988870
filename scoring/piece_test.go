package scoring

import (
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/references"
)

// TestPlainPlayingOfAScore: what is played as it is written loses nothing.
func TestPlainPlayingOfAScore(t *testing.T) {
	a := plainly(eightBars(t), 0.6).scored()
	for _, f := range a.Findings {
		t.Errorf("%s: %s", f.Kind, f.Text)
	}
	if a.Marks.Overall == nil || *a.Marks.Overall != 100 {
		t.Errorf("marks %+v", a.Marks)
	}
	if len(a.Tempo.Curve) != 8 || len(a.Evenness) != 0 {
		t.Fatalf("curve %v, evenness %v", a.Tempo.Curve, a.Evenness)
	}
	for _, b := range a.Tempo.Curve[:7] {
		if b.BPM == nil || !near(*b.BPM, 100, 0.06) {
			t.Errorf("bar %s at %v, want 100", b.Bar, b.BPM)
		}
	}
}

// TestCausesOfWrongNotes: what has one cause is one finding that names it.
func TestCausesOfWrongNotes(t *testing.T) {
	ref := func() *references.Reference {
		return compose(t, fourFour, 1, "G4:1 A4:1 B4:1 F#4:1 G4:1 F#4:1 G4:2 A4:1 G#4:1 A4:1 G#4:1 F#4:1 E4:1 D4:2 G4:4", "G3:4 G3:4 E3:4 D3:4 G3:4")
	}
	all := func(name string) func(s *stage, n *references.Note) bool {
		return func(_ *stage, n *references.Note) bool { return n.Pitch.String() == name }
	}
	for _, c := range []struct {
		name  string
		which func(s *stage, n *references.Note) bool
		by    int
		kind  Kind
		says  string
		count int
	}{
		{"key signature", all("F♯4"), -1, WrongAccidental, "F natural was played for F sharp in bars 1, 2 and 4, right hand: key signature.", 1},
		{"not carried", func(s *stage, n *references.Note) bool { return n.Pitch.String() == "G♯4" && n.Beat == 4 }, -1, WrongNote, "the accidental holds to the end of the bar", 1},
		{"octave", func(_ *stage, n *references.Note) bool { return n.Hand == references.Left }, -12, WrongOctave, "five notes were an octave too low", 1},
	} {
		s := plainly(ref(), 0.6)
		s.each(func(h *hit, n *references.Note) {
			if c.which(s, n) {
				h.key += c.by
			}
		})
		a := s.scored()
		fs := a.find(c.kind)
		if len(fs) != c.count || !strings.Contains(fs[0].Text, c.says) {
			t.Errorf("%s: %+v", c.name, a.Remarks)
		}
	}
	// A hand put down one step too high: every white key is the next one.
	s := plainly(ref(), 0.6)
	next := map[string]string{"G3": "A3", "E3": "F#3", "D3": "E3"}
	s.each(func(h *hit, n *references.Note) {
		if n.Hand == references.Left {
			p := pitchOf(t, next[n.Pitch.String()])
			h.key = p.Key()
		}
	})
	if fs := s.scored().find(SlippedAlong); len(fs) != 1 || !strings.Contains(fs[0].Text, "left hand: five notes lay one step too high") {
		t.Errorf("displaced: %+v", fs)
	}
}

func TestSignatureAlters(t *testing.T) {
	for _, c := range []struct {
		fifths int
		names  string // the altered steps
		alter  int8
	}{
		{0, "", 0},
		{1, "F", 1},
		{3, "FCG", 1},
		{7, "FCGDAEB", 1},
		{-1, "B", -1},
		{-4, "BEAD", -1},
		{-7, "BEADGCF", -1},
	} {
		p := &performance{Alignment: &align.Alignment{Reference: &references.Reference{Fifths: c.fifths}}}
		for s := references.C; s <= references.B; s++ {
			want := int8(0)
			if strings.Contains(c.names, s.String()) {
				want = c.alter
			}
			if got := p.signatureAlter(references.Quarters{}, s); got != want {
				t.Errorf("%d fifths: %v altered by %d, want %d", c.fifths, s, got, want)
			}
		}
	}
}

// TestOrnamentsAreLight: an ornament or grace note left out is one light finding and its main note
// stays right.
func TestOrnamentsAreLight(t *testing.T) {
	ref := eightBars(t)
	ref.Notes[0].Ornament = references.NoOrnament
	var trilled int
	for i := range ref.Notes {
		if n := &ref.Notes[i]; n.Bar == "2" && n.Hand == references.Right && n.Beat == 1 {
			n.Ornament, n.Above, n.Below, trilled = references.Trill, 2, 1, i
		}
	}
	s := plainly(ref, 0.6)
	a := s.scored()
	if fs := a.find(OrnamentLeftOut); len(fs) != 1 || fs[0].Severity != Light || a.Counts.Wrong+a.Counts.Missing != 0 {
		t.Errorf("left out: %+v", a.Remarks)
	}
	if *a.Marks.Overall < 98 {
		t.Errorf("an ornament left out costs %d", 100-*a.Marks.Overall)
	}
	for k := range 4 {
		s.extra(trilled, 2*(k%2), s.of(trilled).on+0.1+0.1*float64(k), 0.1, 70, align.Ornament)
	}
	if a = s.scored(); *a.Marks.Overall != 100 || len(a.find(OrnamentLeftOut)) != 0 {
		t.Errorf("trilled: %+v", a.Remarks)
	}
	grace := eightBars(t)
	grace.Notes = append(grace.Notes, references.Note{Onset: references.Q(8, 1), Pitch: pitchOf(t, "C5"), Hand: references.Right, Grace: references.Acciaccatura, GraceOrder: 1})
	grace.Sort()
	seat(grace)
	s = plainly(grace, 0.6)
	for i := range grace.Notes {
		if grace.Notes[i].Grace != references.NoGrace {
			early := *s.of(i)
			s.of(i).on, s.of(i).length = early.on-0.08, 0.08
			if a = s.scored(); *a.Marks.Overall != 100 {
				t.Errorf("grace note played: %+v", a.Remarks)
			}
			s.drop(i)
		}
	}
	if a = s.scored(); len(a.find(OrnamentLeftOut)) != 1 || len(a.find(MissingNote)) != 0 {
		t.Errorf("grace note left out: %+v", a.Remarks)
	}
}

// TestStretchesAreOne: what goes on over some bars in one hand is told once.
func TestStretchesAreOne(t *testing.T) {
	s := plainly(eightBars(t), 0.6)
	s.each(func(h *hit, n *references.Note) {
		if n.Hand == references.Left && (n.Bar == "3" || n.Bar == "4" || n.Bar == "5") {
			h.on += 0.09
		}
	})
	fs := s.scored().find(HandsApart)
	if len(fs) != 1 || fs[0].Text != "Bars 3 to 5, left hand: each note comes late." {
		t.Fatalf("late hand: %+v", fs)
	}
	if !near(*fs[0].Measured, 90, 0.1) || fs[0].From.Bar != "3" || fs[0].To.Bar != "5" {
		t.Errorf("late hand: %+v", fs[0])
	}
	s = plainly(eightBars(t), 0.6)
	dropped := 0
	for i := len(s.ref.Notes) - 1; i >= 0; i-- {
		if n := &s.ref.Notes[i]; n.Hand == references.Left && n.Pitch.Step == references.A && n.Measure >= 3 && n.Measure <= 5 {
			s.drop(i)
			dropped++
		}
	}
	fs = s.scored().find(MissingNote)
	if len(fs) != 1 || dropped != 3 || fs[0].Text != "Bars 4 to 6, left hand: three notes were left out." {
		t.Errorf("notes left out: %+v", fs)
	}
}

// TestExtraKeyInAChord takes no time and is no note put right.
func TestExtraKeyInAChord(t *testing.T) {
	s := plainly(eightBars(t), 0.6)
	i := s.note(references.Right, 4)
	s.extra(i+1, 0, s.of(i).on+0.01, 0.3, 60, align.Corrected)
	a := s.scored()
	if len(a.find(ExtraNote)) != 1 || len(a.find(PutRight)) != 0 || *a.Marks.Time != 100 {
		t.Errorf("%+v", a.Remarks)
	}
}

// TestRouteIsTold: the route is in the flow, a repeat that the score allows is no going back, and a
// note sounds for the first time where its first time was left out.
func TestRouteIsTold(t *testing.T) {
	ref := eightBars(t)
	s := plainly(ref, 0.6)
	al := s.aligned()
	al.Route = []align.Stretch{{From: references.Q(0, 1), To: references.Q(16, 1)}, {From: references.Q(20, 1), To: references.Q(32, 1)}}
	al.Restarts = []align.Restart{{Played: 20, At: al.Take.Notes[20].On, From: references.Q(16, 1), To: references.Q(0, 1), Allowed: true, Fresh: true}}
	a := Assess(al, Asked{}, DefaultSettings())
	if len(a.Flow.Route) != 2 || a.Flow.Route[1] != (Skip{20, 32}) || len(a.Flow.Restarts) != 0 || len(a.find(FreshStart)) != 0 {
		t.Errorf("flow %+v", a.Flow)
	}
	for _, b := range a.Tempo.Curve {
		if b.Bar == "5" {
			t.Error("a bar off the route is in the curve")
		}
	}
	ref.Notes[10].ID, ref.Notes[0].ID, ref.Notes[10].Pass = "same", "same", 2
	al = s.aligned()
	al.Pairs = al.Pairs[1:]
	if got := newPerformance(al, DefaultSettings().Limits).passOf(10); got != 1 {
		t.Errorf("pass %d of a note whose first time was left out, want 1", got)
	}
}
