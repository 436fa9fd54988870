package scoring

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"evenhand/references"
)

// BarTempo is the tempo of one bar as it was played, in the beat of the reference; BPM is null where
// the bar was broken off or cannot be timed.
type BarTempo struct {
	Bar   string   `json:"bar"`
	Pass  int      `json:"pass"`
	Onset float64  `json:"onset"` // quarter notes from the start
	BPM   *float64 `json:"bpm"`
}

// barPace is how long a quarter note lasted in one bar.
type barPace struct {
	bar  int     // index into Reference.Bars
	rate float64 // seconds a quarter; NaN where it is not known
	free bool    // a written change of tempo lies in it
	wait bool    // a hesitation lies in it
	mark int     // the tempo mark it stands under
}

// paces measures each bar that was played: from the moment of its first beat to that of the next
// bar's, found between the neighbouring onsets by a straight line where nothing is struck on the beat.
func (p *performance) paces() []barPace {
	gs := p.steadyGaps()
	var out []barPace
	for k, b := range p.Reference.Bars {
		if !p.onRoute(b.Onset) {
			continue
		}
		end := b.Onset.Add(b.Length)
		from, ok1 := p.momentOf(gs, b.Onset, false)
		to, ok2 := p.momentOf(gs, end, true)
		pace := barPace{bar: k, rate: math.NaN()}
		var at gap
		p.placeGap(&at, b.Onset, end)
		pace.free, pace.mark = at.free, at.section
		if ok1 && ok2 && to > from && !p.brokenWithin(gs, b.Onset, end) {
			pace.rate = (to - from) / b.Length.Float()
		}
		for _, w := range p.all.waits {
			on := p.onset(w.event)
			pace.wait = pace.wait || b.Onset.Less(on) && !end.Less(on)
		}
		out = append(out, pace)
	}
	return out
}

// momentOf is when onset q was reached, by the gap it lies in: the last that begins before it, or the
// first that ends after it. It is false outside of what was played.
func (p *performance) momentOf(gs []gap, q references.Quarters, before bool) (float64, bool) {
	steps := p.all.steps
	k := sort.Search(len(gs), func(k int) bool {
		to := steps[gs[k].to].onset
		return q.Less(to) || before && q == to
	})
	if k == len(gs) || q.Less(steps[gs[k].from].onset) {
		return 0, false
	}
	a := &steps[gs[k].from]
	return a.on + gs[k].rate()*q.Sub(a.onset).Float(), true
}

// brokenWithin reports whether a restart, a correction or a foreign note lies between two onsets.
func (p *performance) brokenWithin(gs []gap, from, to references.Quarters) bool {
	for _, g := range gs {
		a, b := p.all.steps[g.from].onset, p.all.steps[g.to].onset
		if g.broken && a.Less(to) && from.Less(b) {
			return true
		}
	}
	return false
}

// onRoute reports whether an onset is part of what was played of the full unfolding.
func (p *performance) onRoute(q references.Quarters) bool {
	for _, s := range p.Route {
		if !q.Less(s.From) && q.Less(s.To) {
			return true
		}
	}
	return len(p.Route) == 0
}

// curve tells the tempo of each bar in the contract's words.
func (p *performance) curve(ps []barPace) []BarTempo {
	beat := p.beat().Float()
	out := make([]BarTempo, 0, len(ps))
	seen := map[int]int{} // a repeat left out makes the second time the first
	for _, b := range ps {
		bar := &p.Reference.Bars[b.bar]
		seen[bar.Written]++
		out = append(out, BarTempo{bar.Number, seen[bar.Written], bar.Onset.Float(), known(60 / (b.rate * beat))})
	}
	return out
}

// beat is the beat in which tempo is told.
func (p *performance) beat() references.Quarters {
	if b := p.Reference.Beat; b.Cmp(references.Quarters{}) > 0 {
		return b
	}
	return references.Q(1, 1)
}

// unsteadiness is the mean change of tempo from one bar to the next, in percent and whichever way,
// and the bar into which it changed most. Bars with a written change are left out. NaN where too few
// bars were measured.
func (p *performance) unsteadiness(ps []barPace) (percent float64, worst int) {
	var sum, most float64
	n := 0
	for k := 1; k < len(ps); k++ {
		a, b := ps[k-1], ps[k]
		if a.free || b.free || a.mark != b.mark || math.IsNaN(a.rate+b.rate) {
			continue
		}
		d := math.Abs(math.Log(a.rate / b.rate))
		if d > most {
			most, worst = d, b.bar
		}
		sum += d
		n++
	}
	if n < p.limits.MinIntervals {
		return math.NaN(), 0
	}
	return 100 * math.Expm1(sum/float64(n)), worst
}

// barDrift is the change of tempo over a piece of one tempo in percent, by Theil's median slope of the
// bars' logarithmic tempo, so that single bars have no hold. NaN where there are several tempi or too
// few bars without a hesitation.
func (p *performance) barDrift(ps []barPace) float64 {
	var xs, ys []float64
	for _, b := range ps {
		if b.mark != ps[0].mark {
			return math.NaN()
		}
		if !b.free && !b.wait && !math.IsNaN(b.rate) {
			xs, ys = append(xs, p.Reference.Bars[b.bar].Onset.Float()), append(ys, -math.Log(b.rate))
		}
	}
	if len(xs) < 2*p.limits.MinIntervals {
		return math.NaN()
	}
	return 100 * math.Expm1(theil(xs, ys)*(xs[len(xs)-1]-xs[0]))
}

// steadiness files bars of unlike tempo, and a piece that ends in another tempo than it began.
func (l *ledger) steadiness(ps []barPace, c PieceCharges) (unsteady, drift float64) {
	unsteady, worst := l.unsteadiness(ps)
	if loss := l.charges.beyond(unsteady, l.piece.SteadyPercent, c.Unsteady); loss > 0 {
		f := Finding{
			Kind: UnsteadyTempo, Measured: known(unsteady), Limit: known(l.piece.SteadyPercent), Unit: "percent from bar to bar", Source: chosenSource,
			mark: timeMark, loss: math.Min(loss, 2*c.Unsteady), Severity: Light,
			Text: fmt.Sprintf("The tempo was not the same from bar to bar; it changed most into bar %s.", l.Reference.Bars[worst].Number),
			try:  "Choose the tempo of the hardest bar for all of it, and count the beats aloud.",
		}
		if unsteady > l.piece.SteadyPercent {
			f.Severity = Fault
		}
		l.add(l.about(f, l.notesOfBar(worst)...))
	}
	drift = l.barDrift(ps)
	if over := math.Abs(drift) - l.piece.DriftPercent; over > 0 {
		how := "faster"
		if drift < 0 {
			how = "slower"
		}
		l.add(Finding{
			Kind: Drift, Measured: known(drift), Limit: known(l.piece.DriftPercent), Unit: "percent", Source: chosenSource,
			mark: timeMark, loss: c.Drift * over / l.piece.DriftPercent, Severity: Light,
			Text: fmt.Sprintf("It was about %s percent %s at the end than at the beginning.", strconv.Itoa(int(math.Round(math.Abs(drift)))), how),
			try:  "Play the first bar again right after the last one and compare.",
		})
	}
	return unsteady, drift
}

// notesOfBar are the expected notes of a bar that are in the alignment.
func (p *performance) notesOfBar(bar int) []int {
	var out []int
	for i := range p.Reference.Notes {
		if p.strokes[i].present && p.Reference.Notes[i].Measure == bar {
			out = append(out, i)
		}
	}
	return out
}
