package ear

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// tapper is a pupil who taps as is said here.
type tapper struct {
	factor  float64       // beats to a tap
	tempo   float64       // times the tempo of the music, in the middle
	drift   float64       // tempo at the last tap over that at the first, minus one
	late    time.Duration // all of it
	jitter  float64       // of each tap, in seconds, either way in turn
	first   uint8         // velocity on first beats
	others  uint8
	missing []int // taps left out
}

var evenTapper = tapper{factor: 1, tempo: 1, first: 80, others: 60}

// tap taps through the melody. The interval between taps changes in a straight line from p to q, so that
// tap k comes at p k + (q-p) k² / 2(n-1).
func (p tapper) tap(it Item) []Tap {
	h := &it.Hearings[1]
	bars := len(it.Melody.Bars)
	perBar := it.Melody.BarLength.Float() / it.Melody.Beat.Float()
	n := int(float64(bars)*perBar/p.factor + 0.5)
	mean := 60 / it.Melody.Tempo.BPM * p.factor / p.tempo
	last := mean * 2 / (2 + p.drift)
	first := last * (1 + p.drift)
	var taps []Tap
	for k := range n {
		if slices.Contains(p.missing, k) {
			continue
		}
		x := float64(k)
		at := first*x + (last-first)*x*x/(2*float64(n-1))
		if k%2 == 1 {
			at += p.jitter
		}
		v := p.others
		if math.Mod(x*p.factor, perBar) < 0.01 {
			v = p.first
		}
		taps = append(taps, Tap{h.Start + p.late + time.Duration(at*float64(time.Second)), v})
	}
	return taps
}

// near fails unless a measure is within some units of what it should be.
func near(t rapid.TB, what string, got *float64, want, within float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s was not measured, want %.2f", what, want)
	} else if math.Abs(*got-want) > within {
		t.Errorf("%s %.2f, want %.2f within %.2f", what, *got, want, within)
	}
}

// TestTapsMeasured: what a tapper is known to do is measured to within two in a hundred.
func TestTapsMeasured(t *testing.T) {
	for level := range TopLevel + 1 {
		for seed := range uint64(6) {
			it := Draw(Beat, level, seed)
			for _, p := range []tapper{
				{factor: 1, tempo: 1},
				{factor: 1, tempo: 1, late: -40 * time.Millisecond},
				{factor: 1, tempo: 1, late: 60 * time.Millisecond},
				{factor: 1, tempo: 0.93},
				{factor: 1, tempo: 1.08},
				{factor: 1, tempo: 1, drift: 0.10},
				{factor: 1, tempo: 1, drift: -0.15},
				{factor: 1, tempo: 1.05, drift: 0.2, late: 30 * time.Millisecond},
				{factor: 1, tempo: 1, missing: []int{3, 5}},
			} {
				v := it.JudgeTaps(p.tap(it), false)
				where := fmt.Sprintf("level %d seed %d %+v: ", level, seed, p)
				// The line of time against number is as fast as the middle of the taps.
				near(t, where+"tempo", v.BPM, it.Melody.Tempo.BPM*p.tempo, 0.02*it.Melody.Tempo.BPM)
				near(t, where+"drift", v.DriftPercent, 100*p.drift, 2)
				near(t, where+"unsteadiness", v.UnsteadyPercent, 0, 1)
				if p.drift == 0 && p.tempo == 1 {
					near(t, where+"lateness", v.LateMS, p.late.Seconds()*1000, 0.02*60000/it.Melody.Tempo.BPM)
				}
			}
		}
	}
}

// TestTapsAnyTapper: the same for tappers drawn at random, with taps a little uneven.
func TestTapsAnyTapper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it := Draw(Beat, rapid.IntRange(0, TopLevel).Draw(t, "level"), rapid.Uint64().Draw(t, "seed"))
		p := tapper{
			factor: 1,
			tempo:  rapid.Float64Range(0.9, 1.1).Draw(t, "tempo"),
			drift:  rapid.Float64Range(-0.2, 0.2).Draw(t, "drift"),
			late:   time.Duration(rapid.IntRange(-80, 120).Draw(t, "late")) * time.Millisecond,
			jitter: rapid.Float64Range(-0.008, 0.008).Draw(t, "jitter"),
		}
		v := it.JudgeTaps(p.tap(it), false)
		near(t, "tempo", v.BPM, it.Melody.Tempo.BPM*p.tempo, 0.02*it.Melody.Tempo.BPM)
		near(t, "drift", v.DriftPercent, 100*p.drift, 2)
		if v.Mark == nil || *v.Mark < 0 || *v.Mark > 100 {
			t.Fatalf("mark %v", v.Mark)
		}
	})
}

