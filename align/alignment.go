package align

import (
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// Verdict is what became of one note.
type Verdict int8

// The verdicts. Wrong pairs an expected note with the other key that was struck in its place.
const (
	Correct Verdict = iota
	Wrong
	Missing
	Extra
)

var verdictNames = [...]string{"correct", "wrong", "missing", "extra"}

// String is the word used in the JSON contract.
func (v Verdict) String() string { return verdictNames[v] }

// Why says how an extra note came about.
type Why int8

// The reasons of an extra.
const (
	NoWhy     Why = iota
	Slip          // grazed beside the right key
	Repeat        // struck again, or gone back a few notes
	Again         // part of a run given up before a fresh start
	Corrected     // a wrong key at once put right
	Before        // tried before the start; in no count
	Ornament      // realises a written ornament; in no mark
	Unheard       // hardly sounded beside the notes around it; in no count
	Other
)

var whyNames = [...]string{"", "slip", "repeat", "restart", "corrected", "before", "ornament", "unheard", "other"}

// String is the word used in the JSON contract.
func (w Why) String() string { return whyNames[w] }

// Counts reports whether an extra note of this kind is a mistake: not one of a run given up, tried before the
// start, of an ornament, or unheard.
func (w Why) Counts() bool {
	switch w {
	case Again, Before, Ornament, Unheard:
		return false
	}
	return true
}

// Pair is one line of an alignment. Expected and Played are indices into Reference.Notes and
// Take.Notes, -1 where there is none. Near, of an extra, is the expected note it belongs to (the
// one it grazed, repeated or was corrected to), else -1.
type Pair struct {
	Expected, Played int
	Near             int
	Verdict          Verdict
	Why              Why
}

// Restart is a place where the player stopped and went on from elsewhere, or went back.
type Restart struct {
	Played   int                 // index of the first note after the break
	At       time.Duration       // its time
	From, To references.Quarters // where playing stopped, and where it went on
	Fresh    bool                // a restart: further back than an octave or a bar, or after a pause; else a repeat
	Allowed  bool                // a repeat the score allows: no fault at all
}

// Stretch is a part of a score, from one onset up to but not including another, repeats unfolded.
type Stretch struct{ From, To references.Quarters }

// Alignment is a take laid against a reference.
//
// Every played note is in exactly one pair, and so is every expected note but for those left out
// (optional and not played, or off the route). So expected = correct + wrong + missing, and played = correct + wrong +
// extra, where extras tried before the start are not counted.
type Alignment struct {
	Reference *references.Reference
	Take      *capture.Take

	// Pairs are in the order of playing: by time of the played note, a missing note where it should
	// have been.
	Pairs    []Pair
	Restarts []Restart

	// Route is what of a score's full unfolding was played, in order: all of it, but for the repeats
	// that were left out. Notes off the route are in no pair. Empty for a request.
	Route []Stretch

	// RightShift and LeftShift are the octaves in semitones that each hand was played above the
	// register the reference is written in. Keys and names are told after the shift.
	RightShift, LeftShift int

	// Complete is whether the marked run reaches from the first note of the reference to the last.
	Complete bool

	// AsAsked is false where Best found that something else was played; Reference is then what was
	// heard.
	AsAsked bool
}

// Key is the MIDI key number of expected note i after the octave shift of its hand.
func (a *Alignment) Key(i int) int {
	n := &a.Reference.Notes[i]
	if n.Hand == references.Left {
		return n.Key() + a.LeftShift
	}
	return n.Key() + a.RightShift
}
