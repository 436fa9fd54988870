package scoring

import (
	"math/rand/v2"
	"testing"

	"evenhand/align"
	"evenhand/references"
)

// TestRamp: a pure ramp from 80 beats a minute at the first note to 84 at the last, two notes to the
// beat, each interval at the tempo of its middle: drift +5 %, and nothing uneven about it.
func TestRamp(t *testing.T) {
	s := right(t)
	n := len(s.hits) - 1
	at := 1.0
	for k := range s.hits {
		s.hits[k].on = at
		at += 60 / (80 + 4*(float64(k)+0.5)/float64(n)) / 2
	}
	a := s.judged()
	if d := *a.Tempo.DriftPercent; !near(d, 5, 0.11) {
		t.Errorf("drift %.2f %%, want 5", d)
	}
	if !near(a.Tempo.BPM, 82, 0.3) || a.Tempo.Beat != "quarter" || *a.Tempo.NotesPerBeat != 2 {
		t.Errorf("tempo %+v, want 82 quarters", a.Tempo)
	}
	for _, e := range a.Evenness {
		if *e.SD > 0.5 {
			t.Errorf("%s: sd %.2f ms of a pure ramp", e.Direction, *e.SD)
		}
	}
	if fs := a.find(Drift); len(fs) != 1 || fs[0].Text != "It got faster: from about 80 beats a minute to about 84." {
		t.Errorf("findings %+v", fs)
	}
}

func TestTempo(t *testing.T) {
	both := written(t, scale(bFlatMajor, references.Major, references.Together))
	for _, c := range []struct {
		name   string
		change func(s *stage)
	}{
		{"clean", func(*stage) {}},
		{"hesitations are out", func(s *stage) { s.later(s.hits[20].on, 1.5).later(s.hits[40].on, 0.8) }},
		{"one hand waits", func(s *stage) { s.of(s.note(references.Left, 9)).on += 0.6 }},
		{"a restart is out", func(s *stage) {
			at := s.hits[30].on
			s.later(at, 6)
			s.restarts = append(s.restarts, align.Restart{At: micro(at + 6), From: references.Q(7, 1), To: references.Q(0, 1), Fresh: true})
		}},
		{"the end slows", func(s *stage) {
			n := len(s.hits)
			s.later(s.hits[n-3].on, 0.1).later(s.hits[n-1].on, 0.2)
		}},
		{"uneven in turn", func(s *stage) {
			s.each(func(h *hit, n *references.Note) {
				if n.Onset.Den() == 2 {
					h.on += 0.05
				}
			})
		}},
		{"missing and wrong notes", func(s *stage) { s.hits[10].key++; s.drop(14).drop(15).drop(31) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := even(both, 0.25)
			c.change(s)
			tempo := s.judged().Tempo
			if !near(tempo.BPM, 120, 0.7) || !near(*tempo.NotesPerSecond, 4, 0.02) {
				t.Errorf("tempo %.1f, %.3f notes a second; want 120 and 4", tempo.BPM, *tempo.NotesPerSecond)
			}
			// Notes long and short in turn pull the line a little; it must not be called a drift.
			if d := *tempo.DriftPercent; !near(d, 0, 1.6) && c.name != "uneven in turn" {
				t.Errorf("drift %.1f %% of a steady tempo", d)
			}
			for _, f := range s.judged().Findings {
				if f.Kind == Drift {
					t.Errorf("a steady tempo: %s", f.Text)
				}
			}
		})
	}
}

// TestDriftUnderJitter: what is put in comes out, in spite of 10 ms of onset jitter.
func TestDriftUnderJitter(t *testing.T) {
	for _, want := range []float64{-12, -6, 0, 6, 12} {
		rng := rand.New(rand.NewPCG(7, uint64(want+20)))
		var sum float64
		const runs = 300
		for range runs {
			s := even(written(t, scale(bFlatMajor, references.Major, references.RightAlone)), 0.25)
			at, first := 1.0, 0.25
			n := len(s.hits)
			for k := range s.hits {
				s.hits[k].on = at + 0.010*rng.NormFloat64()
				at += first + (first/(1+want/100)-first)*(float64(k)+0.5)/float64(n-1)
			}
			sum += *s.judged().Tempo.DriftPercent
		}
		if mean := sum / runs; !near(mean, want, 0.6) {
			t.Errorf("drift %.2f %% on average, %.0f was put in", mean, want)
		}
	}
}

