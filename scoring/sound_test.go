package scoring

import (
	"math/rand/v2"
	"strings"
	"testing"

	"evenhand/capture"
	"evenhand/references"
)

// hands plays B flat major with both hands at a quarter of a second a note.
func hands(t testing.TB, change func(r *references.Request)) *stage {
	r := scale(bFlatMajor, references.Major, references.Together)
	if change != nil {
		change(&r)
	}
	return even(written(t, r), 0.25)
}

func velocity(v int) func(h *hit, n *references.Note) {
	return func(h *hit, n *references.Note) { h.velocity += v - 64 }
}

// TestLevelsOfLoudness: velocities of the step-of-16 convention give their own level, and half-way
// between two the nearer.
func TestLevelsOfLoudness(t *testing.T) {
	s := newLoudnessScale(nil)
	for _, c := range []struct {
		v    float64
		want string
	}{
		{16, "ppp"},
		{33, "pp"},
		{48, "p"},
		{49, "p"},
		{64, "mp"},
		{80, "mf"},
		{96, "f"},
		{112, "ff"},
		{127, "fff"},
		{1, "ppp"},
		{56, "p"},
		{57, "mp"},
		{71, "mp"},
		{73, "mf"},
		{119, "ff"},
		{120, "fff"},
	} {
		if got := s.level(c.v).String(); got != c.want {
			t.Errorf("velocity %v is %s, want %s", c.v, got, c.want)
		}
	}
}

func TestCalibratedLoudness(t *testing.T) {
	// This piano is stiff: pp comes at 20 and ff at 70, so the levels between lie 10 apart.
	s := newLoudnessScale(&Calibration{Levels: []LevelVelocity{{"ff", 70}, {"pp", 20}}})
	for _, c := range []struct {
		v    float64
		want string
	}{{20, "pp"}, {30, "p"}, {40, "mp"}, {50, "mf"}, {60, "f"}, {70, "ff"}, {85, "fff"}, {3, "ppp"}} {
		if got := s.level(c.v).String(); got != c.want {
			t.Errorf("velocity %v is %s, want %s", c.v, got, c.want)
		}
	}
	for name, c := range map[string]*Calibration{
		"one level": {Levels: []LevelVelocity{{"pp", 20}}}, "falling": {Levels: []LevelVelocity{{"pp", 60}, {"ff", 20}}},
		"no level": {Levels: []LevelVelocity{{"loud", 60}, {"ff", 80}}},
	} {
		if newLoudnessScale(c) != levelSteps {
			t.Errorf("%s: taken for a calibration", name)
		}
	}
}

func TestLoudnessVerdict(t *testing.T) {
	for _, c := range []struct {
		asked   references.Dynamic
		v       int
		heard   string
		verdict string
	}{
		{references.Piano, 48, "p", "as asked"},
		{references.Piano, 64, "mp", "as asked"}, // a neighbour is no fault
		{references.Piano, 33, "pp", "as asked"},
		{references.Piano, 80, "mf", "too loud"},
		{references.Piano, 96, "f", "too loud"},
		{references.Forte, 80, "mf", "as asked"},
		{references.Forte, 64, "mp", "too soft"},
		{references.MezzoForte, 64, "mp", "as asked"},
		{references.Pianissimo, 96, "f", "too loud"},
		{references.NoDynamic, 96, "f", "not asked"},
	} {
		s := hands(t, func(r *references.Request) { r.Dynamic = references.Each(c.asked) }).each(velocity(c.v))
		a := s.judged()
		if d := a.Dynamics; d.Heard != c.heard || d.Verdict != c.verdict || d.MedianVelocity != float64(c.v) {
			t.Errorf("%s asked, %d played: %+v", c.asked, c.v, d)
		}
		off := c.verdict == "too loud" || c.verdict == "too soft"
		if got := len(a.find(OtherLoudness)) == 1; got != off || (*a.Marks.Sound < 100) != off {
			t.Errorf("%s asked, %d played: findings %+v, sound %d", c.asked, c.v, a.Findings, *a.Marks.Sound)
		}
	}
}

func TestLoudnessOfEachHand(t *testing.T) {
	s := hands(t, func(r *references.Request) {
		r.Dynamic = references.PerHand[references.Dynamic]{Right: references.Forte, Left: references.Piano}
	})
	s.each(func(h *hit, n *references.Note) {
		if n.Hand == references.Right {
			h.velocity += 32
		}
	})
	a := s.judged()
	d := a.Dynamics
	if d.Asked != nil || d.Verdict != "as asked" || *d.Balance != -32 || len(d.Hands) != 2 || *d.Hands[1].Asked != "p" {
		t.Errorf("f and p as asked: %+v", d)
	}
	if len(a.find(Balance)) != 0 {
		t.Error("the difference that was asked is called unbalanced")
	}
	s.each(func(h *hit, n *references.Note) {
		if n.Hand == references.Left {
			h.velocity += 40
		}
	})
	a = s.judged()
	if fs := a.find(OtherLoudness); len(fs) != 1 || !strings.HasPrefix(fs[0].Text, "Left hand was too loud") {
		t.Errorf("findings %+v", fs)
	}
}

