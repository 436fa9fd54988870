package scoring

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// interval is one inter-onset interval (IOI): from one step of a hand to the next, both right, next
// to one another in the reference, with no hesitation, restart or correction in it.
type interval struct {
	from, to  *step
	ms        float64
	deviation float64 // from the straight line through its run, in ms; above 0 the arriving note is late
}

// run is the intervals of one hand in one direction.
type run struct {
	hand      references.Hand
	direction references.Direction
	intervals []interval
	notes     int // that take part
	ioi       float64
	sd        float64 // NaN below Limits.MinIntervals
}

// cv is the SD as a share of the mean interval, in percent.
func (r *run) cv() float64 { return 100 * r.sd / r.ioi }

// runs gathers the intervals of each hand by direction. The interval across the turn is in neither,
// and of the whole request the last Limits.EndNotes notes are left out. Only intervals of the usual
// written length count.
func (p *performance) runs() []run {
	const rounding = 1e-9 // a third of a quarter is no exact float
	var rs []run
	usual := p.usualGap()
	for i := range p.lines {
		l := &p.lines[i]
		end := len(p.starts) - 1 - p.limits.EndNotes
		for _, d := range []references.Direction{references.Up, references.Down} {
			r := run{hand: l.hand, direction: d}
			last := -1
			for _, g := range p.gaps(l) {
				a, b := &l.steps[g.from], &l.steps[g.to]
				if !g.steady() || !a.correct || !b.correct || math.Abs(g.quarters-usual) > rounding || b.event >= end ||
					a.direction != d || b.direction != d {
					continue
				}
				if g.from != last {
					r.notes++
				}
				r.notes++
				last = g.to
				r.intervals = append(r.intervals, interval{from: a, to: b, ms: 1000 * g.seconds})
			}
			if len(r.intervals) > 0 {
				r.measure(p.limits.MinIntervals)
				rs = append(rs, r)
			}
		}
	}
	return rs
}

// measure finds how even the run is. With intervals x[k], k the place in the reference, and the
// least-squares line a + b k through them,
//
//	sd = sqrt( sum (x[k] - a - b k)^2 / (n-1) ),
//
// the standard deviation of the intervals after the straight-line change of tempo is taken off.
// Independent jitter s of the onsets gives an sd of about s sqrt 2. The SD of inter-onset intervals
// as the measure of an even scale: Jabusch, Vauth & Altenmüller (2004), Movement Disorders 19(2),
// 171-180.
func (r *run) measure(least int) {
	xs, ys := make([]float64, len(r.intervals)), make([]float64, len(r.intervals))
	for k, v := range r.intervals {
		xs[k], ys[k] = float64(v.to.event), v.ms
	}
	r.ioi = stat.Mean(ys, nil)
	if len(ys) < max(least, 3) {
		r.sd = math.NaN()
		return
	}
	rest := detrend(xs, ys)
	for k := range rest {
		r.intervals[k].deviation = rest[k]
	}
	r.sd = stat.StdDev(rest, nil)
}

// withoutLongTonics is the run less the intervals by which a key note is held for clearly longer than
// its neighbours, and how many those were: longer than an ear would pass over, and by more than three
// SDs of the others. To lean on the tonic at each octave is a way of playing a scale; it is said and
// not charged.
func (p *performance) withoutLongTonics(r *run) (run, int) {
	q := p.Reference.Request
	if q == nil || q.Kind != references.Scale || math.IsNaN(r.sd) {
		return *r, 0
	}
	others := run{hand: r.hand, direction: r.direction, notes: r.notes}
	var tonics []interval
	for _, v := range r.intervals {
		if p.Reference.Notes[v.from.notes[0]].Pitch.Name == q.Tonic && v.deviation > p.limits.audibleMS(r.ioi) {
			tonics = append(tonics, v)
		} else {
			others.intervals = append(others.intervals, v)
		}
	}
	if len(tonics) == 0 || len(others.intervals) < p.limits.MinIntervals {
		return *r, 0
	}
	others.measure(p.limits.MinIntervals)
	for _, v := range tonics {
		if v.ms-others.ioi <= 3*others.sd {
			return *r, 0
		}
	}
	return others, len(tonics)
}

// worst is the interval furthest from the line, the first of equals. A note that comes late makes a
// long interval and then a short one: of two about as far off, the long one is named.
func (r *run) worst() *interval {
	const about = 1.25
	weight := func(v *interval) float64 {
		if v.deviation > 0 {
			return about * v.deviation
		}
		return -v.deviation
	}
	w := &r.intervals[0]
	for k := range r.intervals {
		if v := &r.intervals[k]; weight(v) > weight(w) {
			w = v
		}
	}
	return w
}

// limitPercent is how large the SD of the run may be, in percent of the mean interval: the level's
// limit, or what an ear can hear at this speed where that is more.
func (r *run) limitPercent(l Limits) float64 {
	return max(l.EvennessPercent, 100*math.Sqrt2*l.audibleMS(r.ioi)/r.ioi)
}

// evenness tells the runs in the words of the contract. The SD and what follows from it is null
// where the clock that stamped the take is coarser.
func (p *performance) evenness(rs []run) []Evenness {
	out := make([]Evenness, 0, len(rs))
	for i := range rs {
		r := &rs[i]
		e := Evenness{
			Hand: r.hand.String(), Direction: r.direction.String(),
			Notes: r.notes, IOI: tenths(r.ioi),
		}
		if p.told(r.sd / 1000) {
			e.SD, e.CV = known(r.sd), known(r.cv())
			e.Audible = new(r.sd/math.Sqrt2 > p.limits.audibleMS(r.ioi))
			w := r.worst()
			e.Worst = &WorstStep{
				Onset: w.to.onset.Float(), Deviation: tenths(w.deviation),
				Notes: p.stepName(w.from) + "-" + p.stepName(w.to), Fingers: p.fingers(w.from, w.to, r.hand),
			}
		}
		out = append(out, e)
	}
	return out
}

// told reports whether a spread in seconds is no finer than the grain of the clock.
func (p *performance) told(spread float64) bool {
	return !math.IsNaN(spread) && spread >= p.Take.Period.Seconds()
}

// stepName is the name of the lowest note of a step: "E♭4".
func (p *performance) stepName(s *step) string { return p.pitch(s.notes[0]).String() }

// fingers gives "3-1", or "" where a finger is unknown or a step is a chord.
func (p *performance) fingers(a, b *step, h references.Hand) string {
	f, g := p.finger(a, h), p.finger(b, h)
	if f == 0 || g == 0 {
		return ""
	}
	return fmt.Sprintf("%d-%d", f, g)
}

// finger is the usual finger of hand h on a step of one note, else 0.
func (p *performance) finger(s *step, h references.Hand) int8 {
	if len(s.notes) != 1 {
		return 0
	}
	return p.Reference.Notes[s.notes[0]].Fingering(h)
}
