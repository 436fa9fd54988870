package scoring

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// force is the velocity of one stroke of a hand's part.
type force struct {
	event     int
	direction references.Direction
	velocity  float64
	alone     bool // not a unison of the hands
}

// volume is how loud a take was.
type volume struct {
	all     []float64
	hands   []handVolume
	spread  float64 // NaN where there are too few notes
	balance float64 // NaN of one hand
	out     float64 // rise of velocity on the way out; NaN where there are too few notes
	back    float64
}

type handVolume struct {
	hand   references.Hand
	forces []force
	median float64
}

// fixedStrokes is how many strokes of one velocity make a keyboard of fixed velocity.
const fixedStrokes = 6

// volume measures loudness from the keys struck in the marked run, right or wrong. It is nil where
// nothing was played or the keyboard sends one velocity for every key.
func (p *performance) volume() *volume {
	v := &volume{}
	for i := range p.strokes {
		if k := p.strokes[i].played; k >= 0 {
			v.all = append(v.all, float64(p.Take.Notes[k].Velocity))
		}
	}
	if len(v.all) == 0 || p.fixedVelocity() {
		return nil
	}
	for i := range p.lines {
		if h := p.handVolume(&p.lines[i]); len(h.forces) > 0 {
			v.hands = append(v.hands, h)
		}
	}
	v.balance = math.NaN()
	if len(v.hands) == 2 {
		v.balance = v.hands[1].aloneMedian() - v.hands[0].aloneMedian()
	}
	v.spread = p.spread(v.hands)
	v.out, v.back = swell(v.hands)
	return v
}

// fixedVelocity reports whether every key of the take has one velocity.
func (p *performance) fixedVelocity() bool {
	notes := p.Take.Notes
	for i := range notes {
		if notes[i].Velocity != notes[0].Velocity {
			return false
		}
	}
	return len(notes) >= fixedStrokes
}

func (p *performance) handVolume(l *line) handVolume {
	h := handVolume{hand: l.hand}
	var vs []float64
	for k := range l.steps {
		s := &l.steps[k]
		for _, i := range s.notes {
			t := p.strokes[i]
			if t.played < 0 {
				continue
			}
			f := force{s.event, s.direction, float64(p.Take.Notes[t.played].Velocity), p.Reference.Notes[i].Hand != references.Both}
			h.forces = append(h.forces, f)
			vs = append(vs, f.velocity)
		}
	}
	h.median = median(vs)
	return h
}

// aloneMedian leaves the unisons out.
func (h *handVolume) aloneMedian() float64 {
	var vs []float64
	for _, f := range h.forces {
		if f.alone {
			vs = append(vs, f.velocity)
		}
	}
	return median(vs)
}

// spread is the SD of velocity that is left when what belongs to playing well is taken off: in each
// hand and direction the straight rise or fall, and in each hand a light regular stress. It is
// sqrt(sum of squares / (notes less the numbers fitted)), over both hands.
func (p *performance) spread(hands []handVolume) float64 {
	var sum float64
	freedom := 0
	for i := range hands {
		fs, events, n := withoutShape(hands[i].forces, nil)
		freedom += n
		if stress := p.limits.stress(events, fs); stress != nil {
			freedom -= len(stress) - 1
			total := slices.Clone(stress)
			// The lines were drawn through the stress too: a few rounds part the two.
			for range 4 {
				fs, events, _ = withoutShape(hands[i].forces, total)
				for k, m := range means(events, fs, len(total)) {
					total[k] += m
				}
			}
			fs, _, _ = withoutShape(hands[i].forces, total)
		}
		sum += squares(fs)
	}
	if freedom < p.limits.MinIntervals {
		return math.NaN()
	}
	return math.Sqrt(sum / float64(freedom))
}

// withoutShape takes a stress by place in its group, which may be nil, and then the straight line of
// each direction off the velocities of a hand. It gives what is left, the events, and how many
// numbers are free.
func withoutShape(forces []force, stress []float64) (rest []float64, events []int, freedom int) {
	for _, fs := range byDirection(forces) {
		if len(fs) < 3 {
			continue
		}
		xs, ys := coordinates(fs)
		for k, f := range fs {
			if stress != nil {
				ys[k] -= stress[f.event%len(stress)]
			}
			events = append(events, f.event)
		}
		rest = append(rest, detrend(xs, ys)...)
		freedom += len(fs) - 2
	}
	return rest, events, freedom
}

// byDirection parts the forces of a hand where it turns.
func byDirection(fs []force) [][]force {
	var parts [][]force
	for i := 0; i < len(fs); {
		j := i
		for j < len(fs) && fs[j].direction == fs[i].direction {
			j++
		}
		parts = append(parts, fs[i:j])
		i = j
	}
	return parts
}