func TestBalance(t *testing.T) {
	s := hands(t, nil).each(func(h *hit, n *references.Note) {
		if n.Hand == references.Left {
			h.velocity += 20
		}
	})
	a := s.judged()
	if *a.Dynamics.Balance != 20 || len(a.find(Balance)) != 1 {
		t.Errorf("left 20 louder: %+v, findings %+v", a.Dynamics, a.Findings)
	}
	if b := right(t).judged().Dynamics.Balance; b != nil {
		t.Errorf("balance of one hand %v", *b)
	}
}

// TestSpread: the SD that is put in comes out, with the rise to the top and a light stress on every
// fourth note or not.
func TestSpread(t *testing.T) {
	for _, c := range []struct {
		name         string
		rise, stress int
		sd           float64
	}{
		{"even", 0, 0, 5},
		{"shaped", 1, 0, 5},
		{"stressed", 0, 12, 3},
		{"shaped and stressed", 1, 12, 3},
		{"wild", 0, 0, 15},
	} {
		rng := rand.New(rand.NewPCG(3, 9))
		var sum float64
		const runs = 60
		for range runs {
			s := hands(t, nil)
			s.each(func(h *hit, n *references.Note) {
				k := int(n.Onset.Float() * 2)
				up := min(k, 28-k)
				h.velocity = 60 + c.rise*up + int(100.5+c.sd*rng.NormFloat64()) - 100
				if k%4 == 0 {
					h.velocity += c.stress
				}
			})
			v := newPerformance(s.aligned(), DefaultSettings().Limits).volume()
			sum += v.spread * v.spread
		}
		// rounding to whole velocities adds 1/12 of a square unit
		if got, want := sum/runs, c.sd*c.sd+1.0/12; !near(got/want, 1, 0.08) {
			t.Errorf("%s: variance %.2f, put in %.2f", c.name, got, want)
		}
	}
}

func TestUnevenLoudness(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].velocity += []int{0, 14, -17, 9, -12}[(k*k*7)%5]
	}
	if fs := s.judged().find(UnevenLoudness); len(fs) != 1 || fs[0].Severity != Fault {
		t.Errorf("findings %+v", fs)
	}
}

func TestOneVelocity(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].velocity = 64 // what a keyboard without velocity sends (MIDI 1.0)
	}
	a := s.judged()
	if a.Dynamics != nil || a.Marks.Sound != nil || *a.Marks.Overall != 100 || len(a.find(OneVelocity)) != 1 {
		t.Errorf("dynamics %+v, marks %+v", a.Dynamics, a.Marks)
	}
}

func TestSwell(t *testing.T) {
	for _, c := range []struct {
		name    string
		step    int
		shape   references.Shape
		verdict string
	}{
		{"crescendo up", 2, references.SwellUp, "as asked"},
		{"none", 0, references.SwellUp, "not heard"},
		{"the other way", -2, references.SwellUp, "not heard"},
		{"diminuendo up", -2, references.EbbUp, "as asked"},
	} {
		s := hands(t, func(r *references.Request) { r.Shape = c.shape })
		s.each(func(h *hit, n *references.Note) {
			k := int(n.Onset.Float() * 2)
			h.velocity = 64 + c.step*min(k, 28-k)
			if c.step == 0 {
				h.velocity += k % 2
			}
		})
		a := s.judged()
		w := a.Dynamics.Swell
		if w.Verdict != c.verdict || len(a.find(NoSwell)) == 1 != (c.verdict == "not heard") {
			t.Errorf("%s: %+v", c.name, w)
		}
		if c.step != 0 && (!near(*w.Out, float64(28*c.step/2), 2.1) || !near(*w.Back, -float64(28*c.step/2), 2.1)) {
			t.Errorf("%s: out %.1f and back %.1f, 28 was put in", c.name, *w.Out, *w.Back)
		}
	}
}

func TestTogether(t *testing.T) {
	for _, c := range []struct {
		name       string
		left       func(k int) float64 // seconds late, by the place of the note
		mean, sd   float64
		fault      bool
		text       string
		contrary   bool
		notesApart int
	}{
		{"exact", func(int) float64 { return 0 }, 0, 0, false, "", false, 29},
		{"6 ms late", func(int) float64 { return 0.006 }, 6, 0, false, "", false, 29},
		{"in turn", func(k int) float64 { return 0.010 * float64(k%2*2-1) }, -0.34, 10.17, false, "", false, 29},
		{"late", func(int) float64 { return 0.050 }, 50, 0, true, "the left hand's notes came after", false, 29},
		{"early", func(int) float64 { return -0.080 }, -80, 0, true, "clearly apart: the right hand's notes came after", false, 29},
		{"unisons say nothing", func(int) float64 { return 0.006 }, 6, 0, false, "", true, 27},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := hands(t, func(r *references.Request) {
				if c.contrary {
					r.Motion = references.Contrary
				}
			})
			s.each(func(h *hit, n *references.Note) {
				if n.Hand == references.Left {
					h.on += c.left(int(n.Onset.Float() * 2))
				}
			})
			a := s.judged()
			g := a.Together
			if g.Notes != c.notesApart || !near(g.Mean, c.mean, 0.06) || !near(*g.SD, c.sd, 0.06) {
				t.Errorf("together %d, %.2f, %.2f", g.Notes, g.Mean, *g.SD)
			}
			fs := a.find(HandsApart)
			if (len(fs) == 1 && fs[0].Severity == Fault) != c.fault || c.fault && !strings.Contains(fs[0].Text, c.text) {
				t.Errorf("findings %+v", fs)
			}
		})
	}
	if g := right(t).judged().Together; g != nil {
		t.Errorf("one hand together: %+v", g)
	}
}

