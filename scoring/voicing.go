package scoring

import (
	"math"
	"slices"

	"evenhand/references"
)

// voicing is how the notes of a score stand out from one another.
type voicing struct {
	balance float64 // left minus right where both strike, median; NaN where they never do
	spread  float64 // velocity between the softest and the loudest tenth of the notes; NaN of too few
	melody  float64 // the highest note over the others struck with it, median; NaN where nothing is
	hands   bool    // more than one note at a time, or more than one dynamic, so that contrast is asked
}

// voicing measures loudness across all the notes struck, and of the top line over what goes with it.
func (p *performance) voicing(ps []Passage, hs []Hairpin) voicing {
	v := voicing{balance: p.handBalance(), spread: math.NaN(), melody: math.NaN()}
	var all, over []float64
	for k := range p.all.steps {
		s := &p.all.steps[k]
		var vs []float64
		for _, i := range s.notes {
			if n := p.strokes[i].played; n >= 0 && p.Reference.Notes[i].Grace == references.NoGrace {
				vs = append(vs, float64(p.Take.Notes[n].Velocity))
			}
		}
		all = append(all, vs...)
		if len(vs) > 1 {
			over = append(over, vs[len(vs)-1]-median(vs[:len(vs)-1]))
		}
	}
	v.melody = median(over)
	v.hands = len(p.lines) > 1 || len(ps) > 1 || len(hs) > 0
	if len(all) >= 10 {
		slices.Sort(all)
		v.spread = all[9*len(all)/10] - all[len(all)/10]
	}
	return v
}

// handBalance compares the hands only where both strike, so that a hand with more notes in a loud
// passage is not taken for the louder one.
func (p *performance) handBalance() float64 {
	right, left := p.hand(references.Right), p.hand(references.Left)
	if right == nil || left == nil {
		return math.NaN()
	}
	var diffs []float64
	for k := range right.steps {
		r := &right.steps[k]
		if l := left.step(r.event); l != nil && !p.shared(r) {
			if a, b := p.loudest(l), p.loudest(r); a > 0 && b > 0 {
				diffs = append(diffs, a-b)
			}
		}
	}
	return median(diffs)
}

// flat files a piece played all on one level, where there are two hands, or marks, that ask for more.
func (l *ledger) flat(v voicing, c PieceCharges) {
	short := (l.piece.FlatUnits - v.spread) / l.piece.FlatUnits
	if !v.hands || !(short > 0) {
		return
	}
	f := Finding{
		Kind: AllOneLevel, Measured: known(v.spread), Limit: known(l.piece.FlatUnits), Unit: "velocity", Source: stepsSource,
		mark: soundMark, loss: c.Flat * short, Severity: Light,
		Text: "It was nearly all equally loud.",
		try:  "Bring the tune out above what goes with it, and let each phrase rise and fall.",
	}
	if short > 0.5 {
		f.Severity = Fault
	}
	l.add(f)
}
