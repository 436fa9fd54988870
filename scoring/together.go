package scoring

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// ensemble is how the hands fall together.
type ensemble struct {
	events []int
	diffs  []float64 // left minus right, ms
	mean   float64
	sd     float64 // n-1; NaN of one
}

// rms is the root mean square of the differences, which sees hands that are steadily apart as well
// as hands that are now and then.
func (e *ensemble) rms() float64 { return math.Sqrt(squares(e.diffs) / float64(len(e.diffs))) }

// worst is the event at which the hands are furthest apart.
func (e *ensemble) worst() int {
	k := 0
	for i, d := range e.diffs {
		if math.Abs(d) > math.Abs(e.diffs[k]) {
			k = i
		}
	}
	return e.events[k]
}

// together measures left minus right at every onset where both hands have right notes, nil where
// there is none. A unison is one key and says nothing. An onset before which a hand hesitates, or at
// which it is a note ahead, is a thing of its own and left out.
func (p *performance) together() *ensemble {
	right, left := p.hand(references.Right), p.hand(references.Left)
	if right == nil || left == nil {
		return nil
	}
	e := &ensemble{}
	for i := range right.steps {
		r := &right.steps[i]
		l := left.step(r.event)
		if l == nil || !r.correct || !l.correct || p.shared(r) || p.trouble[r.event] || p.ahead[r.event] || p.all.waitAt(r.event) ||
			p.score && (p.adorned(r) || p.adorned(l)) {
			continue
		}
		e.events = append(e.events, r.event)
		e.diffs = append(e.diffs, 1000*(l.on-r.on))
	}
	if len(e.diffs) == 0 {
		return nil
	}
	e.mean, e.sd = stat.Mean(e.diffs, nil), math.NaN()
	if len(e.diffs) > 1 {
		e.sd = stat.StdDev(e.diffs, nil)
	}
	return e
}

// shared reports whether a step has a unison of the hands in it.
func (p *performance) shared(s *step) bool {
	for _, i := range s.notes {
		if p.Reference.Notes[i].Hand == references.Both {
			return true
		}
	}
	return false
}

// tell gives the contract's words; the spread is null where the clock is coarser.
func (e *ensemble) tell(p *performance) *Together {
	if e == nil {
		return nil
	}
	t := &Together{Notes: len(e.diffs), Mean: tenths(e.mean)}
	if p.told(e.sd / 1000) {
		t.SD = known(e.sd)
	}
	return t
}
