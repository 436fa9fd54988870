package scoring

import (
	"fmt"

	"evenhand/references"
)

// accidentalCause says why an accidental was missed, as a score has it: "key signature" where the
// note is altered by it and was played without, "accidental" where one was written, or still held
// from earlier in the bar, in which case it is "not carried"; "" where neither tells.
func (p *performance) accidentalCause(m mistake) string {
	if !p.score {
		return ""
	}
	n := &p.Reference.Notes[m.expected]
	if m.name.Step != n.Pitch.Step {
		return ""
	}
	byKey := p.signatureAlter(n.Onset, n.Pitch.Step)
	switch {
	case n.Pitch.Alter == byKey && byKey != 0:
		return "key signature"
	case n.Pitch.Alter != byKey && p.alteredBefore(m.expected):
		return "the accidental holds to the end of the bar"
	case n.Pitch.Alter != byKey:
		return "accidental"
	}
	return ""
}

// signatureAlter is by how much the key signature at an onset alters a step: sharps come in the order
// F C G D A E B, flats the other way round.
func (p *performance) signatureAlter(at references.Quarters, s references.Step) int8 {
	fifths := p.Reference.Fifths
	for _, k := range p.Reference.Keys {
		if !at.Less(k.Onset) {
			fifths = k.Fifths
		}
	}
	place := map[references.Step]int{
		references.F: 1, references.C: 2, references.G: 3, references.D: 4, references.A: 5, references.E: 6, references.B: 7,
	}[s]
	switch {
	case fifths >= place:
		return 1
	case -fifths >= 8-place:
		return -1
	}
	return 0
}

// alteredBefore reports whether the same note stood with the same accidental earlier in its bar.
func (p *performance) alteredBefore(i int) bool {
	n := &p.Reference.Notes[i]
	for k := i - 1; k >= 0 && p.Reference.Notes[k].Measure == n.Measure; k-- {
		if m := &p.Reference.Notes[k]; m.Pitch == n.Pitch && m.Onset.Less(n.Onset) {
			return true
		}
	}
	return false
}

// displaced files stretches in which every note of a hand lay the same number of keys of the scale off: a
// hand put down a step too high or low, or the notes of one clef read in the other (a staff in the
// treble clef read as bass is a sixth lower, or an octave and a sixth). It returns the other mistakes.
func (l *ledger) displaced(all []mistake) []mistake {
	gone := map[int]bool{}
	for _, hand := range []references.Hand{references.Right, references.Left} {
		var now []mistake
		file := func() {
			if len(now) >= slippedRun {
				for _, m := range now {
					gone[m.expected] = true
				}
				l.offBySteps(now)
			}
			now = nil
		}
		last := -1
		for _, m := range all {
			if l.Reference.Notes[m.expected].Hand != hand {
				continue
			}
			if n := len(now); n > 0 && (l.stepsOff(m) != l.stepsOff(now[0]) || l.rightBetween(hand, last, m.expected)) {
				file()
			}
			if l.stepsOff(m)%7 != 0 {
				now = append(now, m)
			}
			last = m.expected
		}
		file()
	}
	var rest []mistake
	for _, m := range all {
		if !gone[m.expected] {
			rest = append(rest, m)
		}
	}
	return rest
}

// stepsOff is by how many steps of the scale a key was missed.
func (p *performance) stepsOff(m mistake) int {
	want := p.pitch(m.expected)
	octave := (m.key-m.name.PitchClass())/12 - 1
	return 7*(octave-int(want.Octave)) + int(m.name.Step) - int(want.Step)
}

// rightBetween reports whether a hand played a right note between two expected ones.
func (p *performance) rightBetween(h references.Hand, a, b int) bool {
	for i := a + 1; i < b; i++ {
		if p.Reference.Notes[i].Hand == h && p.strokes[i].correct {
			return true
		}
	}
	return false
}

// astray is how far off something is and which way, in words.
func astray(d int, one, many string) (far, way string) {
	way = "high"
	if d < 0 {
		d, way = -d, "low"
	}
	if d > 1 {
		return number(d) + " " + many, way
	}
	return one, way
}

func (l *ledger) offBySteps(ms []mistake) {
	d := l.stepsOff(ms[0])
	steps, way := astray(d, "one step", "steps")
	d = max(d, -d)
	notes := expectedOf(ms)
	text := fmt.Sprintf("%s: %s notes lay %s too %s.", capital(l.barsWords(notes)), number(len(ms)), steps, way)
	if d%7 == 5 || d%7 == 2 {
		text += " It may be that they were read in the other clef."
	}
	charge := l.charges.Wrong * (slippedRun - 2 + l.charges.repeated(1, len(ms)-slippedRun+2))
	l.chargeNote(l.about(Finding{
		Kind: SlippedAlong, Text: text, try: "Name the first note of that place aloud and find its key before you play.",
	}, notes...), charge)
}
