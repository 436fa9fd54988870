package scoring

import (
	"path/filepath"
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
	"evenhand/references"
)

// marked is ten bars of crotchets over semibreves with a dynamic for each two bars.
func marked(t testing.TB, ds ...references.Dynamic) *references.Reference {
	ref := crotchets(t)
	for i := range ref.Notes {
		ref.Notes[i].Dynamic = ds[min(ref.Notes[i].Measure/2, len(ds)-1)]
	}
	return ref
}

// TestContrast: neighbouring dynamics are judged by their contrast, whatever the level.
func TestContrast(t *testing.T) {
	p, f, mf := references.Piano, references.Forte, references.MezzoForte
	for _, c := range []struct {
		name  string
		asked []references.Dynamic
		shift []int // velocity of each two bars over that of the first
		want  string
	}{
		{"as marked", []references.Dynamic{p, f, p, f, p}, []int{0, 30, 0, 30, 0}, "as asked, as asked, as asked, as asked, as asked"},
		{"loud all along, with contrast", []references.Dynamic{p, f, p, f, p}, []int{0, 10, 0, 10, 0}, "as asked, as asked, as asked, as asked, as asked"},
		{"no contrast", []references.Dynamic{p, f, p, f, p}, []int{0, 2, 0, 2, 0}, "not heard, not heard, not heard, not heard, not heard"},
		{"the other way", []references.Dynamic{p, f, f, f, f}, []int{0, -8, -8, -8, -8}, "the other way, the other way"},
		{"one level is one difference", []references.Dynamic{mf, f, f, f, f}, []int{0, 5, 5, 5, 5}, "as asked, as asked"},
		{"one dynamic says nothing", []references.Dynamic{mf, mf, mf, mf, mf}, []int{0, 5, 0, 5, 0}, "not measured"},
	} {
		s := plainly(marked(t, c.asked...), 0.6)
		s.each(func(h *hit, n *references.Note) {
			h.velocity = 80 + c.shift[min(n.Measure/2, 4)] - n.Measure%2
			if n.Hand == references.Left {
				h.velocity -= 30
			}
		})
		a := s.scored()
		var got []string
		for _, q := range a.Dynamics.Passages {
			got = append(got, q.Verdict)
		}
		if g := strings.Join(got, ", "); g != c.want {
			t.Errorf("%s: %s, want %s (%+v)", c.name, g, c.want, a.Dynamics.Passages)
		}
		if faults := len(a.find(NoContrast)) > 0; faults != strings.Contains(c.want, "heard") && faults != strings.Contains(c.want, "other") {
			t.Errorf("%s: %v", c.name, a.Remarks)
		}
	}
}

// TestHairpins are judged by the sign and the size of the slope: from one end to the other the
// velocity rises by the number that is played, and 4.5 are enough.
func TestHairpins(t *testing.T) {
	for _, c := range []struct {
		kind    references.MarkKind
		rise    float64
		verdict string
	}{
		{references.Crescendo, 24, asAsked},
		{references.Crescendo, 0, notHeard},
		{references.Crescendo, -16, otherWay},
		{references.Diminuendo, -16, asAsked},
		{references.Diminuendo, 16, otherWay},
	} {
		ref := crotchets(t)
		ref.Marks = []references.Mark{{Kind: c.kind, From: references.Q(8, 1), To: references.Q(16, 1), Hand: references.Both}}
		s := plainly(ref, 0.6)
		s.each(func(h *hit, n *references.Note) {
			q := min(max(n.Onset.Float()-8, 0), 8)
			h.velocity = int(60 + c.rise*q/8)
			if n.Hand == references.Left {
				h.velocity -= 30
			}
		})
		a := s.scored()
		h := a.Dynamics.Hairpins
		if len(h) != 1 || h[0].Rise == nil || !near(*h[0].Rise, c.rise, 0.7) || h[0].Verdict != c.verdict {
			t.Errorf("%v by %v: %+v %v", c.kind, c.rise, h, *h[0].Rise)
		}
		if (len(a.find(NoSwell)) == 0) != (c.verdict == asAsked) {
			t.Errorf("%v by %v: %v", c.kind, c.rise, a.Remarks)
		}
	}
}

