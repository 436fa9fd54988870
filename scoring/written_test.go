package scoring

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenhand/references"
)

// TestSlowing: the final ritard v(x) = (1 + (w^q - 1) x)^(1/q) has at w = 0.5, q = 3 the tempi 0.921,
// 0.825 and 0.701 at the quarters of the way (worked out by hand from the formula). The time taken
// over a short way is that way over the tempo.
func TestSlowing(t *testing.T) {
	for _, c := range []struct{ w, x, tempo float64 }{
		{0.5, 0, 1},
		{0.5, 0.25, 0.921},
		{0.5, 0.5, 0.825},
		{0.5, 0.75, 0.701},
		{0.5, 1, 0.5},
		{0.4, 0.25, 0.915},
		{0.4, 0.5, 0.810},
		{0.4, 0.75, 0.668},
		{1, 0.3, 1},
	} {
		const d = 1e-5
		x := math.Min(c.x, 1-d)
		if v := d / slowingTime(c.w, x, x+d); !near(v, c.tempo, 0.001) {
			t.Errorf("w %v: tempo %.4f at %v, want %v", c.w, v, c.x, c.tempo)
		}
	}
}

// TestFinalTempoIsFound: whatever the end of a ritardando or accelerando, it is found again from the
// times of its steps.
func TestFinalTempoIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0.2, 2.5).Draw(t, "w")
		n := rapid.IntRange(1, 12).Draw(t, "steps")
		places, times := []float64{0}, []float64{}
		for k := range n {
			places = append(places, float64(k+1)/float64(n))
			times = append(times, slowingTime(w, places[k], places[k+1]))
		}
		if got := finalTempo(places, times); math.Abs(got/w-1) > 0.001 {
			t.Fatalf("%v, want %v", got, w)
		}
	})
}

// crotchets is a line of crotchets over semibreves, ten bars of 4/4.
func crotchets(t testing.TB) *references.Reference {
	right, left := "", ""
	for range 9 {
		right += "C5:1 D5:1 E5:1 D5:1 "
		left += "C3:4 "
	}
	return compose(t, fourFour, 0, right+"C5:4", left+"C3:4")
}

// ritarded is where each quarter falls when the tempo slows from one place to another by the formula
// to w, and goes on at after times the first tempo.
func ritarded(spq, from, to, w, after float64) func(float64) float64 {
	return func(q float64) float64 {
		in := math.Min(math.Max(q-from, 0), to-from) / (to - from)
		return 1 + spq*(math.Min(q, from)+(to-from)*slowingTime(w, 0, in)+math.Max(0, q-to)/after)
	}
}

// TestRitardando: it is judged by the last tempo over the first, from 0.95 down to 0.3, and is out of
// drift and of what is steady.
func TestRitardando(t *testing.T) {
	for _, c := range []struct {
		w       float64
		verdict string
	}{{0.5, asAsked}, {0.9, asAsked}, {0.32, asAsked}, {1, notHeard}, {1.2, notHeard}, {0.2, tooMuch}} {
		ref := crotchets(t)
		ref.Marks = []references.Mark{{Kind: references.Ritardando, From: references.Q(28, 1), To: references.Q(36, 1), Hand: references.Both, Words: "rit."}}
		a := plainly(ref, 0.6).warp(ritarded(0.6, 28, 36, c.w, 1)).scored()
		ch := a.Tempo.Changes
		if len(ch) != 1 || ch[0].Ratio == nil || !near(*ch[0].Ratio, c.w, 0.01) || ch[0].Verdict != c.verdict {
			t.Errorf("w %v: %+v %+v, want %s", c.w, ch, *ch[0].Ratio, c.verdict)
		}
		if n := len(a.find(Drift)) + len(a.find(Stop)) + len(a.find(OutOfTime)) + len(a.find(UnsteadyTempo)); n > 0 {
			t.Errorf("w %v: %+v", c.w, a.Remarks)
		}
		if (c.verdict == asAsked) != (*a.Marks.Overall == 100) {
			t.Errorf("w %v: overall %d, %v", c.w, *a.Marks.Overall, a.Remarks)
		}
	}
}

// TestReturn: after an a tempo the former tempo is taken up again, within a fifth.
func TestReturn(t *testing.T) {
	for after, verdict := range map[float64]string{1: asAsked, 0.9: asAsked, 0.6: notHeard, 1.4: tooMuch} {
		ref := crotchets(t)
		ref.Marks = []references.Mark{
			{Kind: references.Ritardando, From: references.Q(12, 1), To: references.Q(16, 1), Hand: references.Both},
			{Kind: references.ATempo, From: references.Q(16, 1), To: references.Q(16, 1), Hand: references.Both},
		}
		a := plainly(ref, 0.6).warp(ritarded(0.6, 12, 16, 0.6, after)).scored()
		ch := a.Tempo.Changes
		if len(ch) != 2 || ch[0].Verdict != asAsked || ch[1].Verdict != verdict || !near(*ch[1].Ratio, after, 0.02) {
			t.Errorf("after %v: %+v %v", after, ch, *ch[1].Ratio)
		}
	}
}

