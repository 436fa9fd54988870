package scoring

import (
	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// crossing is what the thumb does between two notes.
type crossing int8

const (
	noCrossing  crossing = iota
	thumbUnder           // the thumb passes under the hand
	fingersOver          // a finger crosses over the thumb
)

// crossingOf tells the passage of the thumb by the usual fingering. The right hand going up and the
// left going down move away from the thumb's side, finger after finger; where the next finger is the
// thumb it has passed under. Coming back, a finger after the thumb has crossed over.
func crossingOf(h references.Hand, d references.Direction, from, to int8) crossing {
	if from == 0 || to == 0 || from == to {
		return noCrossing
	}
	away := h == references.Right && d == references.Up || h == references.Left && d == references.Down
	switch {
	case away && to == 1:
		return thumbUnder
	case !away && from == 1:
		return fingersOver
	}
	return noCrossing
}

// lateCrossings are the crossings of one run that come late as a group.
type lateCrossings struct {
	run   *run
	kind  crossing
	steps []*step // the notes that arrive late
	late  float64 // ms, the mean over the crossings less the mean over the other intervals
	limit float64 // ms
}

// lateCrossings finds out whether the notes on which the hand crosses are late as a rule. Lateness is
// the deviation of the interval before the note from the line of its run. They are late where they
// are by more on average than a displaced note is heard by, at two crossings in three at least. In
// fast scales the delays at the thumb are what stands out: van Vugt et al. (2014), Exp. Brain
// Research 232, 3555-3567.
func (p *performance) lateCrossings(rs []run) []lateCrossings {
	var found []lateCrossings
	for i := range rs {
		r := &rs[i]
		if !p.told(r.sd / 1000) {
			continue
		}
		c := lateCrossings{run: r, limit: p.limits.audibleMS(r.ioi)}
		var at, other []float64
		over := 0
		for k := range r.intervals {
			v := &r.intervals[k]
			kind := crossingOf(r.hand, r.direction, p.finger(v.from, r.hand), p.finger(v.to, r.hand))
			if kind == noCrossing {
				other = append(other, v.deviation)
				continue
			}
			c.kind = kind
			at = append(at, v.deviation)
			if v.deviation > c.limit {
				over++
				c.steps = append(c.steps, v.to)
			}
		}
		if len(at) < p.limits.Crossings || len(other) == 0 || 3*over < 2*len(at) {
			continue
		}
		if c.late = stat.Mean(at, nil) - stat.Mean(other, nil); c.late > c.limit {
			found = append(found, c)
		}
	}
	return found
}
