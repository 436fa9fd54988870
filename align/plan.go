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
	names       uint16 // pitch classes
}

// plan is a reference made ready for warping: its events, with each hand in its octave.
type plan struct {
	ref         *references.Reference
	right, left int // octave shifts in semitones
	keys        []int16
	events      []event
	at          [128][]int32 // events that hold a key
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
			e.names |= 1 << (((key % 12) + 12) % 12)
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
	return p
}

// full is the mask of event j with every note played. Notes beyond the width of the mask share its
// last bit: a chord of more than 32 notes is none a hand can play.
func (p *plan) full(j int32) uint32 {
	n := min(p.events[j].last-p.events[j].first, 32)
	return uint32(1<<n - 1)
}

// missing counts the required notes of event j that are not in got.
func (p *plan) missing(j int32, got uint32) int {
	open := p.full(j) &^ got
	if open == 0 {
		return 0
	}
	n := bits.OnesCount32(open)
	e := &p.events[j]
	for i := e.first; i < e.last; i++ {
		if p.ref.Notes[i].Optional && open>>min(i-e.first, 31)&1 != 0 {
			n--
		}
	}
	return n
}

// find returns the bit of a note of event j with the key that is not in got, or 0.
func (p *plan) find(j int32, key int, got uint32) uint32 {
	e := &p.events[j]
	if !e.keys.has(key) {
		return 0
	}
	for i := e.first; i < e.last; i++ {
		if bit := uint32(1) << min(i-e.first, 31); int(p.keys[i]) == key && got&bit == 0 {
			return bit
		}
	}
	return 0
}

// nearest returns the bit of the note of event j not in got that key was most likely meant for, and
// what taking it for that costs; 0 where none is open.
func (p *plan) nearest(j int32, key int, got uint32) (bit uint32, cost float32) {
	e := &p.events[j]
	for i := e.first; i < e.last; i++ {
		b := uint32(1) << min(i-e.first, 31)
		if got&b != 0 {
			continue
		}
		if c := wrongCost(key - int(p.keys[i])); bit == 0 || c < cost {
			bit, cost = b, c
		}
	}
	return bit, cost
}

// wrongCost is the cost of a key so many semitones off.
func wrongCost(d int) float32 {
	if d < 0 {
		d = -d
	}
	switch {
	case d <= 2:
		return costWrongNear
	case d%12 == 0:
		return costWrongOctave
	case d > 12:
		return costWrongFar
	}
	return costWrong
}
