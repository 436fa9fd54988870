package pupil

import (
	"slices"

	"evenhand/references"
)

// change is what the faults make of one note in the playing that counts.
type change struct {
	by     int // semitones
	silent bool
	ahead  bool    // played at step
	step   int     // the step whose time it takes
	late   float64 // seconds
	hold   float64 // times as long; 0 for once
	open   bool
	plain  bool     // without its ornament
	filled bool     // held through the rest after it
	beside []stroke // further strokes; their on and step count from the note's own
}

// change works out what each fault does to its notes.
func (p *performance) change() {
	p.changes = make([]change, len(p.s.ref.Notes))
	for _, f := range p.p.Faults {
		if f.Kind.wholeTake() {
			p.changeWhole(f)
			continue
		}
		i := p.last[p.s.onset[f.At]]
		if i < 0 || f.Kind.breaks() || f.Kind.leaps() || f.Kind == Skipped || f.Kind == GiveUp {
			continue // seen to on the way
		}
		notes := p.s.meant(f)
		switch f.Kind {
		case ForgottenAccidental:
			notes = p.forget(f)
		case WrongOctave:
			notes = p.transpose(f)
		case HandAhead:
			notes = p.moveAhead(f)
		case HandLate, CutShort:
			notes = p.strain(f)
		case FlatDynamics, EvenSwung, DottedSlack, PassedRit, PassedFermata:
			notes = p.reach(f)
		case Wait:
			p.steps[i].wait += f.Pause.Seconds()
			notes = nil
		default:
			p.changeNotes(f, i, notes)
		}
		to := f.At
		if len(notes) > 0 {
			to = notes[len(notes)-1]
		}
		p.did(f, i, to, notes)
	}
}

// changeNotes is for the faults of one onset, played at step i.
func (p *performance) changeNotes(f Fault, i int, notes []int) {
	for _, n := range notes {
		if !onKeyboard(p.key(n) + f.By) {
			continue
		}
		c := &p.changes[n]
		pause := f.Pause.Seconds()
		switch f.Kind {
		case SemitoneOff, LetterOff:
			c.by = f.By
		case LeftOut:
			c.silent = true
		case StuckKey:
			c.open = true
		case OrnamentLeftOut:
			c.plain = true
		case RestFilled:
			c.filled = true
		case GrazedKey:
			c.beside = append(c.beside, stroke{
				role: Graze, key: f.By,
				on: between(p.details, -0.020, 0.035), held: between(p.details, 0.03, 0.08), velocity: -between(p.details, 8, 30),
			})
		case PutRight:
			c.beside = append(c.beside, stroke{role: Corrected, key: f.By, held: pause * between(p.details, 0.7, 1)})
			c.late += pause
		case StruckTwice:
			c.beside = append(c.beside, stroke{role: Repeat, on: pause})
		}
	}
	if f.Kind == PutRight || f.Kind == StruckTwice {
		p.delay(i, f.Pause.Seconds())
	}
}

// changeWhole is for the faults of a take's beginning and end.
func (p *performance) changeWhole(f Fault) {
	switch f.Kind {
	case TriedBefore:
		p.did(f, -1, f.At, nil)
	case EndCut, EndHeld:
		i := p.last[p.s.onset[f.At]]
		if i < 0 {
			return
		}
		notes := p.s.meant(f)
		for _, n := range notes {
			p.changes[n].hold = map[Kind]float64{EndCut: 0.15, EndHeld: 3}[f.Kind]
		}
		p.did(f, i, notes[len(notes)-1], notes)
	}
}

// forget plays every note of the name without its sharp or flat.
func (p *performance) forget(f Fault) []int {
	var notes []int
	name := p.s.ref.Notes[f.At].Pitch.Name
	for n := range p.s.ref.Notes {
		note := &p.s.ref.Notes[n]
		all := f.Hand == references.NoHand || f.Hand == references.Both
		if note.Pitch.Name == name && (all || note.Hand.Has(f.Hand)) && onKeyboard(p.key(n)-int(name.Alter)) {
			p.changes[n].by = -int(name.Alter)
			notes = append(notes, n)
		}
	}
	return notes
}

// transpose puts one hand in another octave.
func (p *performance) transpose(f Fault) []int {
	var notes []int
	first := p.s.onset[f.At]
	for n := p.s.bounds[first]; n < len(p.s.ref.Notes); n++ {
		if f.Count > 0 && p.s.onset[n] >= first+f.Count {
			break
		}
		if p.s.ref.Notes[n].Hand == p.s.ref.Notes[f.At].Hand && onKeyboard(p.key(n)+f.By) {
			p.changes[n].by = f.By
			notes = append(notes, n)
		}
	}
	return notes
}

// moveAhead leaves the hand's notes of one onset out and plays the next ones each in the time of the
// one before, until the hand finds its place again by resting for one.
func (p *performance) moveAhead(f Fault) []int {
	hand := p.s.ref.Notes[f.At].Hand
	line := p.s.line(hand)
	k := slices.Index(line, p.s.onset[f.At])
	if k < 0 {
		return nil
	}
	notes := p.s.notes(line[k], hand)
	for _, n := range notes {
		p.changes[n].silent = true
	}
	for j := k + 1; j < len(line) && j <= k+f.Count; j++ {
		if line[j] != line[j-1]+1 || p.last[line[j]] < 0 || p.steps[p.last[line[j]]].fresh {
			break // a rest, a unison or a break: the hands are together again
		}
		for _, n := range p.s.notes(line[j], hand) {
			p.changes[n].ahead, p.changes[n].step = true, p.last[line[j-1]]
			notes = append(notes, n)
		}
	}
	return notes
}

// strain makes one hand late, or its notes short, for some onsets.
func (p *performance) strain(f Fault) []int {
	var notes []int
	hand := p.s.ref.Notes[f.At].Hand
	lo, _ := p.stretch(f)
	for _, e := range p.s.line(hand) {
		if e < lo || p.last[e] < 0 {
			continue
		}
		if f.Count--; f.Count < 0 {
			break
		}
		for _, n := range p.s.notes(e, hand) {
			if f.Kind == CutShort {
				p.changes[n].hold = f.Ratio
			} else {
				p.changes[n].late += f.Pause.Seconds()
			}
			notes = append(notes, n)
		}
	}
	return notes
}

// reach is the notes that a manner, or a sign passed over, is about.
func (p *performance) reach(f Fault) []int {
	var notes []int
	switch f.Kind {
	case PassedRit, PassedFermata:
		for _, m := range p.s.ref.Marks {
			if !f.passes(m.Kind) || !p.s.under(m, f.At) {
				continue
			}
			for n := range p.s.ref.Notes {
				if p.s.under(m, n) {
					notes = append(notes, n)
				}
			}
		}
	case EvenSwung, DottedSlack:
		for e, by := range p.swing {
			if lo, hi := p.stretch(f); by != 0 && e >= lo && e < hi {
				notes = append(notes, p.s.notes(e, references.Both)...)
			}
		}
	default:
		lo, hi := p.stretch(f)
		for n := p.s.bounds[lo]; n < p.s.bounds[hi]; n++ {
			notes = append(notes, n)
		}
	}
	slices.Sort(notes)
	return slices.Compact(notes)
}
