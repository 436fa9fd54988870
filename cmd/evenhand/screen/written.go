package screen

import (
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

// head is what became of one expected note.
type head struct {
	heard   bool // it is known
	verdict align.Verdict
	played  int // index of the played note, -1 where there is none
}

// written is a reference with what became of its notes.
type written struct {
	ref         *references.Reference
	right, left int   // semitones by which each hand was played above what is written
	first       []int // of each event the index of its first note; last the number of notes
	event       []int // of each note, its event
	heads       []head
	played      []capture.Note
	extras      map[int][]int // by event, the played notes that belong to none
	stops       map[int]bool  // by event, whether the playing stopped before it
}

// write lays pairs out over their reference.
func write(ref *references.Reference, right, left int, pairs []align.Pair, played []capture.Note) *written {
	w := &written{
		ref: ref, right: right, left: left, first: ref.Events(), event: make([]int, len(ref.Notes)),
		heads: make([]head, len(ref.Notes)), played: played, extras: map[int][]int{}, stops: map[int]bool{},
	}
	for e := range len(w.first) - 1 {
		for i := w.first[e]; i < w.first[e+1]; i++ {
			w.event[i] = e
			w.heads[i].played = -1
		}
	}
	at := 0
	for _, p := range pairs {
		switch {
		case p.Expected >= 0:
			at = w.event[p.Expected]
			w.heads[p.Expected] = head{true, p.Verdict, p.Played}
		case !p.Why.Counts():
		case p.Near >= 0:
			w.extras[w.event[p.Near]] = append(w.extras[w.event[p.Near]], p.Played)
		default:
			w.extras[at] = append(w.extras[at], p.Played)
		}
	}
	return w
}

// near is how many semitones beside a key one is likely to be struck in its place.
const near = 3

// grazed is how soon after another a key is struck that was only brushed. Common practice.
const grazed = 50 * time.Millisecond

// instead takes the note just struck, where it seems to be one too many, for a wrong one, if a note close
// by is still to come in its event or the next. Whoever follows the playing waits for one note more
// before saying so, and has the last word.
func (w *written) instead(p *align.Pair) bool {
	if p.Played < 0 || p.Verdict != align.Extra || p.Near >= 0 || p.Why != align.Other && p.Why != align.Slip {
		return false
	}
	if n := p.Played; n > 0 && p.Why == align.Slip && w.played[n].On-w.played[n-1].On <= grazed {
		return false
	}
	at := -1
	for e, played := range w.extras {
		if played[len(played)-1] == p.Played {
			at = e
		}
	}
	for i := w.first[max(at, 0)]; i < w.first[min(at+2, w.events())]; i++ {
		d := int(w.played[p.Played].Key) - w.pitch(i).Key()
		if !w.heads[i].heard && d*d <= near*near {
			p.Expected, p.Verdict, p.Why = i, align.Wrong, align.NoWhy
			return true
		}
	}
	return false
}

// events is the number of events.
func (w *written) events() int { return len(w.first) - 1 }

// pitch is the expected note i in the octave it is played in.
func (w *written) pitch(i int) references.Pitch {
	p := w.ref.Notes[i].Pitch
	shift := w.right
	if w.ref.Notes[i].Hand == references.Left {
		shift = w.left
	}
	p.Octave += int8(shift / 12)
	return p
}

// spell names a played key as it is likely to be meant beside the expected note near.
func (w *written) spell(key, near int) references.Pitch {
	p := references.Pitch{Name: w.ref.Spell(key, w.ref.Notes[near].Pitch.Name)}
	p.Octave = int8((key - p.Key()) / 12)
	return p
}

// trouble is the first event with something amiss, 0 where there is none.
func (w *written) trouble() int {
	for e := range w.events() {
		if w.stops[e] {
			return e
		}
		for i := w.first[e]; i < w.first[e+1]; i++ {
			if h := w.heads[i]; h.heard && h.verdict != align.Correct {
				return e
			}
		}
	}
	return 0
}

// onset is when event e was played, by one hand or by either (NoHand): the first of its notes that
// were right or wrong.
func (w *written) onset(e int, h references.Hand) (at capture.Note, ok bool) {
	for i := w.first[e]; i < w.first[e+1]; i++ {
		if h != references.NoHand && !belongs(&w.ref.Notes[i], h) {
			continue
		}
		if n := w.heads[i].played; n >= 0 && (!ok || w.played[n].On < at.On) {
			at, ok = w.played[n], true
		}
	}
	return at, ok
}

// velocity is how hard event e was struck: the loudest of its notes.
func (w *written) velocity(e int) int {
	v := 0
	for i := w.first[e]; i < w.first[e+1]; i++ {
		if n := w.heads[i].played; n >= 0 {
			v = max(v, int(w.played[n].Velocity))
		}
	}
	return v
}
