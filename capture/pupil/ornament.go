package pupil

import (
	"math"

	"evenhand/references"
)

// Ornaments and grace notes are played in the usual ways, the way drawn for each: a trill begins on the
// written note or on the one above; short grace notes come before the beat, taking their time from
// what is before (Timmers et al. 2002, Music Perception: as players mostly do), or on it; an
// unslashed one takes half its note, or is short; a chord is rolled so as to begin on the beat or to end
// on it, the hands one after the other or together.

// Seconds of one stroke: common practice. A trill has 8 to 11 strokes a second.
const (
	quickest, quick  = 0.09, 0.125
	graceLo, graceHi = 0.06, 0.1
	rollLo, rollHi   = 0.025, 0.06
)

// mostStrokes bounds a trill.
const mostStrokes = 500

// adorn adds the strokes of an ornament to stroke s, which is the note as written and lasts so many
// seconds, and returns what becomes of s itself. The first stroke of the written key stays the note's.
func (p *performance) adorn(s stroke, seconds float64) stroke {
	note := &p.s.ref.Notes[s.note]
	up, down := int(note.Above), int(note.Below)
	if !onKeyboard(s.key+up) || !onKeyboard(s.key-down) {
		return s
	}
	d := min(between(p.graces, quickest, quick), seconds/6)
	var keys []int // distance from the written key
	start := 0.0
	switch note.Ornament {
	case references.Trill:
		keys = p.trill(int(min(seconds*0.85/d, mostStrokes)), up)
	case references.Tremolo:
		keys = make([]int, int(min(max(seconds*0.9/d, 2), mostStrokes)))
	case references.Turn:
		keys = []int{up, 0, -down, 0}
	case references.InvertedTurn:
		keys = []int{-down, 0, up, 0}
	case references.DelayedTurn:
		keys, start = []int{up, 0, -down, 0}, seconds/2
	case references.DelayedInvertedTurn:
		keys, start = []int{-down, 0, up, 0}, seconds/2
	case references.Mordent:
		keys = []int{0, -down, 0}
	case references.InvertedMordent:
		keys = []int{0, up, 0}
	}
	if len(keys) == 0 || d < 0.04 || up == 0 && down == 0 && note.Ornament != references.Tremolo {
		return s
	}
	return p.ornament(s, keys, start, d)
}

// trill is the keys of about n strokes, ending on the written one.
func (p *performance) trill(n, up int) []int {
	n = max(n, 3)
	if p.graces.IntN(2) == 0 {
		n |= 1 // begins on the written note
	} else {
		n += n & 1
	}
	keys := make([]int, n)
	for i := range keys {
		if (n-1-i)%2 == 1 {
			keys[i] = up
		}
	}
	return keys
}

// ornament strikes the keys one after the other, d seconds each, from start on; before start the
// written note sounds. The last one is held for the rest of the note.
func (p *performance) ornament(s stroke, keys []int, start, d float64) stroke {
	own := -1
	if start > 0 {
		s.held = start
	} else {
		for i, k := range keys {
			if own < 0 && k == 0 {
				own = i
			}
		}
	}
	first := s.on
	for i, k := range keys {
		x := s
		x.on, x.key, x.role = first+start+float64(i)*d*between(p.graces, 0.97, 1.03), s.key+k, Ornament
		x.held, x.velocity = d, -between(p.graces, 0, 6)
		if i == len(keys)-1 {
			x.held, x.into = 0, start+float64(i)*d
		}
		if i == own {
			x.role, x.velocity = s.role, 0
			s = x
			continue
		}
		p.strokes = append(p.strokes, x)
	}
	return s
}

// graceNotes strikes the grace notes of step i, and returns by how many seconds the note each hand
// leads to comes late for them.
func (p *performance) graceNotes(i int, late func(references.Hand) float64) map[references.Hand]float64 {
	out := map[references.Hand]float64{}
	for h := references.NoHand; h <= references.Both; h++ {
		var graces []int
		for _, n := range p.s.notes(p.steps[i].onset, references.Both) {
			if note := &p.s.ref.Notes[n]; note.Hand == h && note.Grace != references.NoGrace {
				graces = append(graces, n)
			}
		}
		if len(graces) == 0 {
			continue
		}
		d, before := p.graceTime(graces, p.steps[i].onset)
		for k, n := range graces {
			on := late(h) + float64(k)*d
			if before {
				on -= float64(len(graces)) * d
			}
			p.strikeNote(i, n, on)
			if k := len(p.strokes) - 1; k >= 0 && p.strokes[k].note == n && p.strokes[k].held == 0 {
				p.strokes[k].held = d
			}
		}
		if !before {
			out[h] = float64(len(graces)) * d
		}
	}
	return out
}

// graceTime is how many seconds each of the grace notes before onset e takes, and whether before the
// beat.
func (p *performance) graceTime(graces []int, e int) (d float64, before bool) {
	count := float64(len(graces))
	kind := p.s.ref.Notes[graces[0]].Grace
	d = between(p.graces, graceLo, graceHi)
	before = p.graces.IntN(4) > 0 && e > 0 || kind == references.AfterGrace
	long := p.graces.IntN(4) > 0
	if kind == references.Appoggiatura && long {
		for _, n := range p.s.notes(e, p.s.ref.Notes[graces[0]].Hand) {
			if note := &p.s.ref.Notes[n]; note.Grace == references.NoGrace {
				start := p.s.quarters(e)
				half := (p.tempo.at(start+note.Length.Float()) - p.tempo.at(start)) / 2
				return min(half, 0.8) / count, false
			}
		}
	}
	return max(min(d, 0.35*math.Min(p.gap(e), p.ioi(e))/count), 0.031), before
}

// rolled is how many seconds each note of a rolled chord of onset e comes before or after the beat; none
// where nothing is rolled.
func (p *performance) rolled(e int) map[int]float64 {
	var chord []int
	for _, n := range p.s.notes(e, references.Both) {
		if p.s.ref.Notes[n].Rolled {
			chord = append(chord, n)
		}
	}
	if len(chord) < 2 {
		return nil
	}
	together, onBeat := p.graces.IntN(3) == 0, p.graces.IntN(2) == 0
	count := map[references.Hand]int{}
	place := func(n int) references.Hand {
		if together {
			return p.s.ref.Notes[n].Hand
		}
		return references.Both
	}
	for _, n := range chord {
		count[place(n)]++
	}
	d := min(between(p.graces, rollLo, rollHi), 0.35*min(p.gap(e), p.ioi(e))/float64(len(chord)))
	out, k := map[int]float64{}, map[references.Hand]int{}
	for _, n := range chord {
		h := place(n)
		out[n] = float64(k[h]) * d
		if !onBeat {
			out[n] -= float64(count[h]-1) * d
		}
		k[h]++
	}
	return out
}
