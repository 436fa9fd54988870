package pupil

import "evenhand/references"

// step is one onset as it is reached in the course of playing.
type step struct {
	onset int     // of the score
	gap   float64 // seconds of written time since the step before
	wait  float64 // seconds over that
	role  Role    // Correct in the playing that counts, else what all its notes are
	off   int     // semitones that its notes are off, where a run is given up over a wrong key
	fresh bool    // the first after a break
}

// route finds the way through the score: every onset in order, but for breaks, and sets which step of
// each onset counts.
func (p *performance) route() {
	p.off = make([]bool, p.s.onsets())
	breaks := map[int][]Fault{} // yet to come, by onset
	for _, f := range p.p.Faults {
		if f.Kind.breaks() || f.Kind.leaps() || f.Kind == GiveUp {
			e := p.s.onset[f.At]
			breaks[e] = append(breaks[e], f)
		}
	}
	wait, fresh, leapt := 0.0, false, -1
	for e := 0; e < p.s.onsets(); e++ {
		gap := p.gap(e)
		if leapt >= 0 { // in the time of what would have come
			gap = p.gap(leapt + 1)
		}
		p.steps = append(p.steps, step{onset: e, gap: gap, wait: wait, fresh: fresh})
		wait, fresh, leapt = 0, false, -1
		if len(breaks[e]) == 0 {
			continue
		}
		f := breaks[e][0]
		breaks[e] = breaks[e][1:]
		if f.Kind == GiveUp {
			p.did(f, len(p.steps)-1, f.At, nil)
			break
		}
		if f.Kind.leaps() {
			leapt = e
			e = p.leap(f) - 1
			continue
		}
		wait, fresh = f.Pause.Seconds(), true
		e = p.goBack(f) - 1
	}
	p.skip()
	p.last = make([]int, p.s.onsets())
	for e := range p.last {
		p.last[e] = -1
	}
	for i, st := range p.steps {
		p.last[st.onset] = i
	}
	p.again()
}

// goBack makes what was played from the target of a break on a thing of the past, and returns the
// onset to go on from.
func (p *performance) goBack(f Fault) int {
	e := p.s.onset[f.At]
	to, role := max(e-f.Count+1, 0), Repeat
	switch f.Kind {
	case Restart:
		to, role = min(p.s.onset[f.To], e), GivenUp
		p.steps[len(p.steps)-1].off = f.By
	case BarAgain:
		to = min(p.s.onset[f.To], e)
	}
	var notes []int
	for i := range p.steps {
		if st := &p.steps[i]; st.onset >= to && st.role == Correct {
			st.role = role
			notes = append(notes, p.s.notes(st.onset, references.Both)...)
		}
	}
	p.did(f, len(p.steps), p.s.bounds[to], notes)
	return to
}

// leap passes over what lies before the target, and returns the onset to go on from.
func (p *performance) leap(f Fault) int {
	from, to := p.s.onset[f.At]+1, p.s.onset[f.To]
	var notes []int
	for e := from; e < to; e++ {
		p.off[e] = p.off[e] || f.Kind == RepeatLeftOut
		notes = append(notes, p.s.notes(e, references.Both)...)
	}
	p.did(f, len(p.steps), p.s.bounds[to], notes)
	return to
}

// skip takes the onsets passed over out of the playing that counts.
func (p *performance) skip() {
	for _, f := range p.p.Faults {
		if f.Kind != Skipped {
			continue
		}
		for i := len(p.steps) - 2; i > 0; i-- {
			if p.steps[i].onset != p.s.onset[f.At] {
				continue
			}
			next := &p.steps[i+1]
			if next.fresh || p.steps[i].fresh || next.onset != p.steps[i].onset+1 {
				break
			}
			next.gap, next.wait = p.steps[i].gap, next.wait+p.steps[i].wait
			p.steps = append(p.steps[:i], p.steps[i+1:]...)
			p.moveDeeds(i)
			p.did(f, i, f.At, p.s.notes(p.s.onset[f.At], references.Both))
			break
		}
	}
}

// again adds what is played after the end.
func (p *performance) again() {
	for _, f := range p.p.Faults {
		if f.Kind != PlayedAgain || len(p.steps) == 0 {
			continue
		}
		p.did(f, len(p.steps), 0, nil)
		for e := range min(f.Count, p.s.onsets()) {
			st := step{onset: e, gap: p.gap(e), role: After}
			if e == 0 {
				st.wait, st.fresh = f.Pause.Seconds(), true
			}
			p.steps = append(p.steps, st)
		}
	}
}

// gap is the written time in seconds from the onset before e to e; before the first, as after it.
func (p *performance) gap(e int) float64 {
	if p.s.onsets() < 2 {
		return p.tempo.beat
	}
	e = max(e, 1)
	gap := p.moment(e) - p.moment(e-1)
	if late := e - (p.s.onsets() - 4); late > 0 { // the last three steps
		gap *= 1 + max(p.p.Close, -90)/100*float64(late)/3
	}
	return gap
}

// moment is the time in seconds of onset e when nothing goes wrong.
func (p *performance) moment(e int) float64 {
	return p.tempo.onset(p.s.quarters(e))
}

// ioi is the time in seconds from onset e to the next.
func (p *performance) ioi(e int) float64 { return p.gap(min(e+1, p.s.onsets()-1)) }

// delay puts seconds of waiting before whatever follows step i.
func (p *performance) delay(i int, seconds float64) {
	if i+1 < len(p.steps) {
		p.steps[i+1].wait += seconds
	}
}
