package align

import (
	"math/bits"

	"evenhand/references"
)

// keySet is a set of MIDI keys.
type keySet [2]uint64

func (s *keySet) add(key int) {
	if key >= 0 && key < 128 {
		s[key>>6] |= 1 << (key & 63)
	}
}

func (s *keySet) has(key int) bool { return s[key>>6]>>(key&63)&1 != 0 }

// event is everything that is written for one moment.
type event struct {
	first, last int     // the notes Notes[first:last]
	onset       float64 // quarters
	gap         float64 // quarters since the event before; of the first, to the event after
	keys        keySet
	required    uint32 // a bit for each note that may not be left out
	light       uint32 // a bit for each grace note
	free        keySet // keys that an ornament may sound meanwhile
}

// plan is a reference made ready for warping: its events, with each hand in its octave.
type plan struct {
	ref         *references.Reference
	right, left int // octave shifts in semitones
	keys        []int16
	events      []event
	at          [128][]int32      // events that hold a key
	links       map[int32][]int32 // by event, events that may rightly follow it besides the next
}

func newPlan(ref *references.Reference, right, left int) *plan {
	p := &plan{ref: ref, right: right, left: left, keys: make([]int16, len(ref.Notes))}
	bounds := ref.Events()
	p.events = make([]event, len(bounds)-1)
	for j := range p.events {
		e := &p.events[j]
		e.first, e.last = bounds[j], bounds[j+1]
		e.onset = ref.Notes[e.first].Onset.Float()
		if j > 0 {
			e.gap = e.onset - p.events[j-1].onset
		}
		for i := e.first; i < e.last; i++ {
			n := &ref.Notes[i]
			key := n.Key() + right
			if n.Hand == references.Left {
				key = n.Key() + left
			}
			p.keys[i] = int16(key)
			e.keys.add(key)
			switch {
			case n.Grace != references.NoGrace:
				e.light |= bit(i - e.first)
			case !n.Optional:
				e.required |= bit(i - e.first)
			}
			if key >= 0 && key < 128 {
				if at := p.at[key]; len(at) == 0 || at[len(at)-1] != int32(j) {
					p.at[key] = append(at, int32(j))
				}
			}
		}
	}
	if len(p.events) > 1 {
		p.events[0].gap = p.events[1].gap
	}
	if ref.Request == nil {
		p.ornaments()
		p.jumps()
	}
	return p
}

// bit is the bit of the note so far into its event. Notes beyond the width of the mask share the
// last: a chord of more than 32 notes is none a hand can play.
func bit(i int) uint32 { return 1 << min(i, 31) }

// missing counts the notes of event j that are required and not in got.
func (p *plan) missing(j int32, got uint32) int {
	return bits.OnesCount32(p.events[j].required &^ got)
}

// owed is what the notes of event j that are not in got cost while they are missing.
func (p *plan) owed(j int32, got uint32) float32 {
	e := &p.events[j]
	return costMissing*float32(bits.OnesCount32(e.required&^got)) + costGrace*float32(bits.OnesCount32(e.light&^got))
}

// find returns the bit of a note of event j with the key that is not in got, or 0. Grace notes stand
// first in an event; where one has the key of a main note, the main note is found first.
func (p *plan) find(j int32, key int, got uint32) uint32 {
	e := &p.events[j]
	if !e.keys.has(key) {
		return 0
	}
	for i := e.last - 1; i >= e.first; i-- {
		if b := bit(i - e.first); int(p.keys[i]) == key && got&b == 0 {
			return b
		}
	}
	return 0
}

// otherHand reports whether the note of event j-1 with the bit belongs to another hand than some
// note of event j in got: one hand may be late, but within a hand the notes come in order.
func (p *plan) otherHand(j int32, got, late uint32) bool {
	hand := p.ref.Notes[p.events[j-1].first+bits.TrailingZeros32(late)].Hand
	e := &p.events[j]
	for i := e.first; i < e.last; i++ {
		if got&bit(i-e.first) != 0 && p.ref.Notes[i].Hand != hand {
			return true
		}
	}
	return false
}

// nearest returns the bit of the note of event j not in got, no grace note, that key was most likely meant for, and
// what taking it for that costs; 0 where none is open.
func (p *plan) nearest(j int32, key int, got uint32) (note uint32, cost float32) {
	e := &p.events[j]
	for i := e.first; i < e.last; i++ {
		b := bit(i - e.first)
		if got&b != 0 || e.light&b != 0 {
			continue
		}
		if c := wrongCost(key - int(p.keys[i])); note == 0 || c < cost {
			note, cost = b, c
		}
	}
	return note, cost
}

// wrongCost is the cost of a key so many semitones off; of two that are alike, the nearer.
func wrongCost(d int) float32 {
	if d < 0 {
		d = -d
	}
	near := costTie * float32(d)
	switch {
	case d <= 2:
		return costWrongNear + near
	case d%12 == 0:
		return costWrongOctave + near
	case d > 12:
		return costWrongFar + near
	}
	return costWrong + near
}
