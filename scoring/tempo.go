package scoring

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// pulse is the tempo as it was measured.
type pulse struct {
	rate  float64 // seconds a quarter note; NaN where there are fewer than two onsets
	drift float64 // percent, above 0 faster; NaN where there are too few intervals
	doubt float64 // percent, the standard error of the drift
	start float64 // seconds a quarter at the first onset and at the last, by the line of the drift
	end   float64
}

// pulse fits the tempo to what both hands played.
//
// The onsets of right notes, the mean of the hands where both have one, are strung together: a gap
// with a hesitation, restart or correction in it is taken to have lasted what its neighbours say. Of
// the n onsets, the last few left out, the rate is the median of the slopes between onset i and onset
// i + floor(n/2): the incomplete method of Theil (1950), Proc. Kon. Ned. Akad. Wetensch. 53, 386-392
// (from memory),
// on which single late notes have no hold.
//
// The drift supposes that the interval changes in a straight line. The least-squares line of seconds
// a quarter against place is fitted to the times over two gaps each, so that notes long and short in
// turn make no drift, and fitted again without those that are off the line by more than three robust
// standard deviations (1.4826 times the median deviation) and more than can be heard, so that one note
// held does not either. The drift is the tempo of the line at the last onset that was played over that at
// the first, minus one, in percent. The first few gaps of a long enough request and the last few are
// not fitted, since setting out and closing are slower than the rest (van Vugt et al. (2014), Exp.
// Brain Research 232, 3555-3567), but the line is drawn to both ends.
func (p *performance) pulse() pulse {
	nan := math.NaN()
	u := pulse{nan, nan, nan, nan, nan}
	gs := p.steadyGaps()
	if len(gs) == 0 {
		return u
	}
	u.rate = theil(p.strung(gs))
	xs, ys := p.twoGaps(gs)
	if len(xs) <= p.limits.MinIntervals {
		return u
	}
	if keep := p.onLine(xs, ys); len(keep) > p.limits.MinIntervals && len(keep) < len(xs) {
		var kx, ky []float64
		for _, i := range keep {
			kx, ky = append(kx, xs[i]), append(ky, ys[i])
		}
		xs, ys = kx, ky
	}
	steps := p.all.steps
	from, to := steps[gs[0].from].onset.Float(), steps[gs[len(gs)-1].to].onset.Float()
	if xs[len(xs)-1]-xs[0] < (to-from)/2 {
		return u // what was steady lies together in one place
	}
	a, b := stat.LinearRegression(xs, ys, nil, false)
	u.start, u.end = a+b*from, a+b*to
	if u.start > 0 && u.end > 0 {
		u.drift = 100 * (u.start/u.end - 1)
		// Neighbouring pairs of gaps share one of them, so that half of the points are news.
		rest := detrend(xs, ys)
		n := float64(len(xs))
		se := math.Sqrt(2 * squares(rest) / (n - 2) / (stat.Variance(xs, nil) * (n - 1)))
		u.doubt = 100 * se * (to - from) / u.end
	}
	return u
}

// twoGaps are the seconds a quarter over each two steady gaps in a row, against the onset between
// them in quarters, the last few notes left out.
func (p *performance) twoGaps(gs []gap) (xs, ys []float64) {
	start, end := 0, len(p.starts)-1-p.limits.EndNotes
	if end > 3*neighbours {
		start = p.limits.EndNotes
	}
	for k := 1; k < len(gs); k++ {
		a, b := gs[k-1], gs[k]
		if !a.steady() || !b.steady() || p.all.steps[a.from].event < start || p.all.steps[b.to].event >= end {
			continue
		}
		quarters := a.quarters + b.quarters
		xs = append(xs, p.all.steps[a.from].onset.Float()+quarters/2)
		ys = append(ys, (a.seconds+b.seconds)/quarters)
	}
	return xs, ys
}

// onLine are the indices of the points that are not far off the line through all of them.
func (p *performance) onLine(xs, ys []float64) []int {
	rest := detrend(xs, ys)
	for i := range rest {
		rest[i] = math.Abs(rest[i])
	}
	far := max(3*1.4826*median(rest), p.limits.AudibleShare*stat.Mean(ys, nil))
	var keep []int
	for i, r := range rest {
		if r <= far {
			keep = append(keep, i)
		}
	}
	return keep
}

// steadyGaps are the gaps between onsets at which the hands played a right note, those next to a
// hesitation marked as one.
func (p *performance) steadyGaps() []gap {
	l := line{hand: references.Both, waits: p.all.waits}
	for _, s := range p.all.steps {
		s.sounded = s.sounded && p.anyCorrect(&s)
		l.steps = append(l.steps, s)
	}
	gs := p.gaps(&l)
	for k := range gs {
		// one hand waiting moves the mean of both, and the next gap is short by as much
		gs[k].wait = gs[k].wait || k > 0 && l.waitAt(l.steps[gs[k].from].event)
	}
	return gs
}

