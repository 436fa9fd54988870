package align

import (
	"math/bits"

	"evenhand/capture"
	"evenhand/references"
)

// Passage is a stretch of free practice: the played notes [First, Last). Request is what was played
// there, nil where it was nothing the catalogue knows.
type Passage struct {
	First, Last int
	Request     *references.Request
}

// Limits of telling what is practised; chosen by us.
const (
	phraseSilence = 2.0  // s; nothing goes on across a longer one
	chordSpread   = 0.12 // s within which hands begin together
	openingNotes  = 12   // looked at before a reading is tried
	strangers     = 2    // of these, at most so many may be none of its notes
	clearCost     = 3.0  // a reading so many wrong notes behind the best is dropped
	faultPrice    = 3.0  // notes that a reading must explain to make up for one wrong one
	leastPassage  = 8    // notes
)

// Practice cuts a run of playing into the scales, arpeggios and exercises it holds. What follows one
// another without a break may share a note: the end of one scale is then the beginning of the next.
// Between them are passages with no request, for notes that are none of it.
func Practice(notes []capture.Note, catalogue []references.Entry) []Passage {
	var out []Passage
	for first := 0; first < len(notes); {
		p, score := longest(notes, first, catalogue)
		if k := len(out) - 1; k >= 0 && out[k].Request != nil && out[k].Last == first {
			if shared, better := longest(notes, lastChord(notes, out[k]), catalogue); better > score {
				p = shared
			}
		}
		if p.Request != nil {
			out = append(out, p)
			first = p.Last
			continue
		}
		// Nothing known begins here: the note joins the passage of such notes before it.
		if k := len(out) - 1; k >= 0 && out[k].Request == nil && out[k].Last == first {
			out[k].Last++
		} else {
			out = append(out, Passage{First: first, Last: first + 1})
		}
		first++
	}
	return out
}

// lastChord is the first note of what a passage ends with.
func lastChord(notes []capture.Note, p Passage) int {
	at := p.Last - 1
	for at > p.First && (notes[p.Last-1].On-notes[at-1].On).Seconds() <= chordSpread {
		at--
	}
	return at
}

// longest finds the reading that begins at the note and explains most of what follows, and how much:
// the notes it has, less the price of its faults. All readings
// that may be meant go forward together; those that fall behind are dropped, and those that come to
// their end are done.
func longest(notes []capture.Note, first int, catalogue []references.Entry) (Passage, float64) {
	race := admitted(notes, first, catalogue)
	best, bestScore := Passage{First: first, Last: first}, 0.0
	for n := first; n < len(notes) && len(race) > 0; n++ {
		if n > first && (notes[n].On-notes[n-1].On).Seconds() > phraseSilence {
			break
		}
		lead := race[0]
		for _, r := range race {
			r.step(int(notes[n].Key), notes[n].On.Seconds())
			if r.total < lead.total {
				lead = r
			}
		}
		kept := race[:0]
		for _, r := range race {
			if r.total > lead.total+clearCost {
				continue
			}
			if !r.finished() {
				kept = append(kept, r)
				continue
			}
			if score := float64(n+1-first) - faultPrice*r.total; score > bestScore+preference && n+1-first >= leastPassage {
				best, bestScore = Passage{first, n + 1, r.plan.ref.Request}, score
			}
		}
		race = kept
	}
	return best, bestScore
}

// finished reports whether the best story of the reading has just come to its end.
func (r *router) finished() bool {
	c := r.cells.at(r.best())
	return int(c.state) == len(r.plan.events)-1 && c.move == moveMatch && r.plan.missing(c.state, c.got) == 0
}

// admitted returns the readings that begin with the keys struck at the note.
func admitted(notes []capture.Note, first int, catalogue []references.Entry) []*router {
	var chord keySet
	low, classes := 127, uint16(0)
	for n := first; n < min(len(notes), first+openingNotes); n++ {
		key := int(notes[n].Key)
		if (notes[n].On - notes[first].On).Seconds() <= chordSpread {
			chord.add(key)
			low = min(low, key)
		}
		classes |= 1 << (key % 12)
	}
	var out []*router
	for _, e := range catalogue {
		if bits.OnesCount16(classes&^e.Classes) > strangers || e.Strokes > 2*(len(notes)-first) {
			continue
		}
		ref := e.Reference()
		begin := ref.Notes[0].Key()
		shift := low - begin
		if shift%12 != 0 || !begins(ref, shift, chord) {
			continue
		}
		out = append(out, newRouter(newPlan(ref, shift, shift), 0))
	}
	return out
}

// begins reports whether the first event of the reference, shifted, is the chord.
func begins(ref *references.Reference, shift int, chord keySet) bool {
	var keys keySet
	for i := range ref.Notes {
		if ref.Notes[i].Onset != ref.Notes[0].Onset {
			break
		}
		keys.add(ref.Notes[i].Key() + shift)
	}
	return keys == chord
}
