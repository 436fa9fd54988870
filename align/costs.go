package align

// The warping looks for the cheapest story that explains every played note. The unit is one wrong
// note. All costs are chosen by us, by the order they must have among themselves:
//
//   - a wrong key in the right place is cheaper than a missing note and an extra one;
//   - a key an octave off, or next to the right one, is a likelier mistake than any other;
//   - going back a few notes is cheaper than calling them all extra, from two notes on;
//   - a jump is cheaper after a silence, for that is when players start afresh, and coming back to
//     the beginning is the usual one;
//   - time only breaks ties: a hesitation must never turn a right note into a wrong one.
const (
	costMissing      = 0.60
	costGrace        = 0.10 // a grace note left out
	costOrnament     = 0.05 // a stroke of an ornament
	costExtra        = 0.75
	costWrongNear    = 0.90 // within two semitones
	costWrong        = 1.00
	costWrongFar     = 1.15  // more than an octave off
	costWrongOctave  = 0.50  // the right name in another octave
	costBroken       = 0.75  // a silence within a chord
	costTie          = 0.002 // for each semitone, between mistakes that are alike
	costLate         = 0.10  // a note of the chord before, after the next has begun: hands apart
	costBack         = 1.00  // going back a few notes, and a little more for each
	costBackStep     = 0.06
	costJumpBack     = 2.30
	costJumpAhead    = 3.50
	costJumpToStart  = 1.70
	costPauseRelief  = 0.80 // taken off a jump back after a silence
	costAfresh       = 1.20 // taken off beginning again after a silence
	costScoreBack    = 0.50 // more, in a score, for going back: music says a thing twice, and it is the
	costScoreAhead   = 1.30 // less, in a score, for leaving out a little: nearer place that is meant
	costFar          = 0.40 // more, for the far end of the music
	farEvents        = 100
	costLink         = 0.20 // a repeat left out
	costTime         = 0.25 // at most, for coming too soon or too late
	costTrimmedStart = 3.50 // the most that not beginning at the beginning costs
	costDoubt        = 3.00 // stories this much dearer than the best are given up,
	costCutoff       = 3.60 // but those that have just jumped at this: a jump is never dearer
)

// Spans of the search, in events. In a reference of more than smallPlan of them a jump is only looked
// for where what was played cannot be explained, and then only nearby, until the player has stopped
// or some of the last eight notes cannot be.
const (
	smallPlan    = 400
	maxSkip      = 5 // events passed over without it being a jump
	maxShortBack = 8
	nearby       = 40 // places on either side that hold the key
	lost         = 3  // of the last eight notes
	proof        = 3  // a far jump and the notes after it, that must be right
)

// A pause is a gap of at least pauseFactor events and pauseFloor seconds. Who is known to have gone back began
// afresh if they stopped before for as long as makes a hesitation. Chosen by us: the hesitation limits are no
// longer, so that every pause is a hesitation too.
const (
	pauseFactor = 2.0
	stopFactor  = 1.6
	pauseFloor  = 0.7
)
