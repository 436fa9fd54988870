package scoring

import (
	"fmt"
	"math"
	"slices"
)

// otherValue is a written step that was played twice or half as long, again and again.
type otherValue struct {
	steps  []beatStep
	double bool
}

// otherValues finds steps of one written length that were played twice as long, or half as long,
// within a tenth, at two places and at a third of all at least: the note value was misread, which is
// no hesitation. What a wrong rhythm accounts for is left out.
func (p *performance) otherValues(steps []beatStep, claimed map[int]int) []otherValue {
	all := map[float64]int{}
	wrong := map[float64]*[2]otherValue{}
	for _, s := range steps {
		if _, is := claimed[p.all.steps[s.to].event]; is || !(s.expected > 0) {
			continue
		}
		all[s.quarters]++
		if wrong[s.quarters] == nil {
			wrong[s.quarters] = &[2]otherValue{{double: true}, {}}
		}
		for k, times := range [2]float64{2, 0.5} {
			if r := s.seconds / s.expected / times; r > 0.9 && r < 1.1 {
				wrong[s.quarters][k].steps = append(wrong[s.quarters][k].steps, s)
			}
		}
	}
	var out []otherValue
	for q, ws := range wrong {
		for _, w := range ws {
			if n := len(w.steps); n >= 2 && 3*n >= all[q] && 2*n <= len(steps) {
				out = append(out, w)
			}
		}
	}
	slices.SortFunc(out, func(a, b otherValue) int { return a.steps[0].from - b.steps[0].from })
	return out
}

// values files the misread values.
func (l *ledger) values(ws []otherValue, each float64) {
	for _, w := range ws {
		var notes []int
		for _, s := range w.steps {
			notes = append(notes, l.all.steps[s.from].notes...)
		}
		how := "twice"
		if !w.double {
			how = "half"
		}
		first := w.steps[0]
		l.add(l.about(Finding{
			Kind: WrongRhythm, Measured: known(100 * first.seconds / first.expected), Limit: known(100), Unit: "percent of the written length",
			Source: commonPractice, mark: timeMark, loss: each * float64(len(w.steps)), Severity: Fault,
			Text: fmt.Sprintf("%s: %s notes were held %s as long as they are written.", capital(l.barsWords(notes)), number(len(w.steps)), how),
			try:  "Count the beats of each long note aloud.",
		}, notes...))
	}
}

// claimValues adds the events that misread values account for.
func (p *performance) claimValues(ws []otherValue, claimed map[int]int) {
	for _, w := range ws {
		for _, s := range w.steps {
			claimed[p.all.steps[s.to].event] = math.MaxInt
		}
	}
}

// withoutWaits takes away the hesitations that a wrong rhythm or value accounts for. One of a beat and
// more is a stop in any rhythm.
func (p *performance) withoutWaits(claimed map[int]int) {
	beat := p.pulse().rate * p.beat().Float()
	gone := func(w wait) bool {
		k, is := claimed[w.event]
		return is && (k == math.MaxInt || !(w.extra >= beat))
	}
	p.all.waits = slices.DeleteFunc(p.all.waits, gone)
	for i := range p.lines {
		p.lines[i].waits = slices.DeleteFunc(p.lines[i].waits, gone)
	}
}
