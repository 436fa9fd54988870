package scoring

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"evenhand/align"
	"evenhand/references"
)

// right plays C major with the right hand at 187.5 ms a note (semiquavers at crotchet 80), the
// standard task of the scale literature.
func right(t testing.TB) *stage {
	return even(written(t, scale(cMajor, references.Major, references.RightAlone)), 0.1875)
}

// TestThumbDelay: a delay of 20 ms at each thumb going up (notes 4, 8 and 11 of C major).
// By hand: the 14 intervals going up have three of +20 ms and three of -20 ms about their mean, so
// SD = sqrt(6 x 400 / 13) = 13.59 ms, 7.2 %; less the trend, slope -60/227.5, 13.54 ms.
func TestThumbDelay(t *testing.T) {
	s := right(t)
	for _, k := range []int{3, 7, 10} {
		s.hits[k].on += 0.020
	}
	a := s.judged()
	up := a.Evenness[0]
	if up.Hand != "right" || up.Direction != "up" || up.Notes != 15 {
		t.Fatalf("first run is %+v", up)
	}
	if !near(*up.SD, 13.54, 0.06) || !near(*up.CV, 7.22, 0.06) || !near(up.IOI, 187.5, 0.06) {
		t.Errorf("sd %.1f ms, cv %.1f %%, ioi %.1f ms; by hand 13.5, 7.2 and 187.5", *up.SD, *up.CV, up.IOI)
	}
	if *up.Audible { // 13.54 / sqrt 2 = 9.6 ms, below 10
		t.Error("a displacement of 9.6 ms is called audible")
	}
	if up.Worst.Fingers != "4-1" && up.Worst.Fingers != "3-1" {
		t.Errorf("worst step %+v is not at the thumb", up.Worst)
	}
	fs := a.find(LateCrossing)
	if len(fs) != 1 {
		t.Fatalf("%d findings of late crossings, want one", len(fs))
	}
	if f := fs[0]; !strings.Contains(f.Text, "F, C and F came late") || !near(*f.Measured, 20, 1.5) || len(f.Notes) != 3 {
		t.Errorf("finding %+v does not name the three thumbs by about 20 ms", f)
	}
}

// TestUnevenEverywhereIsNotTheThumb: unevenness everywhere is not laid on the thumb.
func TestUnevenEverywhereIsNotTheThumb(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].on += 0.04 * float64((k*k*7)%5-2) / 2
	}
	a := s.judged()
	if n := len(a.find(LateCrossing)); n != 0 {
		t.Errorf("%d late crossings found", n)
	}
	if n := len(a.find(Uneven)); n != 2 {
		t.Errorf("%d uneven runs found, want 2", n)
	}
}

// TestOnsetJitter: independent onset jitter of 10 ms gives intervals an SD of 14.1 ms, that is
// 10 sqrt 2. With the trend of 14 intervals taken off and divisor 13, the expected square is
// 100 (28 - 2/14 - 97.5/227.5) / 13 = 14.53^2 (the trace of the residual covariance of a moving
// average; worked by hand).
func TestOnsetJitter(t *testing.T) {
	s := right(t)
	clean := s.hits
	rng := rand.New(rand.NewPCG(1, 2))
	const runs = 1500
	var sum float64
	for range runs {
		s.hits = append([]hit(nil), clean...)
		for k := range s.hits {
			s.hits[k].on += 0.010 * rng.NormFloat64()
		}
		p := newPerformance(s.aligned(), DefaultSettings().Limits)
		sum += math.Pow(p.runs()[0].sd, 2)
	}
	if rms := math.Sqrt(sum / runs); !near(rms, 14.53, 0.25) {
		t.Errorf("rms SD of intervals %.2f ms, want 14.53", rms)
	}
}

// TestEvennessOfDetrendedIntervals compares one take with gonum, step by step.
func TestEvennessOfDetrendedIntervals(t *testing.T) {
	s := right(t)
	moves := []float64{0, 7, -12, 3, 9, -4, 0, 11, -8, 2, 5, -6, 13, -1, 4}
	var xs, iois []float64
	for k, m := range moves {
		s.hits[k].on += (m + 2*float64(k)) / 1000
		if k > 0 {
			xs = append(xs, float64(k))
			iois = append(iois, 1000*(s.hits[k].on-s.hits[k-1].on))
		}
	}
	b, m := stat.LinearRegression(xs, iois, nil, false)
	var rest []float64
	for i := range xs {
		rest = append(rest, iois[i]-b-m*xs[i])
	}
	want := stat.StdDev(rest, nil)
	if got := *s.judged().Evenness[0].SD; !near(got, want, 0.051) {
		t.Errorf("sd %.2f ms, gonum has %.2f", got, want)
	}
}

func TestAudible(t *testing.T) {
	// The table of the 1992 limit, Friberg & Sundberg (1992): 10 ms below 240 ms, 5 % above (with the
	// greater of the two, from 200 ms on).
	l := DefaultSettings().Limits
	for _, c := range []struct{ ioi, want float64 }{
		{100, 10}, {125, 10}, {187.5, 10}, {250, 12.5}, {300, 15}, {400, 20}, {500, 25}, {750, 37.5}, {1000, 50},
	} {
		if got := l.audibleMS(c.ioi); got != c.want {
			t.Errorf("at %.1f ms: %.2f ms, want %.2f", c.ioi, got, c.want)
		}
	}
}

