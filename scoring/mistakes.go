package scoring

import (
	"fmt"

	"evenhand/align"
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
	return l.octaveOff(b) == 0 && a.name == b.name && na.Pitch.Name == nb.Pitch.Name && a.name.Step == na.Pitch.Step
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
	l.chargeNote(l.about(Finding{
		Kind: WrongNote, Text: "One wrong note: " + detail + ".", detail: detail,
		try: "Practise just those few notes slowly, three times, then go on.",
	}, m.expected), l.charges.Wrong)
}

func (l *ledger) wrongAccidental(ms []mistake) {
	want, got := l.noteWords(ms[0].expected), l.struck(ms[0].key, ms[0].expected)
	text := fmt.Sprintf("%s was played for %s %s: %s.", got, want, times(len(ms)), l.everywhere(ms))
	f := Finding{
		Kind: WrongAccidental, Text: text,
		try: fmt.Sprintf("Find every %s on the keys before you begin.", want),
	}
	l.chargeNote(l.about(f, expectedOf(ms)...), l.charges.repeated(l.charges.Wrong, len(ms)))
}

func (l *ledger) wrongOctave(ms []mistake) {
	octaves, way := l.octaveOff(ms[0]), "high"
	if octaves < 0 {
		octaves, way = -octaves, "low"
	}
	far := "an octave"
	if octaves > 1 {
		far = number(octaves) + " octaves"
	}
	text := fmt.Sprintf("%s notes were %s too %s: %s.", capital(number(len(ms))), far, way, l.everywhere(ms))
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
		}, notes...), l.charges.Missing*float64(len(notes)))
	}
	for i, s := range l.strokes {
		if !s.present || s.played >= 0 || skipped[i] {
			continue
		}
		detail := l.noteWords(i) + ", " + l.where(i)
		l.chargeNote(l.about(Finding{
			Kind: MissingNote, Text: "One note left out: " + detail + ".", detail: detail,
			try: "Play slowly and let every key go right down.",
		}, i), l.charges.Missing)
	}
}

// leadsOfHands files where a hand that left a note out was ahead of the other. The note left out is charged,
// and this is what came of it.
func (l *ledger) leadsOfHands() {
	for _, d := range l.leads {
		var notes []int
		for _, e := range d.events {
			for i := l.starts[e]; i < l.starts[e+1]; i++ {
				if l.Reference.Notes[i].Hand == d.hand {
					notes = append(notes, i)
				}
			}
		}
		l.add(l.about(Finding{
			Kind: SlippedAlong, Measured: known(float64(len(d.events))), Unit: "notes", Source: commonPractice,
			Text: fmt.Sprintf("Without %s, %s, that hand was ahead of the other for %s.",
				l.noteWords(d.left), l.where(d.left), notesWords(len(d.events))),
			try: "Play hands together slowly from just before that place.",
		}, notes...))
	}
}

// notesWords gives "one note", "three notes".
func notesWords(n int) string {
	if n == 1 {
		return "one note"
	}
	return number(n) + " notes"
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
