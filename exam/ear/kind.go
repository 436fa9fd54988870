package ear

import (
	"fmt"
	"strings"
)

// Kind is what an ear test asks for.
type Kind string

// The kinds of ear test.
const (
	Beat       Kind = "beat"       // tap the beat of a melody
	Interval   Kind = "interval"   // name the interval of two notes
	Chord      Kind = "chord"      // name a chord
	Change     Kind = "change"     // find what was changed in a melody
	Echo       Kind = "echo"       // play back a short phrase
	Cadence    Kind = "cadence"    // name the cadence that ends a phrase of chords
	Modulation Kind = "modulation" // name the key to which a phrase of chords goes
)

// Kinds are all kinds, in their usual order.
func Kinds() []Kind {
	return []Kind{Beat, Interval, Chord, Change, Echo, Cadence, Modulation}
}

// TopLevel is the highest level; the lowest, the first step, is 0.
const TopLevel = 8

// From is the first level at which a kind is asked: 0 for most, 5 for cadences, 6 for modulations.
// Chosen by us.
func (k Kind) From() int {
	switch k {
	case Cadence:
		return 5
	case Modulation:
		return 6
	}
	return 0
}

// Known reports whether k is one of Kinds.
func (k Kind) Known() bool {
	for _, known := range Kinds() {
		if k == known {
			return true
		}
	}
	return false
}

// Check reports in one line why there is no test of this kind at a level, or nil.
func (k Kind) Check(level int) error {
	switch {
	case !k.Known():
		names := make([]string, len(Kinds()))
		for i, known := range Kinds() {
			names[i] = string(known)
		}
		return fmt.Errorf("no ear test is called %q; there are %s", string(k), strings.Join(names, ", "))
	case level < 0 || level > TopLevel:
		return fmt.Errorf("there is no level %d: levels run from 0, the first step, to %d", level, TopLevel)
	case level < k.From():
		return fmt.Errorf("the %s test begins at level %d, and level %d was asked for", k, k.From(), level)
	}
	return nil
}