// TestIntervalsThatCount: a wrong note, a correction, a hesitation and the end leave their intervals
// out, and the others stay as they were.
func TestIntervalsThatCount(t *testing.T) {
	count := func(s *stage) (up, down int) {
		for _, e := range s.judged().Evenness {
			if e.Direction == "up" {
				up = e.Notes
			} else {
				down = e.Notes
			}
		}
		return up, down
	}
	for _, c := range []struct {
		name     string
		change   func(s *stage)
		up, down int
	}{
		{"clean: the last two notes are out", func(*stage) {}, 15, 12},
		{"a wrong note parts the run", func(s *stage) { s.hits[4].key++ }, 14, 12},
		{"a hesitation parts it and leaves no note out", func(s *stage) { s.later(s.hits[20].on, 0.5) }, 15, 12},
		{"a missing note", func(s *stage) { s.drop(1) }, 13, 12},
		{"a correction takes the note with it", func(s *stage) {
			at := s.hits[7].on
			s.later(at, 0.3)
			s.hits = append(s.hits, hit{expected: -1, near: 7, key: 73, velocity: 60, on: at, length: 0.1, why: align.Corrected})
		}, 14, 12},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := right(t)
			c.change(s)
			if up, down := count(s); up != c.up || down != c.down {
				t.Errorf("%d and %d notes, want %d and %d", up, down, c.up, c.down)
			}
			a := s.judged()
			for _, e := range a.Evenness {
				if *e.SD > 0.1 {
					t.Errorf("%s: sd %.1f ms of an even scale", e.Direction, *e.SD)
				}
			}
		})
	}
}

// TestIntervalsCountWhateverTheBeat: three notes to the beat are thirds of it, which no float is.
func TestIntervalsCountWhateverTheBeat(t *testing.T) {
	for n := 1; n <= 8; n++ {
		r := scale(cMajor, references.Major, references.RightAlone)
		r.BPM, r.BeatLength, r.NotesPerBeat = 60, references.Q(1, 1), n
		a := even(written(t, r), 0.2).judged()
		if len(a.Evenness) != 2 || a.Evenness[0].Notes != 15 || a.Evenness[1].Notes != 12 {
			t.Errorf("%d notes to the beat: %+v, want runs of 15 and 12 notes", n, a.Evenness)
		}
	}
}

func TestCoarseClock(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].on += 0.002 * float64(k%2)
	}
	s.period = 10 * time.Millisecond
	a := s.judged()
	if e := a.Evenness[0]; e.SD != nil || e.CV != nil || e.Audible != nil || e.Worst != nil || e.IOI == 0 {
		t.Errorf("evenness finer than the clock is told: %+v", e)
	}
	if len(a.find(CoarseClock)) != 1 || len(a.find(Uneven)) != 0 {
		t.Errorf("findings %+v", a.Findings)
	}
	// What a clock of 5 ms hides is within the limit, whatever it is: there is nothing to say.
	s.period = 5 * time.Millisecond
	if a := s.judged(); a.Evenness[0].SD != nil || len(a.find(CoarseClock)) != 0 {
		t.Errorf("evenness %+v, findings %+v", a.Evenness[0], a.Findings)
	}
	s.period = time.Millisecond
	if e := s.judged().Evenness[0]; e.SD == nil {
		t.Error("evenness coarser than the clock is not told")
	}
	// Going down can be told, and is uneven; that going up cannot be told is then no word about the take.
	s.period = 10 * time.Millisecond
	for k := 15; k < len(s.hits); k++ {
		s.hits[k].on += 0.045 * float64(k%3)
	}
	if a := s.judged(); a.Evenness[0].SD != nil || len(a.find(Uneven)) != 1 || len(a.find(CoarseClock)) != 0 {
		t.Errorf("evenness %+v, findings %+v", a.Evenness, a.Findings)
	}
}

func TestLongShort(t *testing.T) {
	s := right(t)
	for k := range s.hits {
		s.hits[k].on += 0.05 * float64(k%2)
	}
	if fs := s.judged().find(LongShort); len(fs) != 2 {
		t.Errorf("%d runs go long and short, want both: %+v", len(fs), fs)
	}
}

func TestLongTonicIsSaid(t *testing.T) {
	s := right(t)
	s.later(s.hits[8].on, 0.06) // the C in the middle, going up, is held
	a := s.judged()
	if len(a.find(LongTonic)) != 1 || len(a.find(Uneven)) != 0 || *a.Marks.Time != 100 {
		t.Errorf("a tonic held at the octave: time %d, findings %+v", *a.Marks.Time, a.Findings)
	}
	s = right(t)
	s.later(s.hits[6].on, 0.06) // an A held is uneven
	if a := s.judged(); len(a.find(LongTonic)) != 0 || len(a.find(Uneven)) == 0 {
		t.Errorf("another note held: findings %+v", a.Findings)
	}
}

// TestLevels: one unevenness of 9 to 14 % passes at the first level and is a fault at the top, where what
// can be heard at this speed (14.1/300 = 7.1 %) is below both limits.
func TestLevels(t *testing.T) {
	s := even(written(t, scale(cMajor, references.Major, references.RightAlone)), 0.3)
	for k := range s.hits {
		s.hits[k].on += 0.019 * []float64{0, 1, -1, 0, -1, 1, 1, -1}[k%8]
	}
	for _, e := range s.judged().Evenness {
		if *e.CV < 8.8 || *e.CV > 14.8 {
			t.Fatalf("cv %.1f %% is not between the limits", *e.CV)
		}
	}
	fault := func(l Level) bool {
		for _, f := range s.against(*s.ref.Request, ForLevel(l)).find(Uneven) {
			if f.Severity == Fault {
				return true
			}
		}
		return false
	}
	if fault(First) || !fault(Top) {
		t.Errorf("fault at first %v, at the top %v", fault(First), fault(Top))
	}
}