// TestDriftNeedsTheWhole: from steady notes in one place nothing is said about the other end.
func TestDriftNeedsTheWhole(t *testing.T) {
	s := right(t)
	for k := 10; k < 28; k++ {
		s.hits[k].key++
	}
	if d := s.judged().Tempo.DriftPercent; d != nil {
		t.Errorf("drift %.1f %% from the first half", *d)
	}
}

func TestAskedTempo(t *testing.T) {
	for _, c := range []struct {
		bpm     float64
		notes   int
		ioi     float64
		want    float64
		perBeat float64
		verdict string
	}{
		{120, 2, 0.25, 120, 2, "as asked"},
		{60, 4, 0.25, 60, 4, "as asked"},
		{60, 0, 0.25, 60, 4, "as asked"},   // four to the beat is nearest
		{80, 0, 0.25, 80, 3, "as asked"},   // three
		{240, 0, 0.25, 240, 1, "as asked"}, // one
		{120, 2, 0.3, 100, 2, "slower"},
		{126, 2, 0.25, 120, 2, "as asked"}, // 4.8 % below
		{100, 2, 0.25, 120, 2, "faster"},   // 20 % above
		{105, 2, 0.25, 120, 2, "as asked"}, // 14 % above
	} {
		r := scale(cMajor, references.Major, references.RightAlone)
		r.BPM, r.NotesPerBeat = c.bpm, c.notes
		a := even(written(t, r), c.ioi).judged()
		got := a.Tempo
		if !near(got.BPM, c.want, 0.11) || *got.NotesPerBeat != c.perBeat || got.Verdict != c.verdict || *got.Asked != c.bpm {
			t.Errorf("asked %.0f with %d notes: %.1f with %v, %s; want %.0f with %v, %s",
				c.bpm, c.notes, got.BPM, *got.NotesPerBeat, got.Verdict, c.want, c.perBeat, c.verdict)
		}
		if *a.Marks.Time != 100 {
			t.Errorf("asked %.0f: a tempo of its own costs: time %d", c.bpm, *a.Marks.Time)
		}
	}
	if v := right(t).judged().Tempo; v.Verdict != "not asked" || v.Asked != nil {
		t.Errorf("no tempo asked: %+v", v)
	}
}

// TestHesitations: extra time of at least 60 % of the local interval and 200 ms.
func TestHesitations(t *testing.T) {
	for _, c := range []struct {
		name       string
		ioi, extra float64
		before     int
		want, turn bool
	}{
		{"long", 0.25, 0.64, 6, true, false},
		{"just long enough", 0.25, 0.2, 6, true, false},
		{"shorter than 200 ms", 0.25, 0.19, 6, false, false},
		{"less than 60 % of a slow interval", 0.6, 0.34, 6, false, false},
		{"60 % of a slow interval", 0.6, 0.37, 6, true, false},
		{"leaving the top", 0.25, 0.4, 15, true, true},
		{"before the top", 0.25, 0.4, 14, true, true},
		{"a broadened end", 0.25, 0.5, 28, false, false},
		{"a stop before the end", 0.25, 0.7, 28, true, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := even(written(t, scale(cMajor, references.Major, references.Together)), c.ioi)
			i := s.note(references.Right, c.before)
			s.later(s.of(i).on, c.extra)
			a := s.judged()
			hs := a.Flow.Hesitations
			if (len(hs) == 1) != c.want || len(hs) > 1 {
				t.Fatalf("hesitations %+v, want one: %v", hs, c.want)
			}
			if !c.want {
				return
			}
			if h := hs[0]; !near(h.ExtraMS, 1000*c.extra, 1) || h.Onset != s.ref.Notes[i].Onset.Float() || h.Turn != c.turn {
				t.Errorf("hesitation %+v", h)
			}
			if n := len(a.find(Stop)); n != 1 {
				t.Errorf("%d findings", n)
			}
		})
	}
}

// TestWaitAtAWrongNoteIsOneEvent: a stop beside a wrong note is told and costs nothing of its own.
func TestWaitAtAWrongNoteIsOneEvent(t *testing.T) {
	s := right(t)
	s.hits[6].key++
	s.later(s.hits[7].on, 0.5)
	a := s.judged()
	if len(a.Flow.Hesitations) != 1 || *a.Marks.Time != 100 {
		t.Errorf("hesitations %+v, time %d", a.Flow.Hesitations, *a.Marks.Time)
	}
	for _, l := range a.Losses {
		if l.Mark != "notes" {
			t.Errorf("loss %+v", l)
		}
	}
}
