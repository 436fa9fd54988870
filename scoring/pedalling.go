package scoring

import (
	"fmt"
	"math"

	"evenhand/capture"
	"evenhand/references"
)

// pedalling files marked pedal that was not used, or held across its change. Where the take holds no
// pedal at all it is only said, since there may be none.
func (l *ledger) pedalling(steps []beatStep, c PieceCharges) {
	marks := l.Reference.Pedals
	if len(marks) == 0 {
		return
	}
	any := false
	for _, e := range l.Take.Pedals {
		any = any || e.Controller == capture.Sustain && e.Value > 0
	}
	if !any {
		l.add(Finding{Kind: PedalMarked, Source: commonPractice, Text: "Pedal is marked; none was heard."})
		return
	}
	down := l.pedalDown()
	var unused, across []int
	judged := 0
	for k, m := range marks {
		a, okA := l.timeAt(steps, m.From)
		b, okB := l.timeAt(steps, m.To)
		if !okA || !okB || b <= a {
			continue
		}
		judged++
		if shareDown(down, a, b) < l.piece.PedalShare {
			unused = append(unused, l.noteAt(m.From))
			continue
		}
		late := b + l.piece.PedalLateMS/1000
		// The foot lifts and goes down again: never up from just before the change until well after it
		// means that both harmonies sound together.
		if k+1 < len(marks) && marks[k+1].From == m.To && shareDown(down, b-0.05, late) == 1 {
			across = append(across, l.noteAt(m.To))
		}
	}
	file := func(notes []int, what string) {
		if len(notes) == 0 {
			return
		}
		l.add(l.about(Finding{
			Kind: PedalMarked, Measured: known(float64(len(notes))), Limit: known(float64(judged)), Unit: "places",
			Source: chosenSource, mark: soundMark, loss: c.Pedal * float64(len(notes)) / float64(judged), Severity: Light,
			Text: fmt.Sprintf("%s: %s.", capital(l.barsWords(notes)), what),
			try:  "Play only the bass and the pedal, and listen for each change to be clean.",
		}, notes...))
	}
	file(unused, "the marked pedal was not used")
	file(across, "the pedal was held across its change")
}

// shareDown is the part of the time from a to b with the pedal down, by hundredths.
func shareDown(down func(float64) bool, a, b float64) float64 {
	n := 0
	for k := range 100 {
		if down(a + (b-a)*(float64(k)+0.5)/100) {
			n++
		}
	}
	return float64(n) / 100
}

// timeAt is when onset q was reached or would have been, by the step it lies in; of the end of the
// last step, by the written length.
func (p *performance) timeAt(steps []beatStep, q references.Quarters) (float64, bool) {
	for _, s := range steps {
		a, b := &p.all.steps[s.from], &p.all.steps[s.to]
		if !q.Less(a.onset) && q.Less(b.onset) {
			return a.on + s.rate()*q.Sub(a.onset).Float(), !s.broken
		}
	}
	if len(steps) == 0 {
		return 0, false
	}
	last := steps[len(steps)-1]
	end := &p.all.steps[last.to]
	if q.Less(end.onset) {
		return 0, false
	}
	return math.Min(end.on+last.rate()*q.Sub(end.onset).Float(), math.Max(end.on, end.off)), true
}
