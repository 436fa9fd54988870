package screen

import (
	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

// Asked is what is to be played now. The page goes back to asking.
type Asked struct {
	Words      string // as one says it at the piano: "D major, hands together, two octaves. Piano."
	Candidates []*references.Reference
	Settings   scoring.Settings
	Round      string // where it stands among other requests: "3 of 12"; empty where it is the only one
}

// Piano tells of the connection.
type Piano struct {
	There bool
	Said  string // a sentence to be read, or empty
}

// Notice is something to be read that stops nothing.
type Notice struct{ Said string }

// Touched is a key tried before the playing begins.
type Touched struct{ Key uint8 }

// Began is the start of a take, or that it is begun anew: nothing of it has been seen yet.
type Began struct{}

// Struck is a note as it is struck, and what is now thought of it and of others before it.
type Struck struct {
	Index   int // counts from Began
	Note    capture.Note
	Updates []align.Update
	// Event is the index of the first note of the event reached, Reading the candidate that fits best
	// and Shift the semitones above what is written.
	Event, Reading, Shift int
}

// Beat is the n-th beat of a bar of so many, from 1, as it is counted. Of is 0 where counting ends.
type Beat struct{ N, Of int }

// Waiting is that what was played was only tried: the page stays as it was before.
type Waiting struct{}

// Over is the end of a take, which is being marked.
type Over struct{}

// Told is the verdict on a take.
type Told struct {
	Alignment  *align.Alignment
	Assessment *scoring.Assessment
	Facts      [][2]string // what was measured, for the teacher: a word and a line each
	Path       string      // where the take is kept
	Fault      string      // why it is not, or empty
}

// Rest is the reminder to rest.
type Rest struct{}

// Control is what a player or a teacher wants of the lesson.
type Control int8

// The controls.
const (
	NoControl Control = iota
	Again             // the same once more
	Next              // the next request
	End
)