// TestFermata is held from 1.2 to 3 times the written length.
func TestFermata(t *testing.T) {
	for times, verdict := range map[float64]string{1: notHeard, 1.3: asAsked, 2: asAsked, 2.9: asAsked, 3.4: tooMuch} {
		ref := crotchets(t)
		ref.Marks = []references.Mark{{Kind: references.Fermata, From: references.Q(15, 1), To: references.Q(16, 1), Hand: references.Both}}
		s := plainly(ref, 0.6).later(1+16*0.6-0.01, 0.6*(times-1))
		a := s.scored()
		ch := a.Tempo.Changes
		if len(ch) != 1 || ch[0].Ratio == nil || !near(*ch[0].Ratio, times, 0.01) || ch[0].Verdict != verdict {
			t.Errorf("%v times: %+v", times, ch)
		}
		if len(a.find(Stop)) > 0 {
			t.Errorf("%v times: %v", times, a.Remarks)
		}
	}
}

// TestUnmarkedEnding: the last bar may slow down unasked, or not.
func TestUnmarkedEnding(t *testing.T) {
	right, left := "", ""
	for range 6 {
		right, left = right+"C5:1 D5:1 E5:1 D5:1 ", left+"C3:4 "
	}
	for _, w := range []float64{1, 0.5} {
		a := plainly(compose(t, fourFour, 0, right, left), 0.6).warp(ritarded(0.6, 20, 24, w, 1)).scored()
		if len(a.Findings) > 0 {
			t.Errorf("slowed to %v: %v", w, a.Remarks)
		}
	}
}

// TestBarByBar: the curve tells each bar, the changes between bars and the drift are worked out from
// it. Bars at 100 and 125 in turn change by 25 percent each time.
func TestBarByBar(t *testing.T) {
	a := plainly(crotchets(t), 0.6).warp(func(q float64) float64 {
		bar := math.Floor(q / 4)
		pairs := math.Floor(bar / 2)
		at := 1 + pairs*(2.4+1.92)
		if math.Mod(bar, 2) == 1 {
			return at + 2.4 + (q-4*bar)*0.48
		}
		return at + (q-4*bar)*0.6
	}).scored()
	for k, b := range a.Tempo.Curve[:9] {
		want := 100.0
		if k%2 == 1 {
			want = 125
		}
		if b.BPM == nil || !near(*b.BPM, want, 0.1) {
			t.Errorf("bar %s: %v, want %v", b.Bar, *b.BPM, want)
		}
	}
	if !near(*a.Tempo.Unsteady, 25, 0.1) || len(a.find(UnsteadyTempo)) != 1 || len(a.find(Drift)) != 0 {
		t.Errorf("unsteady %v, %v", *a.Tempo.Unsteady, a.Remarks)
	}
	// A steady rise by a third over the piece is drift, and not unsteady.
	a = plainly(crotchets(t), 0.6).warp(func(q float64) float64 { return 1 + 0.6*120*(1-math.Exp(-q/120)) }).scored()
	// The tempo is exp(q/120); the middles of the first and the last bar judged lie 32 quarters apart.
	if want := 100 * math.Expm1(32.0/120); !near(*a.Tempo.DriftPercent, want, 0.5) || len(a.find(Drift)) != 1 || len(a.find(UnsteadyTempo)) != 0 {
		t.Errorf("drift %v, want %.1f: %v", *a.Tempo.DriftPercent, want, a.Remarks)
	}
}

// TestPrintedTempo: a fifth off a printed figure is as asked, and words have wide bands.
func TestPrintedTempo(t *testing.T) {
	for _, c := range []struct {
		mark    references.TempoMark
		verdict string
	}{
		{references.TempoMark{Tempo: references.Tempo{BPM: 84, Beat: references.Q(1, 1)}, Printed: true}, asAsked},
		{references.TempoMark{Tempo: references.Tempo{BPM: 130, Beat: references.Q(1, 1)}, Printed: true}, "slower"},
		{references.TempoMark{Tempo: references.Tempo{BPM: 40, Beat: references.Q(2, 1)}, Printed: true}, "faster"},
		{references.TempoMark{Tempo: references.Tempo{BPM: 130, Beat: references.Q(1, 1)}}, notAsked},
		{references.TempoMark{Words: "Andante grazioso"}, asAsked},
		{references.TempoMark{Words: "Presto"}, "slower"},
		{references.TempoMark{Words: "Larghetto"}, "faster"},
		{references.TempoMark{Words: "Mit Ausdruck"}, notAsked},
	} {
		ref := crotchets(t)
		ref.Tempos = []references.TempoMark{c.mark}
		if c.mark.Printed {
			ref.Tempo = c.mark.Tempo
		}
		a := plainly(ref, 0.6).scored() // 100 crotchets a minute
		if a.Tempo.Verdict != c.verdict || *a.Marks.Overall != 100 {
			t.Errorf("%+v: %s at %v, want %s; %v", c.mark, a.Tempo.Verdict, a.Tempo.BPM, c.verdict, a.Remarks)
		}
	}
}
