package scoring

import (
	"fmt"

	"evenhand/references"
)

// slippedRun is how many wrong notes in a row, each the next (or last) note of the part, make a hand
// that has slipped along. Chosen by us.
const slippedRun = 4

// mistake is an expected note and the other key that was struck for it.
type mistake struct {
	expected, key int
	name          references.Name // of the key struck
}

func (l *ledger) notesLoss(charge float64) float64 {
	n := 0
	for _, s := range l.strokes {
		if s.present {
			n++
		}
	}
	return l.charges.NotesRate * charge / (float64(n) + l.charges.NotesBase)
}

// chargeNote files a finding that counts against the mark for notes.
func (l *ledger) chargeNote(f Finding, charge float64) {
	f.mark, f.loss, f.Severity = notesMark, l.notesLoss(charge), Fault
	if charge < l.charges.Wrong {
		f.Severity = Light
	}
	f.Unit = "notes"
	f.Source = commonPractice
	l.add(f)
}

// wrongNotes gathers wrong notes by their cause: a hand slipped along, a hand an octave off, one
// accidental missed again and again; what is left stands for itself.
func (l *ledger) wrongNotes() {
	var all []mistake
	for i, s := range l.strokes {
		if s.played >= 0 && !s.correct {
			key := int(l.Take.Notes[s.played].Key)
			all = append(all, mistake{i, key, l.spell(key, i)})
		}
	}
	all = l.slippedAlong(all)
	if l.score {
		all = l.displaced(all)
	}
	for len(all) > 0 {
		first := all[0]
		var same, rest []mistake
		for _, m := range all {
			if l.sameCause(first, m) {
				same = append(same, m)
			} else {
				rest = append(rest, m)
			}
		}
		all = rest
		switch {
		case len(same) == 1:
			l.wrongNote(first)
		case l.octaveOff(first) != 0:
			l.wrongOctave(same)
		default:
			l.wrongAccidental(same)
		}
	}
}

// sameCause reports whether two wrong notes have one cause: the same hand as far off by octaves, or
// the same accidental.
func (l *ledger) sameCause(a, b mistake) bool {
	if a == b {
		return true
	}
	na, nb := &l.Reference.Notes[a.expected], &l.Reference.Notes[b.expected]
	if o := l.octaveOff(a); o != 0 {
		return o == l.octaveOff(b) && na.Hand == nb.Hand
	}
	return l.octaveOff(b) == 0 && l.accidentalCause(a) == l.accidentalCause(b) && a.name == b.name && na.Pitch.Name == nb.Pitch.Name && a.name.Step == na.Pitch.Step
}

// octaveOff is by how many octaves the right key was missed, 0 where another key was struck.
func (l *ledger) octaveOff(m mistake) int {
	if d := m.key - l.Key(m.expected); d%12 == 0 {
		return d / 12
	}
	return 0
}

func (l *ledger) wrongNote(m mistake) {
	detail := fmt.Sprintf("%s for %s, %s", l.struck(m.key, m.expected), l.noteWords(m.expected), l.where(m.expected))
	if cause := l.accidentalCause(m); cause != "" {
		detail += " (" + cause + ")"
	}
	l.chargeNote(l.about(Finding{
		Kind: WrongNote, Text: "One wrong note: " + detail + ".", detail: detail,
		try: "Practise just those few notes slowly, three times, then go on.",
	}, m.expected), l.charges.Wrong)
}

func (l *ledger) wrongAccidental(ms []mistake) {
	want, got := l.noteWords(ms[0].expected), l.struck(ms[0].key, ms[0].expected)
	text := fmt.Sprintf("%s was played for %s %s: %s.", got, want, times(len(ms)), l.everywhere(ms))
	if l.score {
		text = fmt.Sprintf("%s was played for %s in %s", got, want, l.barsWords(expectedOf(ms)))
		if cause := l.accidentalCause(ms[0]); cause != "" {
			text += ": " + cause
		}
		text += "."
	}
	f := Finding{
		Kind: WrongAccidental, Text: text,
		try: fmt.Sprintf("Find every %s on the keys before you begin.", want),
	}
	l.chargeNote(l.about(f, expectedOf(ms)...), l.charges.repeated(l.charges.Wrong, len(ms)))
}

func (l *ledger) wrongOctave(ms []mistake) {
	far, way := astray(l.octaveOff(ms[0]), "an octave", "octaves")
	text := fmt.Sprintf("%s notes were %s too %s: %s.", capital(number(len(ms))), far, way, l.everywhere(ms))
	if l.score {
		text = fmt.Sprintf("%s: %s notes were %s too %s.", capital(l.barsWords(expectedOf(ms))), number(len(ms)), far, way)
	}
	f := Finding{Kind: WrongOctave, Text: text, try: "Find the first key of each hand before you begin."}
	l.chargeNote(l.about(f, expectedOf(ms)...), l.charges.repeated(l.charges.Wrong, len(ms)))
}

// everywhere tells where several mistakes are: in full where it is one place, else hands and ways.
func (l *ledger) everywhere(ms []mistake) string {
	seen := map[string]bool{}
	var words []string
	for _, m := range ms {
		w := l.where(m.expected)
		if l.Reference.Request != nil {
			n := &l.Reference.Notes[m.expected]
			w = handWords(n.Hand)
			if d := wayWords(n.Direction); d != "" {
				w += " " + d
			}
		}
		if !seen[w] {
			seen[w] = true
			words = append(words, w)
		}
	}
	return list(words)
}

func expectedOf(ms []mistake) []int {
	var out []int
	for _, m := range ms {
		out = append(out, m.expected)
	}
	return out
}

// slippedAlong files stretches in which a hand played the next, or the last, note of its part all
// along, and returns the other mistakes. The first slippedRun-1 notes of a stretch are charged in
// full, so that putting one of them right never costs.
func (l *ledger) slippedAlong(all []mistake) []mistake {
	byNote := map[int]mistake{}
	for _, m := range all {
		byNote[m.expected] = m
	}
	for i := range l.lines {
		for _, by := range []int{1, -1} {
			for _, ms := range l.slippedStretches(&l.lines[i], by, byNote) {
				way := "ahead"
				if by < 0 {
					way = "behind"
				}
				first := ms[0].expected
				text := fmt.Sprintf("One hand was one note %s for %s notes, from %s, %s.",
					way, number(len(ms)), l.noteWords(first), l.where(first))
				charge := l.charges.Wrong * (slippedRun - 2 + l.charges.repeated(1, len(ms)-slippedRun+2))
				l.chargeNote(l.about(Finding{
					Kind: SlippedAlong, Text: text, try: "Play from just before that place, slowly, and listen for where it goes.",
				}, expectedOf(ms)...), charge)
				for _, m := range ms {
					delete(byNote, m.expected)
				}
			}
		}
	}
	var rest []mistake
	for _, m := range all {
		if _, ok := byNote[m.expected]; ok {
			rest = append(rest, m)
		}
	}
	return rest
}

func (l *ledger) slippedStretches(part *line, by int, byNote map[int]mistake) [][]mistake {
	var found [][]mistake
	var now []mistake
	for k := 0; k <= len(part.steps); k++ {
		if k < len(part.steps) && k+by >= 0 && k+by < len(part.steps) {
			m, ok := byNote[part.steps[k].notes[0]]
			if ok && len(part.steps[k].notes) == 1 && m.key == l.Key(part.steps[k+by].notes[0]) {
				now = append(now, m)
				continue
			}
		}
		if len(now) >= slippedRun {
			found = append(found, now)
		}
		now = nil
	}
	return found
}