func TestTouch(t *testing.T) {
	for _, c := range []struct {
		name    string
		length  float64 // of the interval
		asked   references.Touch
		heard   string
		overlap float64
		faults  int
	}{
		{"meets", 1, references.Legato, "legato", 0, 0},
		{"overlaps", 1.04, references.Legato, "legato", 4, 0},
		{"95 %", 0.95, references.Legato, "legato", -5, 0},
		{"a gap of 20 ms", 0.92, references.Legato, "legato", -8, 0},
		{"a gap of 30 ms", 0.88, references.Legato, "in between", -12, 1},
		{"staccato for legato", 0.4, references.Legato, "staccato", -60, 1},
		{"staccato", 0.4, references.Staccato, "staccato", -60, 0}, // 40 %: Bresin & Battel (2000)
		{"60 %", 0.6, references.Staccato, "staccato", -40, 0},
		{"legato for staccato", 1, references.Staccato, "legato", 0, 1},
		{"unsaid is legato", 0.5, references.NoTouch, "staccato", -50, 1},
		{"blurred", 1.4, references.Legato, "legato", 40, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := hands(t, func(r *references.Request) { r.Touch = references.Each(c.asked) })
			s.each(func(h *hit, n *references.Note) { h.length = 0.25 * c.length })
			a := s.judged()
			if g := a.Touch; g.Heard != c.heard || !near(g.Overlap, c.overlap, 0.06) || len(g.Hands) != 2 {
				t.Errorf("touch %+v", g)
			}
			if n := len(a.find(OtherTouch)); n != c.faults {
				t.Errorf("%d faults, want %d", n, c.faults)
			}
			if blurred := len(a.find(Blurred)) > 0; blurred != (c.name == "blurred") {
				t.Errorf("blurred: %v", blurred)
			}
		})
	}
}

// TestTouchByHand: legato in one hand and staccato in the other, as asked.
func TestTouchByHand(t *testing.T) {
	s := hands(t, func(r *references.Request) {
		r.Touch = references.PerHand[references.Touch]{Right: references.Legato, Left: references.Staccato}
	})
	s.each(func(h *hit, n *references.Note) {
		if n.Hand == references.Left {
			h.length = 0.1
		}
	})
	a := s.judged()
	if g := a.Touch; g.Asked != nil || g.Hands[0].Heard != "legato" || g.Hands[1].Heard != "staccato" {
		t.Errorf("touch %+v", g)
	}
	if *a.Marks.Sound != 100 {
		t.Errorf("sound %d, findings %+v", *a.Marks.Sound, a.Findings)
	}
}

// TestArpeggioThumb: where the hand crosses in an arpeggio the gap may be wider.
func TestArpeggioThumb(t *testing.T) {
	r := references.Request{Kind: references.Arpeggio, Hands: references.RightAlone, Octaves: 2}
	s := even(written(t, r), 0.25)
	s.each(func(h *hit, n *references.Note) { h.length = 0.25 - 0.05 })
	g := s.judged().Touch.Hands[0]
	// By the fingering 1 2 3 1 2 3 5 one step crosses each way, G to C and C to G. The step
	// back from the top is left out, so that of twelve eleven are judged.
	if g.Pairs != 11 || !near(g.Legato, 2.0/11, 0.001) {
		t.Errorf("touch %+v, want 2 of 11 pairs legato", g)
	}
}

func TestPedal(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].length = 0.08
	}
	s.pedals = []capture.Pedal{
		{At: micro(1), Controller: capture.Sustain, Value: 127},
		{At: micro(4), Controller: capture.Sustain, Value: 63},
		{At: micro(4.5), Controller: capture.Soft, Value: 127},
	}
	a := s.judged()
	fs := a.find(PedalDown)
	// 3 s of the 5.25 s to the last onset
	if !a.Touch.Pedal || len(fs) != 1 || !near(*fs[0].Measured, 57.1, 0.06) {
		t.Errorf("pedal %v, findings %+v", a.Touch.Pedal, fs)
	}
	if len(a.find(OtherTouch)) != 1 {
		t.Error("the pedal makes the touch of the keys legato")
	}
}
