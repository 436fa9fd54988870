package scoring

import (
	"math"
	"slices"

	"evenhand/references"
)

// wait is one hesitation before an event.
type wait struct {
	event int
	extra float64 // seconds longer than its neighbours
	hand  references.Hand
	turn  bool
	blame bool // the notes round it are right, so that it stands for itself
}

// neighbours is how many gaps on either side tell how long a gap should have been.
const neighbours = 4

// findWaits looks for hesitations in each hand's part and then in what both play.
//
// A hesitation is a gap longer than the local gap by at least Limits.HesitationShare of it and
// HesitationMS; the local gap is the written one at the median rate of up to four neighbours on each
// side. Before the last notes HesitationEndShare holds instead, since an ending may slow down. Hands
// that wait at one place, or at two neighbouring ones, wait once.
func (p *performance) findWaits() {
	var found []wait
	for i := range p.lines {
		found = append(found, p.waitsOf(&p.lines[i])...)
	}
	slices.SortStableFunc(found, func(a, b wait) int { return a.event - b.event })
	var waits []wait
	for _, w := range found {
		if k := len(waits) - 1; k >= 0 {
			last := &waits[k]
			if w.event == last.event || w.event == last.event+1 && w.hand != last.hand {
				if w.event == last.event {
					last.hand = references.NoHand
				}
				last.extra = max(last.extra, w.extra)
				last.turn = last.turn || w.turn
				last.blame = last.blame && w.blame
				continue
			}
		}
		waits = append(waits, w)
	}
	p.all.waits = waits
	for i := range p.lines {
		l := &p.lines[i]
		l.waits = nil
		for _, w := range found {
			if w.hand == l.hand {
				l.waits = append(l.waits, w)
			}
		}
	}
}

func (p *performance) waitsOf(l *line) []wait {
	gs := p.gaps(l)
	var waits []wait
	for k, g := range gs {
		if g.broken || g.free {
			continue
		}
		local := localRate(gs, k) * g.quarters
		if math.IsNaN(local) {
			continue
		}
		to := &l.steps[g.to]
		share := p.limits.HesitationShare
		if len(l.steps)-g.to <= p.limits.EndNotes {
			share = p.limits.HesitationEndShare
		}
		extra := g.seconds - local
		if extra < share*local || extra*1000 < p.limits.HesitationMS {
			continue
		}
		from := &l.steps[g.from]
		waits = append(waits, wait{
			event: to.event, extra: extra, hand: l.hand,
			turn:  turns(from, to) || g.to+1 < len(l.steps) && turns(to, &l.steps[g.to+1]),
			blame: g.to == g.from+1 && p.clean(from.event) && p.clean(to.event) && !p.ahead[to.event],
		})
	}
	return waits
}

// turns reports whether the hand turns back between two steps.
func turns(a, b *step) bool {
	return a.direction != b.direction && a.direction != references.NoDirection && b.direction != references.NoDirection
}

// clean reports whether every note of an event is right.
func (p *performance) clean(event int) bool {
	for i := p.starts[event]; i < p.starts[event+1]; i++ {
		if s := p.strokes[i]; s.present && !s.correct {
			return false
		}
	}
	return true
}

// localRate is the median rate of the unbroken neighbours of gap k, in seconds a quarter; NaN where
// there are fewer than two. Of a note longer than most around it those as long alone tell, where there are
// enough: many rhythms are played with their long notes a little short.
func localRate(gs []gap, k int) float64 {
	var rates, alike, lengths []float64
	for step := -1; step <= 1; step += 2 {
		for i, n := k+step, 0; i >= 0 && i < len(gs) && n < neighbours; i += step {
			if gs[i].section != gs[k].section {
				break
			}
			if gs[i].steady() {
				rates, lengths = append(rates, gs[i].rate()), append(lengths, gs[i].quarters)
				n++
				if math.Abs(gs[i].quarters-gs[k].quarters) < 1e-6 {
					alike = append(alike, gs[i].rate())
				}
			}
		}
	}
	switch {
	case len(rates) < 2:
		return math.NaN()
	case len(alike) >= 3 && gs[k].quarters > median(lengths)+1e-6:
		return median(alike)
	}
	return median(rates)
}

// waitAt reports whether the line hesitates before an event.
func (l *line) waitAt(event int) bool {
	for _, w := range l.waits {
		if w.event == event {
			return true
		}
	}
	return false
}
