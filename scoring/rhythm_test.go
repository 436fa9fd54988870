package scoring

import (
	"math"
	"strings"
	"testing"

	"evenhand/references"
)

// played moves the inner onsets of every rhythm of a hand that is written with the given shares so
// that it is played with others.
func (s *stage) reshape(hand references.Hand, written, played []float64) *stage {
	p := newPerformance(s.aligned(), DefaultSettings().Limits)
	p.piece = defaultPiece().Limits
	for i := range p.lines {
		for _, f := range p.figures(&p.lines[i]) {
			if f.line.hand != hand || len(f.written) != len(written) || off(f.written, shares(written)) > 0.01 {
				continue
			}
			at := f.line.steps[f.gaps[0].from].on
			for k, share := range shares(played)[:len(played)-1] {
				at += share * f.seconds
				for _, i := range f.line.steps[f.gaps[k].to].notes {
					s.of(i).on = at
				}
			}
		}
	}
	return s
}

// TestRhythms: one rhythm played as another is a rhythm, told as a ratio, and neither a hesitation nor
// drift. The ratios are those of the notation: a dotted pair is 3 to 1, a triplet of quaver and crotchet
// 2 to 1.
func TestRhythms(t *testing.T) {
	left := "C3:4 G3:4 C3:4 G3:4"
	for _, c := range []struct {
		name, right     string
		written, played []float64
		says            string // empty where it is right
	}{
		{"dotted as 2 to 1", "C5:3/4 D5:1/4 E5:1 F5:3/4 E5:1/4 D5:1 C5:3/4 D5:1/4 E5:1 G5:2 C5:3/4 D5:1/4 E5:1 C5:2 D5:4", []float64{3, 1}, []float64{2, 1}, "a rhythm of 3 to 1 was played as 2 to 1"},
		{"even quavers swung", "C5:1/2 D5:1/2 E5:1 F5:1/2 E5:1/2 D5:1 C5:1/2 D5:1/2 E5:1 G5:2 C5:4 D5:4", []float64{1, 1}, []float64{2, 1}, "a rhythm of 1 to 1 was played as 2 to 1"},
		{"swung throughout", strings.Repeat("C5:1/2 D5:1/2 E5:1 F5:1/2 E5:1/2 D5:1 ", 4), []float64{1, 1}, []float64{1.8, 1}, "the even notes were swung, about 1.8 to 1"},
		{"triplet for duplet", "C5:1/2 D5:1/4 E5:1/4 F5:1 C5:1/2 D5:1/4 E5:1/4 F5:1 C5:4 D5:4 E5:4", []float64{2, 1, 1}, []float64{1, 1, 1}, "a rhythm of 2 to 1 to 1 was played as 1 to 1 to 1"},
		{"duplet for triplet", "C5:1/3 D5:1/3 E5:1/3 F5:1 C5:1/3 D5:1/3 E5:1/3 F5:1 C5:4 D5:4 E5:4", []float64{1, 1, 1}, []float64{2, 1, 1}, "a rhythm of 1 to 1 to 1 was played as 2 to 1 to 1"},
		{"dotted, well", "C5:3/4 D5:1/4 E5:1 F5:3/4 E5:1/4 D5:1 C5:4 D5:4 E5:4", []float64{3, 1}, []float64{3.2, 1}, ""},
		{"even, not quite", "C5:1/2 D5:1/2 E5:1 F5:1/2 E5:1/2 D5:1 C5:4 D5:4 E5:4", []float64{1, 1}, []float64{1.15, 1}, ""},
	} {
		s := plainly(compose(t, fourFour, 0, c.right, left), 0.7).reshape(references.Right, c.written, c.played)
		a := s.scored()
		fs := a.find(WrongRhythm)
		switch {
		case c.says == "" && len(fs) > 0:
			t.Errorf("%s: %s", c.name, fs[0].Text)
		case c.says != "" && (len(fs) != 1 || !strings.Contains(fs[0].Text, c.says)):
			t.Errorf("%s: %+v", c.name, a.Remarks)
		}
		if n := len(a.find(Stop)) + len(a.find(Drift)) + len(a.find(OutOfTime)); n > 0 {
			t.Errorf("%s: %d findings besides: %+v", c.name, n, a.Remarks)
		}
	}
}