// TestTapsUnsteady: taps in turn j early and late have intervals that differ by 2 j in turn from their
// mean; the standard deviation of m such intervals is about 2 j sqrt(m/(m-1)).
func TestTapsUnsteady(t *testing.T) {
	it := Draw(Beat, 4, 1)
	beat := 60 / it.Melody.Tempo.BPM
	p := evenTapper
	p.jitter = 0.06 * beat // every other tap late by it: intervals 1.06 and 0.94 in turn
	v := it.JudgeTaps(p.tap(it), true)
	m := float64(len(p.tap(it)) - 1)
	near(t, "unsteadiness", v.UnsteadyPercent, 6*math.Sqrt(m/(m-1)), 0.2)
}

// TestTapsMarks: each fault is found, is the reason that is given, and costs.
func TestTapsMarks(t *testing.T) {
	it := Draw(Beat, 5, 3)
	for name, c := range map[string]struct {
		change    func(*tapper)
		low, high int
		says      string
	}{
		"well":          {func(*tapper) {}, 100, 100, "steady"},
		"early":         {func(p *tapper) { p.late = -45 * time.Millisecond }, 100, 100, "steady"},
		"late":          {func(p *tapper) { p.late = 150 * time.Millisecond }, 100, 100, "steady"},
		"slow":          {func(p *tapper) { p.tempo = 0.87 }, 75, 95, "slower than the music"},
		"hurrying":      {func(p *tapper) { p.drift = 0.2 }, 80, 95, "got faster"},
		"dragging":      {func(p *tapper) { p.drift = -0.2 }, 80, 95, "got slower"},
		"uneven":        {func(p *tapper) { p.jitter = 0.13 * 60 / it.Melody.Tempo.BPM }, 85, 98, "uneven"},
		"no stress":     {func(p *tapper) { p.first = 61 }, 80, 86, "First beats"},
		"stress turned": {func(p *tapper) { p.first = 50 }, 80, 80, "First beats"},
		"stopped": {func(p *tapper) {
			for k := 8; k < 100; k++ {
				p.missing = append(p.missing, k)
			}
		}, 20, 80, "missing"},
		"one left out": {func(p *tapper) { p.missing = []int{5} }, 100, 100, "steady"},
	} {
		t.Run(name, func(t *testing.T) {
			p := evenTapper
			c.change(&p)
			v := it.JudgeTaps(p.tap(it), true)
			if v.Mark == nil || *v.Mark < c.low || *v.Mark > c.high || !strings.Contains(v.Reason, c.says) {
				t.Errorf("mark %v, %q; want %d to %d and %q\n%+v", *v.Mark, v.Reason, c.low, c.high, c.says, v)
			}
			for _, l := range v.Losses {
				if l.Source == "" || l.Unit == "" || l.Text == "" || l.Points <= 0 {
					t.Errorf("a loss without its reason: %+v", l)
				}
			}
		})
	}
}

// TestTapsOtherBeats: half, double, the quavers of a dotted beat and one to a bar are as good, and said.
func TestTapsOtherBeats(t *testing.T) {
	found := map[Kept]int{}
	for level := range TopLevel + 1 {
		for seed := range uint64(12) {
			it := Draw(Beat, level, seed)
			perBar := it.Melody.BarLength.Float() / it.Melody.Beat.Float()
			want := map[float64]Kept{1: KeptBeat, 2: KeptHalf, 0.5: KeptDouble}
			if it.Melody.Beat.Den() > 1 {
				want = map[float64]Kept{1: KeptBeat, 2: KeptHalf, 1. / 3: KeptQuavers}
			} else if perBar > 2 {
				want[perBar] = KeptBar
			}
			for factor, kept := range want {
				p := evenTapper
				p.factor, p.late = factor, 20*time.Millisecond
				v := it.JudgeTaps(p.tap(it), true)
				if v.Kept != kept || v.Mark == nil || *v.Mark < 100 || kept != KeptBeat && !strings.Contains(v.Reason, string(kept)) {
					t.Errorf("level %d seed %d, %v beats to a tap: %q, %q", level, seed, factor, v.Kept, v.Reason)
				}
				found[kept]++
			}
		}
	}
	for _, k := range []Kept{KeptBeat, KeptHalf, KeptDouble, KeptQuavers, KeptBar} {
		if found[k] == 0 {
			t.Errorf("never tried: %s", k)
		}
	}
}