func (p *performance) anyCorrect(s *step) bool {
	for _, i := range s.notes {
		if p.strokes[i].correct {
			return true
		}
	}
	return false
}

// strung returns the onsets in quarters and in seconds, with what is no steady gap replaced.
func (p *performance) strung(gs []gap) (quarters, at []float64) {
	t := 0.0
	at = append(at, t)
	quarters = append(quarters, p.all.steps[gs[0].from].onset.Float())
	end := len(p.starts) - 1 - p.limits.EndNotes
	for k, g := range gs {
		if p.all.steps[g.to].event >= end && len(at) > neighbours {
			break
		}
		d := g.seconds
		if !g.steady() {
			if r := localRate(gs, k); !math.IsNaN(r) {
				d = r * g.quarters
			}
		}
		t += d
		at = append(at, t)
		quarters = append(quarters, p.all.steps[g.to].onset.Float())
	}
	return quarters, at
}

// theil is the median slope of ys over xs by Theil's incomplete method.
func theil(xs, ys []float64) float64 {
	h := len(xs) / 2
	var slopes []float64
	for i := range len(xs) - h {
		if dx := xs[i+h] - xs[i]; dx > 0 {
			slopes = append(slopes, (ys[i+h]-ys[i])/dx)
		}
	}
	return median(slopes)
}

var beatNames = map[references.Quarters]string{
	references.Q(4, 1): "whole", references.Q(2, 1): "half", references.Q(3, 1): "dotted half",
	references.Q(1, 1): "quarter", references.Q(3, 2): "dotted quarter", references.Q(1, 2): "eighth",
	references.Q(3, 4): "dotted eighth", references.Q(1, 4): "16th",
}

// beatName is the note value of a beat: "quarter", "dotted half", or quarters as a number.
func beatName(q references.Quarters) string {
	if s, ok := beatNames[q]; ok {
		return s
	}
	return q.String() + " quarters"
}

// tempo tells the pulse in the words of the contract, nil where there is none. A metronome mark needs
// notes to the beat: those of the request, else the nearest of 1, 2, 3 and 4 to what was played; the
// tempo is then told in that beat.
func (p *performance) tempo(u pulse, asked *references.Request) *Tempo {
	if math.IsNaN(u.rate) || u.rate <= 0 {
		return nil
	}
	beat := p.Reference.Beat
	if beat.Cmp(references.Quarters{}) <= 0 {
		beat = references.Q(1, 1)
	}
	length := beat.Float()
	usual := p.usualGap()
	t := &Tempo{Beat: beatName(beat), Verdict: notAsked, DriftPercent: known(u.drift)}
	mark := p.Reference.Tempo
	if asked != nil && asked.BPM > 0 {
		mark = references.Tempo{BPM: asked.BPM, Beat: asked.BeatLength}
	}
	if asked != nil && mark.BPM > 0 && usual > 0 {
		n := float64(asked.NotesPerBeat)
		if n == 0 {
			n = nearestBeat(60/(u.rate*usual), mark.BPM)
		}
		length = n * usual
		if mark.Beat.Cmp(references.Quarters{}) > 0 {
			t.Beat = beatName(mark.Beat)
		}
	} else if mark.BPM > 0 && mark.Beat.Cmp(references.Quarters{}) > 0 {
		length, t.Beat = mark.Beat.Float(), beatName(mark.Beat)
	}
	bpm := 60 / (u.rate * length)
	t.BPM = tenths(bpm)
	if usual > 0 {
		t.NotesPerBeat = known(length / usual)
		t.NotesPerSecond = new(thousandths(1 / (u.rate * usual)))
	}
	if mark.BPM > 0 {
		t.Asked = &mark.BPM
		t.Verdict = p.tempoVerdict(bpm, mark.BPM)
	}
	return t
}

func (p *performance) tempoVerdict(bpm, asked float64) string {
	switch off := 100 * (bpm/asked - 1); {
	case off < -p.limits.SlowPercent:
		return "slower"
	case off > p.limits.FastPercent:
		return "faster"
	}
	return asAsked
}

// nearestBeat is which of 1, 2, 3 and 4 notes to the beat brings notes (a minute) nearest to bpm, as
// a ratio.
func nearestBeat(notes, bpm float64) float64 {
	best, off := 1.0, math.Inf(1)
	for n := 1.0; n <= 4; n++ {
		if d := math.Abs(math.Log(notes / n / bpm)); d < off {
			best, off = n, d
		}
	}
	return best
}
