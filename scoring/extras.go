package scoring

import (
	"fmt"

	"evenhand/align"
)

// extraNotes files the notes that nobody asked for. Those of a run given up or gone back over belong
// to the restart, those before the start and of ornaments to nothing.
func (l *ledger) extraNotes() {
	last := 0
	for k, q := range l.Pairs {
		if q.Expected >= 0 {
			last = q.Expected
		}
		if q.Verdict != align.Extra {
			continue
		}
		near := q.Near
		if near < 0 {
			near = last
		}
		if near >= len(l.Reference.Notes) {
			continue
		}
		if l.score {
			if at := l.chordNote(q.Played); at >= 0 {
				near = at
			}
		}
		f, charge := l.extra(q, near)
		if f.Kind == "" {
			continue
		}
		f.Notes = []int{k}
		f.Hand = unless(l.Reference.Notes[near].Hand.String())
		f.From, f.To = l.place(near), l.place(near)
		l.chargeNote(l.heardAt(f, q.Played), charge)
	}
}

func (l *ledger) extra(q align.Pair, near int) (Finding, float64) {
	if l.score {
		if at := l.chordNote(q.Played); at >= 0 && (q.Why == align.Corrected || q.Why == align.Repeat || q.Why == align.Other) && !l.goneBackOver(q) {
			return l.extraInChord(q, at), l.charges.Extra
		}
	}
	got := l.struck(int(l.Take.Notes[q.Played].Key), near)
	want, where := l.noteWords(near), l.where(near)
	switch q.Why {
	case align.Slip:
		detail := fmt.Sprintf("%s beside %s, %s", got, want, where)
		return Finding{
			Kind: BrushedKey, Text: "One neighbouring key was brushed: " + detail + ".", detail: detail,
			try: "Aim for the middle of each key.",
		}, l.charges.Brushed
	case align.Corrected:
		detail := fmt.Sprintf("%s before %s, %s", got, want, where)
		return Finding{
			Kind: PutRight, Text: "One wrong note was put right at once: " + detail + ".", detail: detail,
			try: "Next time look ahead to that key early.",
		}, l.charges.PutRight
	case align.Repeat:
		if l.goneBackOver(q) {
			return Finding{}, 0
		}
		detail := fmt.Sprintf("%s, %s", want, where)
		if l.tiedAgain(q) {
			return Finding{
				Kind: StruckAgain, Text: "One tied note was struck again: " + detail + ".", detail: detail + " (tied)",
				try: "Hold the key down over the bar line and count on.",
			}, l.charges.StruckAgain
		}
		return Finding{
			Kind: StruckAgain, Text: "One note was struck twice: " + detail + ".", detail: detail,
			try: "Once is enough: let the finger rest on the key.",
		}, l.charges.StruckAgain
	case align.Other, align.NoWhy:
		detail := fmt.Sprintf("%s after %s, %s", got, want, where)
		if q.Near >= 0 {
			detail = fmt.Sprintf("%s near %s, %s", got, want, where)
		}
		return Finding{
			Kind: ExtraNote, Text: "One extra note: " + detail + ".", detail: detail,
			try: "Practise just those few notes slowly, three times, then go on.",
		}, l.charges.Extra
	}
	return Finding{}, 0
}

// goneBackOver reports whether a note struck again belongs to a stretch that was gone back over,
// which is filed as such.
func (l *ledger) goneBackOver(q align.Pair) bool {
	for _, r := range l.Restarts {
		if q.Played >= r.Played {
			if l.afterEnd(r) {
				return true
			}
			continue
		}
		if q.Near < 0 {
			return true
		}
		at := l.Reference.Notes[q.Near].Onset
		if !at.Less(r.To) && !r.From.Less(at) {
			return true
		}
	}
	return false
}

// extraInChord is a key struck together with expected note at, though nothing like it is written there.
func (l *ledger) extraInChord(q align.Pair, at int) Finding {
	detail := fmt.Sprintf("%s with %s, %s", l.struck(int(l.Take.Notes[q.Played].Key), at), l.noteWords(at), l.where(at))
	return Finding{
		Kind: ExtraNote, Text: "One extra note: " + detail + ".", detail: detail,
		try: "Play just that chord, note by note, then together.",
	}
}