func coordinates(fs []force) (xs, ys []float64) {
	for _, f := range fs {
		xs = append(xs, float64(f.event))
		ys = append(ys, f.velocity)
	}
	return xs, ys
}

// stress is the mean of what is left by place in a group of 2, 3, 4 or 6 notes, whichever explains
// most, where that is a stress and a light one: it explains at least StressShare of the variance,
// adjusted for the numbers fitted (adjusted R squared), and lies within StressUnits. Else nil.
func (l Limits) stress(events []int, rest []float64) []float64 {
	whole := squares(rest)
	best := l.StressShare
	var found []float64
	for _, period := range []int{2, 3, 4, 6} {
		n := len(rest)
		if n < 3*period || whole == 0 {
			continue
		}
		ms := means(events, rest, period)
		if slices.Max(ms)-slices.Min(ms) > l.StressUnits {
			continue
		}
		var left float64
		for i, e := range events {
			d := rest[i] - ms[e%period]
			left += d * d
		}
		if adjusted := 1 - left/float64(n-period)/(whole/float64(n-1)); adjusted > best {
			best, found = adjusted, ms
		}
	}
	return found
}

// means are the means of xs by place in groups of period events.
func means(events []int, xs []float64, period int) []float64 {
	sums, counts := make([]float64, period), make([]float64, period)
	for i, e := range events {
		sums[e%period] += xs[i]
		counts[e%period]++
	}
	for k := range sums {
		if counts[k] > 0 {
			sums[k] /= counts[k]
		}
	}
	return sums
}

// swell is how far the velocity rose on the way out (in the direction each hand sets out in) and on
// the way back, by the least-squares line over both hands: its slope times the length.
func swell(hands []handVolume) (out, back float64) {
	var there, home []force
	for i := range hands {
		fs := hands[i].forces
		for _, f := range fs {
			if f.direction == fs[0].direction {
				there = append(there, f)
			} else {
				home = append(home, f)
			}
		}
	}
	return rise(there), rise(home)
}

func rise(fs []force) float64 {
	if len(fs) < 4 {
		return math.NaN()
	}
	xs, ys := coordinates(fs)
	low, high := xs[0], xs[0]
	for _, x := range xs {
		low, high = min(low, x), max(high, x)
	}
	_, slope := stat.LinearRegression(xs, ys, nil, false)
	return slope * (high - low)
}

// askedDynamic is the dynamic asked of a hand.
func askedDynamic(q *references.Request, h references.Hand) references.Dynamic {
	if q == nil {
		return references.NoDynamic
	}
	return q.Dynamic.Of(h)
}

// dynamics tells the volume in the words of the contract.
func (p *performance) dynamics(v *volume, q *references.Request, scale *loudnessScale) *Dynamics {
	if v == nil {
		return nil
	}
	m := median(v.all)
	d := &Dynamics{
		Heard: scale.level(m).String(), MedianVelocity: m,
		Spread: known(v.spread), Balance: known(v.balance),
		Hands: make([]HandDynamics, 0, len(v.hands)),
	}
	for i := range v.hands {
		h := &v.hands[i]
		asked, heard := askedDynamic(q, h.hand), scale.level(h.median)
		d.Hands = append(d.Hands, HandDynamics{
			Hand: h.hand.String(), Asked: unless(asked.String()), Heard: heard.String(),
			Verdict: p.limits.loudnessVerdict(asked, heard), MedianVelocity: h.median,
		})
	}
	if q == nil || q.Dynamic.Same() || len(v.hands) < 2 {
		asked := references.NoDynamic
		if len(v.hands) > 0 {
			asked = askedDynamic(q, v.hands[0].hand)
		}
		d.Asked = unless(asked.String())
		d.Verdict = p.limits.loudnessVerdict(asked, scale.level(m))
	} else {
		d.Verdict = worseVerdict(d.Hands[0].Verdict, d.Hands[1].Verdict)
	}
	if q != nil && q.Shape != references.NoShape {
		d.Swell = p.tellSwell(v, q.Shape)
	}
	return d
}

// worseVerdict is that of the hand that is off, the first where both are.
func worseVerdict(a, b string) string {
	for _, v := range []string{a, b} {
		if v == tooLoud || v == tooSoft {
			return v
		}
	}
	if a == notAsked {
		return b
	}
	return a
}

func (p *performance) tellSwell(v *volume, s references.Shape) *Swell {
	w := &Swell{Asked: "crescendo up, diminuendo down", Out: known(v.out), Back: known(v.back), Verdict: asAsked}
	sign := 1.0
	if s == references.EbbUp {
		w.Asked, sign = "diminuendo up, crescendo down", -1
	}
	if sign*v.out < p.limits.SwellUnits || -sign*v.back < p.limits.SwellUnits {
		w.Verdict = notHeard
	}
	return w
}
