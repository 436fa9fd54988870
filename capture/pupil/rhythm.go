package pupil

import "evenhand/references"

// swung is how many quarters later each onset comes than written: where a pair of notes to the beat
// is played long and short, as the score or a fault has it, and where a dotted pair is played slack. Both
// hands' notes of an onset move together. Nil where nothing moves.
func (p *performance) swung() []float64 {
	var out []float64
	move := func(e int, by float64) {
		if out == nil {
			out = make([]float64, p.s.onsets())
		}
		out[e] = by
	}
	for _, m := range p.s.ref.Marks {
		if m.Kind == references.Swing {
			lo := p.s.firstFrom(m.From)
			if lo < len(p.s.ref.Notes) {
				p.pairs(1, usualSwing, p.s.onset[lo], p.s.onsets(), move)
			}
		}
	}
	for _, f := range p.p.Faults {
		lo, hi := 0, 0
		if f.Kind.manner() {
			lo, hi = p.stretch(f)
		}
		switch f.Kind {
		case EvenSwung:
			p.pairs(1, f.Ratio, lo, hi, move)
		case DottedSlack:
			p.pairs(3, f.Ratio, lo, hi, move)
		}
	}
	return out
}

// The ratios of long to short of a pair: of two equal notes when swung, and of a dotted pair when
// slack. Common practice; that the second is played near 2:1 is the usual fault of beginners.
const (
	usualSwing = 1.8
	usualSlack = 2
)

// pairs moves the second note of each pair that is one beat, or half of one, together, from onset lo up to
// hi: first over second as written is the ratio written, and is to be ratio.
func (p *performance) pairs(written, ratio float64, lo, hi int, move func(e int, by float64)) {
	beat := beatOf(p.s.ref)
	for h := references.Right; h <= references.Left; h++ {
		line := p.s.line(h)
		for j := 0; j+2 < len(line); j++ {
			a, b, c := line[j], line[j+1], line[j+2]
			if a < lo || c > hi || c >= p.s.onsets() {
				continue
			}
			long, short := p.s.quarters(b)-p.s.quarters(a), p.s.quarters(c)-p.s.quarters(b)
			whole := long + short
			note := &p.s.ref.Notes[p.s.bounds[a]]
			onBeat := note.Beat == float64(int(note.Beat))
			if !onBeat || !same(long, written*short) || !same(whole, beat) && !(same(whole, 2*beat) && written > 1) {
				continue
			}
			move(b, whole*ratio/(1+ratio)-long)
		}
	}
}

func same(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// swingOf is how many seconds later onset e comes for its rhythm.
func (p *performance) swingOf(e int) float64 {
	if p.swing == nil || p.swing[e] == 0 {
		return 0
	}
	at := p.s.quarters(e)
	return p.tempo.at(at+p.swing[e]) - p.tempo.at(at)
}