// TestTapsRhythm: who taps the notes of the tune is told so.
func TestTapsRhythm(t *testing.T) {
	tried := 0
	for seed := range uint64(60) {
		it := Draw(Beat, 5, seed)
		g := it.grid(&it.Hearings[1])
		var taps []Tap
		for _, at := range g.notes {
			taps = append(taps, Tap{at + 15*time.Millisecond, 70})
		}
		v := it.JudgeTaps(taps, true)
		differs := math.Abs(float64(len(g.notes)-g.beats)) >= 0.2*float64(g.beats)
		if !differs || *v.UnsteadyPercent <= 10 {
			continue
		}
		tried++
		if v.Kept != KeptRhythm || *v.Mark != 30 || !strings.Contains(v.Reason, "rhythm of the tune") {
			t.Errorf("seed %d: %q, %q, mark %d", seed, v.Kept, v.Reason, *v.Mark)
		}
	}
	if tried < 10 {
		t.Errorf("only %d of the tunes have a rhythm that is not the beat", tried)
	}
}

// TestTapsSpaceBar: without velocities the stress is not judged, costs nothing, and is said to be left out.
func TestTapsSpaceBar(t *testing.T) {
	it := Draw(Beat, 5, 3)
	p := evenTapper
	p.first, p.others = 0, 0
	v := it.JudgeTaps(p.tap(it), false)
	if v.StressUnits != nil || *v.Mark != 100 || !strings.Contains(v.Reason, "not judged") {
		t.Errorf("%v, mark %d, %q", v.StressUnits, *v.Mark, v.Reason)
	}
	// A piano of one fixed velocity is no better.
	p.first, p.others = 64, 64
	if v := it.JudgeTaps(p.tap(it), true); v.StressUnits != nil || *v.Mark != 100 {
		t.Errorf("one velocity: %v, mark %d", v.StressUnits, *v.Mark)
	}
}

// TestTapsNonsense: what cannot be judged has no mark and one sentence; nothing panics.
func TestTapsNonsense(t *testing.T) {
	it := Draw(Beat, 3, 9)
	start := it.Hearings[1].Start
	for name, taps := range map[string][]Tap{
		"none":             nil,
		"three":            {{start, 1}, {start + time.Second, 1}, {start + 2*time.Second, 1}},
		"all at once":      {{start, 1}, {start, 1}, {start, 1}, {start, 1}, {start, 1}},
		"to the count":     {{0, 1}, {1e9, 1}, {2e9, 1}, {3e9, 1}, {4e9, 1}},
		"long afterwards":  {{1e12, 1}, {2e12, 1}, {3e12, 1}, {4e12, 1}},
		"before all times": {{-1e12, 1}, {-2e12, 1}, {math.MinInt64, 1}, {math.MaxInt64, 1}},
	} {
		if v := it.JudgeTaps(taps, true); v.Mark != nil || !strings.Contains(v.Reason, "too few") {
			t.Errorf("%s: mark %v, %q", name, v.Mark, v.Reason)
		}
	}
	if v := Draw(Chord, 3, 9).JudgeTaps(nil, true); v.Mark != nil || v.Reason == "" {
		t.Errorf("of a chord: %v, %q", v.Mark, v.Reason)
	}
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOf(rapid.Int64Range(0, 30e9)).Draw(t, "taps")
		var taps []Tap
		for _, a := range at {
			taps = append(taps, Tap{time.Duration(a), uint8(a % 128)})
		}
		v := it.JudgeTaps(taps, rapid.Bool().Draw(t, "velocity"))
		if v.Mark != nil && (*v.Mark < 0 || *v.Mark > 100) || v.Reason == "" {
			t.Fatalf("mark %d, %q", *v.Mark, v.Reason)
		}
		for _, m := range []*float64{v.BPM, v.TempoPercent, v.DriftPercent, v.UnsteadyPercent, v.LateMS, v.StressUnits} {
			if m != nil && (math.IsNaN(*m) || math.IsInf(*m, 0)) {
				t.Fatalf("a measure is no number: %+v", v)
			}
		}
	})
}