// TestSwingIsRight: where the score says swing, long to short may be 1.2 to 2.5, and no more.
func TestSwingIsRight(t *testing.T) {
	for ratio, wrong := range map[float64]int{1.4: 0, 2: 0, 2.4: 0, 3.1: 1} {
		ref := compose(t, fourFour, 0, "C5:1/2 D5:1/2 E5:1 F5:1/2 E5:1/2 D5:1 C5:1/2 D5:1/2 E5:1 G5:2 C5:4 D5:4", "C3:4 G3:4 C3:4 G3:4")
		ref.Marks = []references.Mark{{Kind: references.Swing, Words: "swing"}}
		a := plainly(ref, 0.7).reshape(references.Right, []float64{1, 1}, []float64{ratio, 1}).scored()
		if got := len(a.find(WrongRhythm)); got != wrong {
			t.Errorf("%v to 1 under swing: %d findings, want %d: %v", ratio, got, wrong, a.Remarks)
		}
	}
}

// TestSwungOffBeats: where notes are swung throughout, those off the beat are late with them and no
// fault besides: syncopations too.
func TestSwungOffBeats(t *testing.T) {
	for _, mark := range []bool{true, false} {
		ref := compose(t, fourFour, 0, strings.Repeat("C5:1/2 D5:1/2 E5:1/2 F5:1 E5:1/2 D5:1/2 C5:1/2 ", 7)+"C5:4", strings.Repeat("C3:1 G3:1 C3:1 G3:1 ", 7)+"C3:4")
		if mark {
			ref.Marks = []references.Mark{{Kind: references.Swing, Words: "swing"}}
		}
		a := plainly(ref, 0.7).warp(func(q float64) float64 {
			beat, half := math.Modf(q)
			if half == 0.5 {
				half = 2.0 / 3
			}
			return 1 + 0.7*(beat+half)
		}).scored()
		switch fs := a.find(WrongRhythm); {
		case mark && len(a.Findings) > 0:
			t.Errorf("swing is marked: %v", a.Remarks)
		case !mark && (len(a.Findings) != 1 || len(fs) != 1 || *a.Marks.Overall < 95):
			t.Errorf("swing is not marked: %d, %v", *a.Marks.Overall, a.Remarks)
		}
	}
}

// TestValues: a note value held twice as long wherever it comes is misread, and no hesitation.
func TestValues(t *testing.T) {
	ref := compose(t, fourFour, 0, "C5:1 D5:1 E5:2 F5:1 E5:1 D5:2 C5:1 D5:1 E5:1 F5:1 G5:1 F5:1 E5:1 D5:1 C5:4", "")
	at := map[float64]float64{}
	t0, last := 1.0, 0.0
	for i := range ref.Notes {
		q := ref.Notes[i].Onset.Float()
		d := (q - last) * 0.6
		if i > 0 && ref.Notes[i-1].Length == references.Q(2, 1) {
			d *= 2
		}
		t0, last = t0+d, q
		at[q] = t0
	}
	s := plainly(ref, 0.6)
	s.each(func(h *hit, n *references.Note) { h.on = at[n.Onset.Float()] })
	a := s.scored()
	fs := a.find(WrongRhythm)
	if len(fs) != 1 || fs[0].Text != "Bars 1 and 2, right hand: two notes were held twice as long as they are written." {
		t.Errorf("%+v", a.Remarks)
	}
	if len(a.Flow.Hesitations) != 0 || len(a.find(OutOfTime)) != 0 {
		t.Errorf("hesitations %+v", a.Flow.Hesitations)
	}
}

// TestStopsAndRecovery: a stop is one finding, at its place, and how soon the playing was steady again
// is told: the stop before beat 1 of bar 4, then two uneven beats.
func TestStopsAndRecovery(t *testing.T) {
	ref := compose(t, fourFour, 0, "C5:1 D5:1 E5:1 F5:1 E5:1 D5:1 C5:1 D5:1 E5:1 F5:1 G5:1 F5:1 E5:1 D5:1 C5:1 D5:1 E5:1 F5:1 E5:1 D5:1 C5:4", "C3:4 G3:4 C3:4 G3:4 C3:4 C3:4")
	s := plainly(ref, 0.6)
	s.later(1+12*0.6-0.01, 1)
	a := s.scored()
	fs := a.find(Stop)
	if len(fs) != 1 || fs[0].From.Bar != "4" || fs[0].From.Beat != 1 || len(a.Flow.Hesitations) != 1 {
		t.Fatalf("%+v", a.Remarks)
	}
	if h := a.Flow.Hesitations[0]; h.SteadyAfterBeats == nil || *h.SteadyAfterBeats != 0 || !near(h.ExtraMS, 1000, 1) {
		t.Errorf("recovered at once: %+v", h)
	}
	// Two beats of half the tempo more before it is steady: 2 beats, 2.4 s.
	s.later(1+1+13*0.6-0.01, 0.6).later(1+1.6+14*0.6-0.01, 0.6)
	if h := s.scored().Flow.Hesitations; len(h) == 0 || h[0].SteadyAfterBeats == nil || *h[0].SteadyAfterBeats < 1 {
		t.Errorf("recovered after two slow beats: %+v", h)
	}
}
