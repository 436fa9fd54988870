package pupil

import (
	"fmt"
	"strings"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// Role is what a struck key was to the piece, or what became of an expected note.
type Role int8

// The roles. An expected note is Correct, Wrong, Missing or OffRoute; a struck key is anything but
// Missing and OffRoute.
const (
	Correct   Role = iota
	Wrong          // another key in the note's place
	Missing        // not played
	Graze          // touched beside the right key
	Corrected      // a wrong key that was at once put right
	Repeat         // struck again, or gone back over
	GivenUp        // part of a run given up
	Before         // tried before the start
	After          // played again after the end
	Ornament       // a further stroke of a written ornament
	OffRoute       // not played, and not missing: in a repeat that was left out
)

var roleNames = [...]string{"correct", "wrong", "missing", "graze", "corrected", "repeat", "given up", "before", "after", "ornament", "off route"}

// String is the role in words.
func (r Role) String() string { return roleNames[r] }

// Expected is what became of one note of the reference.
type Expected struct {
	Role   Role // Correct, Wrong, Missing or OffRoute
	Played int  // index in Take.Notes, -1 where not played
	Key    int  // that should sound, after the octaves of the pupil's hands
}

// Played is what one note of the take was. A note struck twice has its first stroke as the correct one
// and the second as the repeat; the two are the same key, and a listener may take them the other way. Of
// an ornament, the first stroke of the written key is the correct one and all others are the ornament's.
type Played struct {
	Role     Role
	Expected int // index in Reference.Notes of a Correct or Wrong note, else -1
	Near     int // the expected note that the stroke belongs to, whatever its role
}

// Event is one thing that went wrong, as it was done.
type Event struct {
	Kind  Kind
	At    time.Duration // onset of the first stroke it touches or, of a break, of the first after it
	From  int           // reference note: where it happened, or the first note of the onset that a break came after
	To    int           // reference note a break went on from, or the last one touched; From where there is no other
	Extra time.Duration // waited beyond written time
	By    int           // semitones off
	Notes []int         // reference notes whose role it changed, or beside which it put a stroke
}

// Line is the correct notes of one hand going one way in the playing that counts, in order: what
// evenness and tempo are measured from. Grace notes are left out.
type Line struct {
	Hand       references.Hand
	Direction  references.Direction
	Notes      []int           // in Reference.Notes
	Onsets     []time.Duration // as played
	Velocities []uint8
}

// Truth is what the pupil did.
type Truth struct {
	Expected []Expected // one for each note of the reference
	Played   []Played   // one for each note of the take
	Events   []Event    // in order of time
	Lines    []Line
	Apart    []time.Duration   // left minus right at each onset both hands played rightly, unisons left out
	Complete bool              // whether the last onset was reached
	Jumps    []references.Jump // of the score: the repeats that were left out, in order of time
}

// Count is the number of expected notes (Correct, Wrong, Missing, OffRoute) or extra strokes of the
// role.
func (t *Truth) Count(r Role) int {
	n := 0
	if r <= Missing || r == OffRoute {
		for _, e := range t.Expected {
			if e.Role == r {
				n++
			}
		}
		return n
	}
	for _, p := range t.Played {
		if p.Role == r {
			n++
		}
	}
	return n
}

// Text writes a take beside its truth, a line a stroke, for people and golden files.
func (t *Truth) Text(ref *references.Reference, take *capture.Take) string {
	var b strings.Builder
	for i, n := range take.Notes {
		p := t.Played[i]
		fmt.Fprintf(&b, "%8.3f s %6.0f ms  key %3d  velocity %3d  %s", n.On.Seconds(), n.Length().Seconds()*1000, n.Key, n.Velocity, p.Role)
		if p.Near >= 0 {
			fmt.Fprintf(&b, " %s %s", ref.Notes[p.Near].Pitch, ref.Notes[p.Near].Hand)
		}
		b.WriteByte('\n')
	}
	for i, e := range t.Expected {
		if e.Role == Missing {
			fmt.Fprintf(&b, "missing %s %s at %s\n", ref.Notes[i].Pitch, ref.Notes[i].Hand, ref.Notes[i].Onset)
		}
	}
	for _, e := range t.Events {
		fmt.Fprintf(&b, "%8.3f s %s: note %d to %d, %+d, %d ms\n", e.At.Seconds(), e.Kind, e.From, e.To, e.By, e.Extra.Milliseconds())
	}
	return b.String()
}