// TestAllOnOneLevel: two hands alike in loudness throughout are flat; one hand with no marks is asked
// for nothing.
func TestAllOnOneLevel(t *testing.T) {
	s := plainly(crotchets(t), 0.6)
	s.each(func(h *hit, n *references.Note) { h.velocity = 60 + int(n.Onset.Float())%4 })
	a := s.scored()
	if fs := a.find(AllOneLevel); len(fs) != 1 || *a.Dynamics.Range > 3 || !near(*a.Dynamics.Melody, 0, 0.1) {
		t.Errorf("range %v, %v", *a.Dynamics.Range, a.Remarks)
	}
	one := compose(t, fourFour, 0, strings.Repeat("C5:1 D5:1 E5:1 D5:1 ", 6), "")
	s = plainly(one, 0.6)
	s.each(func(h *hit, n *references.Note) { h.velocity = 60 + int(n.Onset.Float())%4 })
	if a = s.scored(); len(a.Findings) > 0 {
		t.Errorf("one hand: %v", a.Remarks)
	}
	s = plainly(crotchets(t), 0.6)
	s.each(func(h *hit, n *references.Note) { h.velocity = 70 })
	if a = s.scored(); a.Dynamics != nil || a.Marks.Sound != nil || a.Marks.Overall == nil {
		t.Errorf("one velocity: %+v", a.Marks)
	}
}

// TestMarkedTouch: what is marked is judged where it is marked.
func TestMarkedTouch(t *testing.T) {
	ref := func() *references.Reference {
		ref := crotchets(t)
		for i := range ref.Notes {
			if n := &ref.Notes[i]; n.Hand == references.Right {
				n.Touch = references.Legato
				if n.Measure >= 4 {
					n.Touch = references.Staccato
				}
			}
		}
		return ref
	}
	a := plainly(ref(), 0.6).scored()
	if len(a.Findings) > 0 {
		t.Errorf("as marked: %v", a.Remarks)
	}
	s := plainly(ref(), 0.6)
	s.each(func(h *hit, n *references.Note) {
		if n.Touch == references.Staccato {
			h.length = 0.6
		}
	})
	a = s.scored()
	if fs := a.find(OtherTouch); len(fs) != 1 || !strings.HasPrefix(fs[0].Text, "Bars 5 to 9, right hand: staccato is marked") {
		t.Errorf("dots joined: %v", a.Remarks)
	}
	s = plainly(ref(), 0.6)
	s.each(func(h *hit, n *references.Note) {
		if n.Touch == references.Legato {
			h.length = 0.4
		}
	})
	if fs := s.scored().find(OtherTouch); len(fs) != 1 || !strings.HasPrefix(fs[0].Text, "Bars 1 to 4, right hand: legato is marked") {
		t.Errorf("slurs broken: %+v", fs)
	}
}

// TestLengths: long notes let go early and rests filled are told; what the pedal holds is not.
func TestLengths(t *testing.T) {
	long := func(seconds float64) *stage {
		return plainly(crotchets(t), 0.6).each(func(h *hit, n *references.Note) {
			if n.Hand == references.Left && n.Measure == 2 {
				h.length = seconds
			}
		})
	}
	for held, want := range map[float64]int{2.4: 0, 1.5: 0, 1.3: 1, 0.4: 1} {
		a := long(held).scored()
		if fs := a.find(WrongLength); len(fs) != want || want > 0 && !strings.HasPrefix(fs[0].Text, "Bar 3, left hand: one note let go") {
			t.Errorf("%v s of 2.4: %v", held, a.Remarks)
		}
	}
	s := long(0.4)
	s.pedals = []capture.Pedal{{Controller: capture.Sustain, Value: 127, At: micro(0.5)}}
	if fs := s.scored().find(WrongLength); len(fs) != 0 {
		t.Errorf("held by the pedal: %+v", fs)
	}
	rests := compose(t, fourFour, 0, strings.Repeat("C5:1 D5:1 E5:1 r:1 ", 5)+"C5:4", strings.Repeat("C3:4 ", 6))
	for held, want := range map[float64]int{0.6: 0, 0.85: 0, 1.1: 1} {
		s := plainly(rests, 0.6)
		s.each(func(h *hit, n *references.Note) {
			if n.Pitch.Step == references.E && n.Measure == 1 {
				h.length = held
			}
		})
		if fs := s.scored().find(WrongLength); len(fs) != want {
			t.Errorf("a crotchet rest of 0.6 s filled up to %v s: %+v", held-0.6, fs)
		}
	}
}

