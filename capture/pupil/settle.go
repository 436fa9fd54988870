package pupil

import (
	"slices"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// settle gives every fault its place and size, and leaves out those that have none. Faults with a
// place of their own keep it; the others are put at least apartOnsets from them and from each other.
func (p *performance) settle(faults []Fault) []Fault {
	var out []Fault
	if len(p.s.ref.Notes) == 0 {
		return nil
	}
	taken := make([]bool, p.s.onsets())
	for _, f := range faults {
		if f.At != Anywhere && !f.Kind.wholeTake() && f.At >= 0 && f.At < len(p.s.ref.Notes) {
			p.take(taken, f)
		}
	}
	// What is passed over first: nothing else can happen there.
	faults = slices.Clone(faults)
	slices.SortStableFunc(faults, func(a, b Fault) int {
		switch {
		case a.Kind.leaps() == b.Kind.leaps():
			return 0
		case a.Kind.leaps():
			return -1
		}
		return 1
	})
	for _, f := range faults {
		if f, ok := p.settleOne(f, taken); ok {
			out = append(out, f)
		}
	}
	return out
}

func (p *performance) settleOne(f Fault, taken []bool) (Fault, bool) {
	if f.Kind < 0 || f.Kind >= kinds {
		return f, false
	}
	if f.Kind.manner() && f.At == Anywhere {
		f.At, f.Count = 0, p.s.onsets()
	}
	if f.Kind.wholeTake() {
		f.At, f.Hand = 0, references.Both
		if f.Kind == EndCut || f.Kind == EndHeld {
			f.At = len(p.s.ref.Notes) - 1
		}
	}
	if f.At < Anywhere || f.At >= len(p.s.ref.Notes) {
		return f, false
	}
	f = p.size(f)
	if f.At == Anywhere {
		var places []int
		for n := range p.s.ref.Notes {
			if p.allowed(f, n) && p.free(taken, f, n) {
				places = append(places, n)
			}
		}
		if len(places) == 0 {
			return f, false
		}
		f.At = places[p.faults.IntN(len(places))]
		p.take(taken, f)
	}
	f, ok := p.aim(f)
	if ok && f.Kind.leaps() {
		for e := p.s.onset[f.At]; e < p.s.onset[f.To]; e++ {
			taken[e] = true
		}
	}
	return f, ok
}

// size draws how long and how many where the fault does not say.
func (p *performance) size(f Fault) Fault {
	ioi := p.ioi(p.s.onset[max(f.At, 0)])
	pause := [kinds]struct{ lo, hi float64 }{
		GoBack:      {0, 0.08},
		Restart:     {max(0.8, 2*ioi), max(2.2, 3*ioi)},
		Wait:        {max(0.4, 1.2*ioi), max(1.2, 2.5*ioi)},
		PutRight:    {min(max(0.12, 0.45*ioi), ioi), min(max(0.2, 0.9*ioi), 1.3*ioi)},
		StruckTwice: {max(0.15, 0.7*ioi), max(0.2, ioi)},
		TriedBefore: {1.3, 2.5},
		PlayedAgain: {1.5, 2.5},
		BarAgain:    {0, 0.3},
		HandLate:    {0.1, 0.14},
	}[f.Kind]
	if drawn := between(p.faults, pause.lo, pause.hi); f.Pause <= 0 {
		f.Pause = seconds(drawn)
	}
	f.Pause = max(f.Pause.Round(capture.Tick), 0)
	if f.Pause > time.Minute {
		f.Pause = time.Minute
	}
	count := [kinds]struct{ lo, hi int }{
		GoBack: {2, 3}, TriedBefore: {1, 4}, PlayedAgain: {3, 6}, HandAhead: {3, 6},
		HandLate: {6, 10}, CutShort: {6, 10}, EvenSwung: {8, 16}, DottedSlack: {8, 16}, FlatDynamics: {16, 32},
	}[f.Kind]
	if drawn := count.lo + p.faults.IntN(count.hi-count.lo+1); f.Count <= 0 {
		f.Count = min(drawn, max(p.s.onsets()/3, 1)) // the most of it goes well
	}
	f.Count = min(f.Count, p.s.onsets())
	if f.Ratio <= 0 {
		f.Ratio = map[Kind]float64{EvenSwung: usualSwing, DottedSlack: usualSlack, CutShort: usualCut}[f.Kind]
	}
	f.Ratio = min(max(f.Ratio, 0), 20)
	return f
}

// usualCut is the share of its length that a note cut short is held for.
const usualCut = 0.35

// aim draws the key that is hit where the fault does not say, and reports whether there is one.
func (p *performance) aim(f Fault) (Fault, bool) {
	note := &p.s.ref.Notes[f.At]
	switch f.Kind {
	case SemitoneOff, LetterOff, PutRight, GrazedKey:
		if f.By != 0 {
			break
		}
		by := p.misses(f.Kind, f.At)
		if len(by) == 0 {
			return f, false
		}
		f.By = by[p.faults.IntN(len(by))]
	case WrongOctave:
		if f.By == 0 {
			f.By = octaveAway(note.Hand)
		}
	case ForgottenAccidental:
		f.By = -int(note.Pitch.Alter)
		return f, f.By != 0
	case HandAhead:
		return f, note.Hand != references.Both
	case Skipped:
		e := p.s.onset[f.At]
		return f, e > 0 && e < p.s.onsets()-1
	case Restart:
		if f.To == Anywhere {
			f.To = p.furtherBack(f.At)
		}
		f.To = min(max(f.To, 0), f.At)
	}
	if f.Kind > EndHeld {
		return p.aimInPiece(f)
	}
	return f, onKeyboard(p.key(f.At) + f.By)
}

// furtherBack draws where a fresh start goes on from: the beginning mostly, or at least 8 onsets back.
func (p *performance) furtherBack(at int) int {
	e := p.s.onset[at]
	if len(p.s.ref.Bars) > 0 && p.faults.IntN(4) > 0 {
		return p.barBack(e)
	}
	if e < 12 || p.faults.IntN(3) > 0 {
		return 0
	}
	to := 1 + p.faults.IntN(e-8)
	if slices.Equal(p.s.keys(to), p.s.keys(e+1)) {
		return 0
	}
	return p.s.bounds[to]
}
