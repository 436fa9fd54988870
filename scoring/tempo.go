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
// It is taken from the intervals between neighbouring onsets at which a right note was played, the
// mean of the hands where both have one. Intervals with a hesitation, a correction, a restart or a
// missing note in them tell of no tempo and are left out, and so are those of the last few notes,
// which may slow down. The rate is the time of all these intervals over their written length. The
// drift supposes that the interval changes in a straight line: the least-squares line of seconds a
// quarter against place, drawn to the first and the last onset; it is the tempo of that line at the
// last over that at the first, minus one, in percent.
func (p *performance) pulse() pulse {
	nan := math.NaN()
	u := pulse{nan, nan, nan, nan, nan}
	sounded := p.steadyGaps()
	all, middle := p.pulseGaps(sounded)
	if len(all) == 0 {
		return u
	}
	if len(middle) < 2 {
		middle = all
	}
	var xs, ys []float64
	var seconds, quarters float64
	for _, g := range middle {
		a, b := p.all.steps[g.from].onset.Float(), p.all.steps[g.to].onset.Float()
		xs, ys = append(xs, (a+b)/2), append(ys, g.rate())
		seconds += g.seconds
		quarters += g.quarters
	}
	u.rate = seconds / quarters
	if len(xs) < p.limits.MinIntervals {
		return u
	}
	onset := func(step int) float64 { return p.all.steps[step].onset.Float() }
	from, to := onset(sounded[0].from), onset(sounded[len(sounded)-1].to)
	if xs[len(xs)-1]-xs[0] < (to-from)/2 {
		return u // what was steady lies together in one place
	}
	a, b := stat.LinearRegression(xs, ys, nil, false)
	u.start, u.end = a+b*from, a+b*to
	if u.start > 0 && u.end > 0 {
		u.drift = 100 * (u.start/u.end - 1)
		n := float64(len(xs))
		se := math.Sqrt(squares(detrend(xs, ys)) / (n - 2) / (stat.Variance(xs, nil) * (n - 1)))
		u.doubt = 100 * se * (to - from) / u.end
	}
	return u
}

// pulseGaps are the gaps that tell of the tempo, and those of them that are before the last notes.
func (p *performance) pulseGaps(sounded []gap) (all, middle []gap) {
	end := len(p.starts) - 1 - p.limits.EndNotes
	for _, g := range sounded {
		if !g.steady() || g.to != g.from+1 || g.quarters <= 0 {
			continue
		}
		all = append(all, g)
		if p.all.steps[g.to].event < end {
			middle = append(middle, g)
		}
	}
	return all, middle
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
