package scoring

import (
	"fmt"
	"sort"

	"evenhand/references"
)

// missingNotes files notes left out; those of a passage left out, which skips has, are one finding.
func (l *ledger) missingNotes(skips [][2]int) {
	skipped := map[int]bool{}
	for _, s := range skips {
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

// skipped are the passages left out, as first and last event: at least Limits.SkipEvents onsets of which nothing
// was played; or two and more, with what strays into them, that were jumped over, so that their time is missing
// too. A hand that falls silent while the counting goes on leaves out notes.
func (p *performance) skipped() [][2]int {
	var found [][2]int
	if p.lone {
		return nil
	}
	rate := p.pulse().rate
	for e := 0; e < len(p.starts)-1; e++ {
		if !p.silent(e) {
			continue
		}
		last, silent := e, 1 // the silent ones to the last of them
		for k, n := e+1, 1; k < len(p.starts)-1 && p.strays(k); k++ {
			if p.silent(k) {
				n++
				last, silent = k, n
			}
		}
		if silent >= jumpEvents && p.jumpedOver(e, last, rate) {
			found = append(found, [2]int{e, last})
			e = last
			continue
		}
		last = e
		for last+1 < len(p.starts)-1 && p.silent(last+1) {
			last++
		}
		if last-e+1 >= p.limits.SkipEvents {
			found = append(found, [2]int{e, last})
		}
		e = last
	}
	return found
}

// Of what was jumped over. Chosen by us.
const (
	jumpEvents = 2   // onsets at least, of which nothing was played
	jumpShare  = 0.6 // of the written time, at most, that it took
	strayParts = 3   // of the notes of an onset, no more than one in so many strays into it
)

// strays reports whether hardly any note of an event was played right.
func (p *performance) strays(event int) bool {
	expected, right := 0, 0
	for i := p.starts[event]; i < p.starts[event+1]; i++ {
		if p.strokes[i].present {
			expected++
		}
		if p.strokes[i].correct {
			right++
		}
	}
	return strayParts*right <= expected
}

// jumpedOver reports whether the time from what sounded before some events to what sounded after them is much
// shorter than is written, at a rate in seconds a quarter.
func (p *performance) jumpedOver(first, last int, rate float64) bool {
	steps := p.all.steps
	k := sort.Search(len(steps), func(k int) bool { return steps[k].event >= first })
	before, after := k-1, k
	for before >= 0 && !steps[before].sounded {
		before--
	}
	for after < len(steps) && (steps[after].event <= last || !steps[after].sounded) {
		after++
	}
	if before < 0 || after == len(steps) {
		return false
	}
	a, b := &steps[before], &steps[after]
	return b.on-a.on < jumpShare*rate*(b.onset.Float()-a.onset.Float())
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

// notesOf are the notes left out from one event to another.
func (p *performance) notesOf(events [2]int) []int {
	var notes []int
	for i := p.starts[events[0]]; i < p.starts[events[1]+1]; i++ {
		if p.strokes[i].present && p.strokes[i].played < 0 {
			notes = append(notes, i)
		}
	}
	return notes
}
