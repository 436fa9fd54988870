package scoring

import (
	"fmt"
	"math"

	"evenhand/references"
)

// swungPairs is how many pairs make a manner of playing. Chosen by us.
const swungPairs = 4

// evenPair reports whether a figure is two even notes in one beat.
func (p *performance) evenPair(f *figure) bool {
	return len(f.written) == 2 && off(f.written, []float64{0.5, 0.5}) < 0.01 && f.length() <= p.beat().Float()
}

// swungRightly reports whether a figure of even pairs lies under a sign for swing and is swung within what is
// usual.
func (p *performance) swungRightly(f *figure) bool {
	if len(f.played)%2 != 0 || off(f.written, shares(ones(len(f.written)))) > 0.01 {
		return false
	}
	at := f.line.steps[f.gaps[0].from].onset
	for _, m := range p.Reference.Marks {
		if m.Kind != references.Swing || at.Less(m.From) || m.From.Less(m.To) && !at.Less(m.To) {
			continue
		}
		for i := 0; i < len(f.played); i += 2 {
			if r := f.played[i] / f.played[i+1]; r < p.piece.SwingLeast || r > p.piece.SwingMost {
				return false
			}
		}
		return true
	}
	return false
}

// swing files even pairs that were swung throughout where the score does not say so: a manner, and
// one light finding.
func (l *ledger) swing(w wrongRhythm, notes []int, loss float64) {
	l.add(l.about(Finding{
		Kind: WrongRhythm, Measured: known(w.swing), Limit: known(l.piece.SwingLeast), Unit: "long to one short",
		Source: commonPractice, mark: timeMark, loss: loss, Severity: Light,
		Text: fmt.Sprintf("%s: the even notes were swung, about %.1f to 1.", capital(l.barsWords(notes)), w.swing),
		try:  "If no swing is meant, play them evenly with a light second note.",
	}, notes...))
}

// takeSwing sets by how much even notes are swung, where they are almost throughout or the score asks
// for it, and looks for hesitations again: notes off the beat are then expected late.
func (p *performance) takeSwing(ws []wrongRhythm) {
	for _, w := range ws {
		p.swung = math.Max(p.swung, w.swing)
	}
	for _, m := range p.Reference.Marks {
		if m.Kind == references.Swing && p.swung == 0 {
			p.swung = p.pairRatio()
		}
	}
	if p.swung > 0 {
		p.findWaits()
	}
}

// pairRatio is the median of long to short over the even pairs, 0 where it is not swung within what is
// usual or there are too few.
func (p *performance) pairRatio() float64 {
	var rs []float64
	for i := range p.lines {
		for _, f := range p.figures(&p.lines[i]) {
			if p.evenPair(&f) {
				rs = append(rs, f.played[0]/f.played[1])
			}
		}
	}
	if r := median(rs); len(rs) >= swungPairs && r >= p.piece.SwingLeast && r <= p.piece.SwingMost {
		return r
	}
	return 0
}

// swungPlace is where a step falls in quarters: as written, or where notes are swung, half beats late.
func (p *performance) swungPlace(s *step) float64 {
	q := s.onset.Float()
	if p.swung == 0 {
		return q
	}
	if _, half := math.Modf(p.Reference.Notes[s.notes[0]].Beat); math.Abs(half-0.5) < 1e-6 {
		q += (p.swung/(1+p.swung) - 0.5) * p.beat().Float()
	}
	return q
}
