package scoring

import (
	"fmt"

	"evenhand/references"
)

// missingNotes files notes left out; those of a passage left out are one finding.
func (l *ledger) missingNotes() {
	skipped := map[int]bool{}
	for _, s := range l.skipped() {
		notes := l.notesOf(s)
		first, last := notes[0], notes[len(notes)-1]
		what := fmt.Sprintf("A passage was left out, from %s to %s: %s.", l.noteWords(first), l.noteWords(last), l.where(first))
		if s[1] == len(l.starts)-2 {
			what = fmt.Sprintf("It stopped before the end: from %s on, %s, the notes were left out.", l.noteWords(first), l.where(first))
		}
		for _, i := range notes {
			skipped[i] = true
		}
		l.chargeNote(l.about(Finding{
			Kind: PassageLeftOut, Text: what, try: "Begin a few notes before that place and play on over it.",
		}, notes...), l.passage*float64(len(notes)))
	}
	for i, s := range l.strokes {
		if !s.present || s.played >= 0 || skipped[i] {
			continue
		}
		detail := l.noteWords(i) + ", " + l.where(i)
		if l.Reference.Notes[i].Grace != references.NoGrace {
			l.chargeNote(l.about(Finding{
				Kind: OrnamentLeftOut, Text: "One grace note was left out: " + detail + ".", detail: "the grace note " + detail,
				try: "Play the passage without its ornaments until it is easy, then add them.",
			}, i), l.ornamentCharge)
			continue
		}
		l.chargeNote(l.about(Finding{
			Kind: MissingNote, Text: "One note left out: " + detail + ".", detail: detail,
			try: "Play slowly and let every key go right down.",
		}, i), l.charges.Missing)
	}
}

// skipped are the stretches of at least Limits.SkipEvents onsets of which nothing was played: first
// and last event.
func (p *performance) skipped() [][2]int {
	var found [][2]int
	if p.lone {
		return nil
	}
	from := -1
	for e := 0; e < len(p.starts); e++ {
		silent := e < len(p.starts)-1 && p.silent(e)
		if silent && from < 0 {
			from = e
		}
		if !silent && from >= 0 {
			if e-from >= p.limits.SkipEvents {
				found = append(found, [2]int{from, e - 1})
			}
			from = -1
		}
	}
	return found
}

// silent reports whether no note of an event was played though one was expected.
func (p *performance) silent(event int) bool {
	expected := false
	for i := p.starts[event]; i < p.starts[event+1]; i++ {
		if p.strokes[i].played >= 0 {
			return false
		}
		expected = expected || p.strokes[i].present
	}
	return expected
}

// notesOf are the expected notes from one event to another.
func (p *performance) notesOf(events [2]int) []int {
	var notes []int
	for i := p.starts[events[0]]; i < p.starts[events[1]+1]; i++ {
		if p.strokes[i].present {
			notes = append(notes, i)
		}
	}
	return notes
}
