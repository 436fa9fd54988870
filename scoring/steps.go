package scoring

import (
	"fmt"
	"math"
)

// beatStep is one step of what both hands play, against the time it should have taken.
type beatStep struct {
	gap
	expected float64 // seconds, by the median rate of its neighbours; NaN where they do not tell
	out      bool    // out of time
}

// beatSteps lays the steps of a score against the local tempo: the written length at the median rate of up
// to four steps on either side. A step is out of time when it is off by more than OutOfTimeShare of
// that and more than OutOfTimeMS. Steps under a written change or across a break are not judged, nor are
// ornaments, grace notes and rolled chords, which are free in time.
func (p *performance) beatSteps() []beatStep {
	gs := p.gaps(&p.all)
	out := make([]beatStep, len(gs))
	for k, g := range gs {
		s := beatStep{gap: g, expected: math.NaN()}
		if !g.free && !g.broken {
			s.expected = localRate(gs, k) * g.quarters
			off := math.Abs(g.seconds - s.expected)
			plain := !p.adorned(&p.all.steps[g.from]) && !p.adorned(&p.all.steps[g.to])
			s.out = plain && off > p.piece.OutOfTimeShare*s.expected && 1000*off > p.piece.OutOfTimeMS && p.sudden(gs, k, s.expected)
		}
		out[k] = s
	}
	return out
}

// sudden reports whether gap k stands out from the gap before and the one after too, the same way:
// a tempo that gives and takes from step to step is playing freely, a single step is not.
func (p *performance) sudden(gs []gap, k int, expected float64) bool {
	way := gs[k].seconds - expected
	if math.Abs(way) > p.piece.FreeShare*expected {
		return true
	}
	for _, i := range []int{k - 1, k + 1} {
		if i < 0 || i >= len(gs) || !gs[i].steady() {
			continue
		}
		near := gs[i].rate() * gs[k].quarters
		if off := gs[k].seconds - near; off*way <= 0 || math.Abs(off) <= p.piece.OutOfTimeShare*near {
			return false
		}
	}
	return true
}

// outOfTime files the steps that are out of time and are no hesitation and no wrong rhythm, those near
// each other as one. Each takes its share of the whole.
func (l *ledger) outOfTime(steps []beatStep, claimed map[int]int, each float64) {
	var stretch []beatStep
	file := func() {
		if len(stretch) > 0 {
			l.loose(stretch, each*float64(len(stretch)))
		}
		stretch = nil
	}
	for _, s := range steps {
		a, b := &l.all.steps[s.from], &l.all.steps[s.to]
		if _, is := claimed[b.event]; is || !s.out || s.wait {
			continue
		}
		if n := len(stretch); n > 0 && l.barsApart(l.all.steps[stretch[n-1].to].event, a.event) > 1 {
			file()
		}
		stretch = append(stretch, s)
	}
	file()
}

// barsApart is how many bars lie from one event to another.
func (p *performance) barsApart(a, b int) int {
	return p.measure(b) - p.measure(a)
}

func (l *ledger) loose(stretch []beatStep, loss float64) {
	late := 0
	var notes []int
	for _, s := range stretch {
		if s.seconds > s.expected {
			late++
		}
		notes = append(notes, l.all.steps[s.from].notes[0], l.all.steps[s.to].notes[0])
	}
	first := stretch[0]
	f := Finding{
		Kind: OutOfTime, Measured: known(100 * (first.seconds/first.expected - 1)), Limit: known(100 * l.piece.OutOfTimeShare),
		Unit: "percent of the step", Source: chosenSource, mark: timeMark, loss: loss, Severity: Light,
		try: "Clap that place while counting, then play it at half the tempo.",
	}
	if len(stretch) == 1 {
		at := l.rightNote(l.all.steps[first.to].event)
		how := "late"
		if late == 0 {
			how = "early"
		}
		f.detail = fmt.Sprintf("%s %s, %s", l.noteWords(at), how, l.where(at))
		f.Text = fmt.Sprintf("%s came %s, %s.", l.noteWords(at), how, l.where(at))
	} else {
		f.Severity = Fault
		f.detail = fmt.Sprintf("%s: %s steps were out of time", l.barsWords(notes), number(len(stretch)))
		f.Text = capital(f.detail) + "."
	}
	l.add(l.about(f, notes...))
}

// recovery is how long it took from an event on until two steps in a row were in time again, in
// beats and in seconds; false where they never were.
func (p *performance) recovery(steps []beatStep, from int) (beats, secs float64, ok bool) {
	var b, s float64
	good := 0
	for _, t := range steps {
		if p.all.steps[t.from].event < from {
			continue
		}
		switch {
		case math.IsNaN(t.expected) || t.out:
			good = 0
		case good == 0:
			beats, secs, good = b, s, 1
		default:
			return beats, secs, true
		}
		b += t.quarters / p.beat().Float()
		s += t.seconds
	}
	return 0, 0, false
}
