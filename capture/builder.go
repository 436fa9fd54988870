package capture

import (
	"fmt"
	"maps"
	"slices"
	"time"
)

// What a controller change of the MIDI 1.0 channel mode messages does to keys and pedals.
const (
	allSoundOff      = 120
	resetControllers = 121
	allNotesOff      = 123 // and so do 124 to 127, which change the mode
)

// Percussion is the MIDI channel, counted from 0, that General MIDI gives to percussion (channel
// 10 to people). It is no piano and is left out.
const Percussion = 9

// Builder makes a Take out of messages as they come. Live playing, files and raw bytes all go
// through it, so one set of rules holds:
//
//   - a note-on with velocity 0 is a note-off (MIDI 1.0);
//   - a second note-on of a key that sounds ends the first note;
//   - a note-off ends the note only if it comes on the channel that began it; one at the very moment
//     the key was struck again belongs to the stroke before, which is ended already (pianos have
//     been seen to send the two in this order);
//   - all notes off, all sound off and the mode changes end the notes of their channel; reset all
//     controllers lifts the pedals;
//   - channel 10 is left out, and said;
//   - a time before the one before it is taken as that one.
//
// The zero value is not ready; see NewBuilder. A Builder is not for several goroutines at once.
type Builder struct {
	take       Take
	grain      time.Duration
	now        time.Duration
	sounding   [128]sounding
	held       [3]bool // whether each pedal was last at more than 0: see pedalIndex
	percussion int     // notes left out
	changes    []Change
}

// sounding is the note a key makes now.
type sounding struct {
	on      bool
	channel byte
	note    int  // index into the take's notes
	late    bool // the note-off of the stroke before has not come yet
}

// ChangeKind says what a message did to the take.
type ChangeKind int8

// The changes. Index counts into the take's Notes, or into its Pedals for PedalMoved.
const (
	NoteBegan ChangeKind = iota
	NoteEnded
	PedalMoved
)

// Change is one thing that a message did.
type Change struct {
	Kind  ChangeKind
	Index int
}

// NewBuilder returns a Builder for live playing. Of about, the Device, Started, Facts and Period
// are kept; Started is kept in UTC. Times are rounded to Tick before anything sees them.
func NewBuilder(about Take) *Builder { return newBuilder(about, Tick) }

func newBuilder(about Take, grain time.Duration) *Builder {
	return &Builder{grain: grain, take: Take{
		Device:  about.Device,
		Started: about.Started.Round(0).UTC(),
		Facts:   maps.Clone(about.Facts),
		Period:  about.Period,
	}}
}

// RoundTick rounds a time to the nearest Tick.
func RoundTick(at time.Duration) time.Duration { return at.Round(Tick) }

// Add takes the next message and returns what it changed, which may be nothing and is good until
// the next call.
func (b *Builder) Add(m Message) []Change {
	b.Advance(m.At)
	b.changes = b.changes[:0]
	channel, data1, data2 := m.Status&0x0F, m.Data1&0x7F, m.Data2&0x7F
	switch {
	case channel == Percussion:
		if m.Status&0xF0 == 0x90 && data2 > 0 {
			b.percussion++
		}
	case m.Status&0xF0 == 0x90 && data2 > 0:
		b.noteOn(channel, data1, data2)
	case m.Status&0xF0 == 0x90, m.Status&0xF0 == 0x80:
		b.release(channel, data1)
	case m.Status&0xF0 == 0xB0:
		b.control(channel, data1, data2)
	}
	return b.changes
}

// Advance tells the Builder that the take has gone on until at, with nothing played.
func (b *Builder) Advance(at time.Duration) { b.now = max(b.now, at.Round(b.grain)) }

// Now is how far the take has gone.
func (b *Builder) Now() time.Duration { return b.now }

// Note is the note of index i as it stands; while its key is down, its Off is its On.
func (b *Builder) Note(i int) Note { return b.take.Notes[i] }

// Pedal is the pedal change of index i.
func (b *Builder) Pedal(i int) Pedal { return b.take.Pedals[i] }

// Take returns the take as it stands: keys still down are closed at the latest time the Builder
// has heard of, marked Open, and told in Warnings. The Take is the caller's own.
func (b *Builder) Take() *Take {
	t := b.take
	t.Notes = slices.Clone(t.Notes)
	t.Pedals = slices.Clone(t.Pedals)
	t.Facts = maps.Clone(t.Facts)
	t.Warnings = slices.Clone(t.Warnings)
	if b.percussion > 0 {
		t.Warnings = append(t.Warnings, fmt.Sprintf("%s on the percussion channel (10) left out", count(b.percussion, "note")))
	}
	open := 0
	for _, s := range b.sounding {
		if s.on {
			t.Notes[s.note].Off, t.Notes[s.note].Open = b.now, true
			open++
		}
	}
	if open > 0 {
		t.Warnings = append(t.Warnings, fmt.Sprintf("%s never released; closed where the take ends", count(open, "note")))
	}
	return &t
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (b *Builder) noteOn(channel, key, velocity byte) {
	again := b.sounding[key].on
	if again {
		b.noteOff(key)
	}
	i := len(b.take.Notes)
	b.take.Notes = append(b.take.Notes, Note{Key: key, Velocity: velocity, On: b.now, Off: b.now})
	b.sounding[key] = sounding{on: true, channel: channel, note: i, late: again}
	b.changes = append(b.changes, Change{NoteBegan, i})
}

func (b *Builder) release(channel, key byte) {
	s := &b.sounding[key]
	switch {
	case !s.on || s.channel != channel:
	case s.late && b.take.Notes[s.note].On == b.now:
		s.late = false
	default:
		b.noteOff(key)
	}
}

// noteOff ends the note of a key that sounds.
func (b *Builder) noteOff(key byte) {
	i := b.sounding[key].note
	b.take.Notes[i].Off = b.now
	b.sounding[key].on = false
	b.changes = append(b.changes, Change{NoteEnded, i})
}

func (b *Builder) control(channel, controller, value byte) {
	switch {
	case controller == Sustain || controller == Sostenuto || controller == Soft:
		b.pedal(controller, value)
	case controller == resetControllers:
		for _, c := range [...]byte{Sustain, Sostenuto, Soft} {
			if b.held[pedalIndex(c)] {
				b.pedal(c, 0)
			}
		}
	case controller == allSoundOff || controller >= allNotesOff:
		for key, s := range b.sounding {
			if s.on && s.channel == channel {
				b.noteOff(byte(key))
			}
		}
	}
}

func (b *Builder) pedal(controller, value byte) {
	b.held[pedalIndex(controller)] = value > 0
	b.take.Pedals = append(b.take.Pedals, Pedal{At: b.now, Controller: controller, Value: value})
	b.changes = append(b.changes, Change{PedalMoved, len(b.take.Pedals) - 1})
}

func pedalIndex(controller byte) int {
	switch controller {
	case Sustain:
		return 0
	case Sostenuto:
		return 1
	}
	return 2
}
