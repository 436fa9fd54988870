package pupil

import (
	"time"

	"evenhand/references"
)

// Kind is what goes wrong.
type Kind int8

// The kinds of fault.
const (
	SemitoneOff         Kind = iota // another key struck in place of the note, a semitone off unless By says more
	LetterOff                       // the key of a neighbouring letter, as the key signature has it
	ForgottenAccidental             // the note and all of its name played without their sharp or flat
	LeftOut                         // silent in its time
	Skipped                         // passed over by the hands together, the next note coming in its time
	GrazedKey                       // a neighbour key touched with the right one: within 50 ms, short and mostly softer
	PutRight                        // a wrong key, then at once the right one
	StruckTwice                     // the note again before going on
	GoBack                          // after the note, without a pause, back Count onsets
	Restart                         // after the note a stop, a pause, and on from To (0: the beginning)
	Wait                            // a pause before the note
	GiveUp                          // no more after the note
	TriedBefore                     // Count of the first notes tried softly, then more than a second of silence
	PlayedAgain                     // after the end a pause, and Count onsets from the beginning
	HandAhead                       // one hand leaves the note out and plays its next Count onsets one place early
	WrongOctave                     // one hand By semitones off from the note on, for Count onsets (0: to the end)
	StuckKey                        // never let go
	EndCut                          // the last note or chord let go at once
	EndHeld                         // the last note or chord held three times as long

	// Of pieces.
	BarAgain        // the bar of the note played to its end, and at once again from its beginning
	Leap            // after the note, without a pause, on from To; what lies between is passed over
	RepeatLeftOut   // a repeat not played, where the score has one: after the note on from To
	EvenSwung       // two equal notes to the beat played long and short, Ratio to one
	DottedSlack     // a note three times as long as the next one played only Ratio times as long
	RestFilled      // the note held through the rest after it
	CutShort        // the hand's next Count onsets held for Ratio of their length
	HandLate        // the hand's next Count onsets late by Pause
	FlatDynamics    // all dynamics and hairpins passed over, and all played alike
	PassedRit       // no slowing, or no hurrying, where one is marked at the note
	PassedFermata   // a fermata at the note not held
	OrnamentLeftOut // the note played without its ornament

	kinds = iota
)

var kindNames = [kinds]string{
	"semitone off", "letter off", "forgotten accidental", "left out", "skipped", "grazed key", "put right", "struck twice",
	"go back", "restart", "wait", "give up", "tried before", "played again", "hand ahead", "wrong octave", "stuck key",
	"end cut", "end held",
	"bar again", "leap", "repeat left out", "even notes swung", "dotted rhythm slack", "rest filled", "cut short", "hand late",
	"flat dynamics", "passed rit", "passed fermata", "ornament left out",
}

// String is the kind in words.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return "no fault"
	}
	return kindNames[k]
}

// Anywhere as a fault's place lets the seed choose one.
const Anywhere = -1

// Fault is one thing that goes wrong. It befalls the playing that counts, the last one of its place;
// what is given up or gone back over was right but for what By of a [Restart] says. A fault that has
// no place, or that the reference cannot show (a forgotten accidental in C major), is left out, as
// the [Truth] tells.
type Fault struct {
	Kind Kind
	At   int             // index in Reference.Notes, or Anywhere
	Hand references.Hand // NoHand: the note alone; Both: all notes of its onset; with Anywhere, the hand to choose from

	By    int           // semitones off; 0 lets the seed choose. Of a Restart: how far off the note it stops at is
	Count int           // onsets; 0 lets the seed choose
	To    int           // index of the note a Restart or a Leap goes on from
	Pause time.Duration // of a wait, a restart, a second stroke, a correction, a late hand; 0 lets the seed choose
	Ratio float64       // of a rhythm, long to short, or of a length, played to written; 0 takes the usual
}

// breaks reports whether playing stops and goes on further back after the fault.
func (k Kind) breaks() bool { return k == GoBack || k == Restart || k == BarAgain }

// leaps reports whether something is passed over after the fault.
func (k Kind) leaps() bool { return k == Leap || k == RepeatLeftOut }

// manner reports whether the fault is a way of playing over a stretch, of Count onsets or of the whole
// piece, and not a thing that happens at its place.
func (k Kind) manner() bool {
	return k == EvenSwung || k == DottedSlack || k == FlatDynamics
}

// wholeTake reports whether the fault has its place in its kind.
func (k Kind) wholeTake() bool {
	return k == TriedBefore || k == PlayedAgain || k == EndCut || k == EndHeld
}
