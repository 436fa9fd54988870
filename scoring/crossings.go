package scoring

import (
	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// crossing tells how hand h gets from one step of single notes to the next.
func (p *performance) crossing(a, b *step, h references.Hand) references.Crossing {
	if len(a.notes) != 1 || len(b.notes) != 1 {
		return references.NoCrossing
	}
	return references.CrossingAt(&p.Reference.Notes[a.notes[0]], &p.Reference.Notes[b.notes[0]], h)
}

// lateCrossings are the crossings of one run that come late as a group.
type lateCrossings struct {
	run   *run
	kind  references.Crossing
	steps []*step // the notes that arrive late
	late  float64 // ms, the mean over the crossings less the mean over the other intervals
	limit float64 // ms
}

// lateCrossings finds out whether the notes on which the hand crosses are late as a rule. Lateness is
// the deviation of the interval before the note from the line of its run. They are late where they
// are by more on average than a displaced note is heard by, at two crossings in three at least, and by
// more than twice the standard error that the other intervals, those just after a crossing left out,
// would give so few. In fast scales the delays at the thumb are what stands out: van Vugt et al. (2014), Exp. Brain
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
		var after *step // the note of the last crossing
		for k := range r.intervals {
			v := &r.intervals[k]
			kind := p.crossing(v.from, v.to, r.hand)
			if kind == references.NoCrossing {
				if v.from != after {
					other = append(other, v.deviation)
				}
				continue
			}
			after = v.to
			c.kind = kind
			at = append(at, v.deviation)
			if v.deviation > c.limit {
				over++
				c.steps = append(c.steps, v.to)
			}
		}
		if len(at) < p.limits.Crossings || len(other) < 2 || 3*over < 2*len(at) {
			continue
		}
		mean, sd := stat.MeanStdDev(other, nil)
		c.late = stat.Mean(at, nil) - mean
		if c.late > c.limit && c.late > 2*stat.StdErr(sd, float64(len(at))) {
			found = append(found, c)
		}
	}
	return found
}
