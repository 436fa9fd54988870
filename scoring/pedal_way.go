package scoring

import (
	"sort"

	"evenhand/capture"
)

// pedalChange is one message of the sustaining pedal.
type pedalChange struct {
	at    float64 // seconds
	value int
}

// pedalDown returns whether the sustaining pedal was down at a time in seconds. How this pedal works is
// learnt from the take: it is down beyond half of the furthest that it was ever pressed (64 of 127 for
// one that goes all the way, as MIDI 1.0 has it), and the other way round for one that is wired in
// reverse.
func (p *performance) pedalDown() func(float64) bool {
	var cs []pedalChange
	most := 0
	for _, e := range p.Take.Pedals {
		if e.Controller == capture.Sustain {
			cs = append(cs, pedalChange{e.At.Seconds(), int(e.Value)})
			most = max(most, int(e.Value))
		}
	}
	sort.SliceStable(cs, func(i, k int) bool { return cs[i].at < cs[k].at })
	level := max(1, (most+1)/2)
	reversed := len(p.Take.Notes) > 0 && isReversed(cs, level, p.Take.Notes[0].On.Seconds())
	return func(t float64) bool {
		k := sort.Search(len(cs), func(k int) bool { return cs[k].at > t })
		if k == 0 {
			return false
		}
		return (cs[k-1].value >= level) != reversed
	}
}

// isReversed reports whether a pedal seems to be wired in reverse: used twice at least, first touched after the first note,
// by a message that it is up, left down at the end, and up for the longer part between.
func isReversed(cs []pedalChange, level int, start float64) bool {
	n := len(cs)
	if n < 4 || cs[0].at < start || cs[0].value >= level || cs[n-1].value < level {
		return false
	}
	var up, down float64
	for k := 1; k < n; k++ {
		if d := cs[k].at - cs[k-1].at; cs[k-1].value < level {
			up += d
		} else {
			down += d
		}
	}
	return up > down
}
