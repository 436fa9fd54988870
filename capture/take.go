package capture

import "time"

// Tick is the grain of time in a take: takes are kept on disk at 25,000 ticks to the quarter note
// at 120 to the minute, and live times are rounded to the same grain before anything judges them,
// so that a take is the same live and read back.
const Tick = 20 * time.Microsecond

// Note is one key that was struck. Times count from the start of the take and are monotonic.
type Note struct {
	Key      uint8 // MIDI key number, middle C 60
	Velocity uint8 // 1 to 127
	On, Off  time.Duration
	Open     bool // no note-off came; Off is where the take ended
}

// Length is how long the key was held.
func (n Note) Length() time.Duration { return n.Off - n.On }

// Controllers of the three pedals (MIDI 1.0).
const (
	Sustain   = 64
	Sostenuto = 66
	Soft      = 67
)

// Pedal is one change of a pedal.
type Pedal struct {
	At         time.Duration
	Controller uint8 // Sustain, Sostenuto or Soft
	Value      uint8 // 0 to 127; 64 and more is down (MIDI 1.0)
}

// Take is one performance. Notes are in the order of their note-ons: by time, and at one time in
// the order of the bytes or tracks they came in.
type Take struct {
	Notes   []Note
	Pedals  []Pedal
	Device  string
	Started time.Time         // wall clock at the start; zero where it is not known
	Facts   map[string]string // what was kept with the take: its request, its settings (see Recorder)

	// Warnings are what was odd and passed over (a note never released, notes of the percussion
	// channel left out), one plain sentence each.
	Warnings []string

	// Period is the grain of the clock that stamped the events, where it is known and coarser than
	// Tick: under JACK, one process cycle. Evenness finer than this cannot be told.
	Period time.Duration
}

// End is the time of the last release.
func (t *Take) End() time.Duration {
	var end time.Duration
	for i := range t.Notes {
		end = max(end, t.Notes[i].Off)
	}
	return end
}