// TestMarkedPedal: only marked pedal is judged: used, and changed with the harmony.
func TestMarkedPedal(t *testing.T) {
	ref := func() *references.Reference {
		ref := crotchets(t)
		for k := int64(0); k < 8; k++ {
			ref.Pedals = append(ref.Pedals, references.Pedalling{From: references.Q(4*k, 1), To: references.Q(4*k+4, 1)})
		}
		return ref
	}
	foot := func(s *stage, up, down float64, bars ...int) *stage {
		for _, k := range bars {
			at := 1 + 2.4*float64(k)
			s.pedals = append(s.pedals,
				capture.Pedal{Controller: capture.Sustain, Value: 0, At: micro(at + up)},
				capture.Pedal{Controller: capture.Sustain, Value: 127, At: micro(at + down)})
		}
		return s
	}
	every := []int{0, 1, 2, 3, 4, 5, 6, 7, 8}
	for _, c := range []struct {
		name string
		s    *stage
		says string
	}{
		{"changed a little after", foot(plainly(ref(), 0.6), 0.02, 0.15, every...), ""},
		{"held across", foot(plainly(ref(), 0.6), 0.02, 0.15, 0, 1, 2, 3, 5, 6, 7, 8), "Bar 5"},
		{"none at all", plainly(ref(), 0.6), "Pedal is marked"},
		{"only in the first bar", foot(plainly(ref(), 0.6), 0.02, 0.15, 0), "held across its change"},
	} {
		fs := c.s.scored().find(PedalMarked)
		if (c.says == "") != (len(fs) == 0) || len(fs) > 0 && !strings.Contains(fs[0].Text, c.says) {
			t.Errorf("%s: %+v", c.name, fs)
		}
	}
	s := foot(plainly(ref(), 0.6), 0.02, 0.15, 0)
	s.pedals = append(s.pedals, capture.Pedal{Controller: capture.Sustain, Value: 0, At: micro(3)})
	if fs := s.scored().find(PedalMarked); len(fs) != 1 || !strings.Contains(fs[0].Text, "the marked pedal was not used") {
		t.Errorf("left up: %+v", fs)
	}
}

// TestPedalsAreLearnt: an on and off pedal, one that goes half way, and one wired in reverse all tell
// the same.
func TestPedalsAreLearnt(t *testing.T) {
	for _, c := range []struct {
		name    string
		values  []uint8 // one a second from the first on
		pressed float64 // a time at which the foot was down
	}{
		{"on and off", []uint8{127, 0, 127, 0}, 1.5},
		{"continuous", []uint8{50, 127, 90, 20, 0, 80, 127, 30, 0}, 3.5},
		{"half way", []uint8{40, 0, 48, 0}, 1.5},
		{"reversed", []uint8{0, 127, 0, 127}, 1.5},
	} {
		s := plainly(crotchets(t), 0.6)
		for k, v := range c.values {
			s.pedals = append(s.pedals, capture.Pedal{Controller: capture.Sustain, Value: v, At: micro(1 + float64(k))})
		}
		down := newPerformance(s.aligned(), DefaultSettings().Limits).pedalDown()
		end := 1 + float64(len(c.values))
		if down(0.5) || !down(c.pressed) || down(end) {
			t.Errorf("%s: before %v, pressed %v, at the end %v", c.name, down(0.5), down(c.pressed), down(end))
		}
	}
}

// TestTiedNoteStruckAgain: a note tied over the bar line and struck there again is told as that.
func TestTiedNoteStruckAgain(t *testing.T) {
	ref := compose(t, fourFour, 0, "C5:1 D5:1 E5:1 F5:3 E5:1 D5:1 C5:1 D5:1 E5:1 F5:1 C5:4 C5:4", strings.Repeat("C3:4 ", 5))
	var tied int
	for i := range ref.Notes {
		if ref.Notes[i].Length == references.Q(3, 1) {
			tied = i
		}
	}
	for at, want := range map[float64]string{0.6: "One tied note was struck again: F, bar 1, beat 4, right hand.", 1.1: "One note was struck twice: F, bar 1, beat 4, right hand."} {
		s := plainly(ref, 0.6)
		s.extra(tied, 0, s.of(tied).on+at, 0.4, 70, align.Repeat)
		s.of(s.note(references.Left, 1)).on += 0.07 // not together with it
		if fs := s.scored().find(StruckAgain); len(fs) != 1 || fs[0].Text != want {
			t.Errorf("struck %v s later: %+v", at, fs)
		}
	}
}

// TestOwnPieces: the built-in pieces, played as a machine would, have nothing but what a machine leaves
// out: written changes of tempo, ornaments, pedal, and another tempo than the printed one.
func TestOwnPieces(t *testing.T) {
	pieces, err := filepath.Glob(filepath.Join(outside.Root(), "references", "repertoire", "*.musicxml"))
	if err != nil || len(pieces) == 0 {
		t.Fatalf("no pieces: %v", err)
	}
	left := map[Kind]bool{WrittenChange: true, OrnamentLeftOut: true, PedalMarked: true, OtherTempo: true}
	for _, path := range pieces {
		a := plainly(readScore(t, path), 0.6).scored()
		for _, f := range a.Findings {
			if !left[f.Kind] {
				t.Errorf("%s: %s", filepath.Base(path), f.Text)
			}
		}
		if *a.Marks.Notes < 98 || *a.Marks.Overall < 90 {
			t.Errorf("%s: marks %+v", filepath.Base(path), a.Marks)
		}
	}
}
