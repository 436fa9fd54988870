// Package smf reads and writes Standard MIDI Files.
//
// It is bounded: a length or a count that the file only claims never allocates, and no file takes
// more than a few passes over its bytes. It reads what can be read: a fault inside a track is a
// warning with its byte offset, and only what is no MIDI file at all is refused. References in the
// comments are to the Standard MIDI Files 1.0 specification (MIDI Manufacturers Association, RP-001).
package smf

import (
	"cmp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// File is one Standard MIDI File.
type File struct {
	Format   int // 0 one track, 1 tracks played together, 2 tracks that are separate sequences
	Division Division
	Tracks   []Track
	Warnings []*Error // what was odd or damaged and passed over, in the order it was met
}

// Track is one MTrk chunk.
type Track struct {
	Offset int64 // of the chunk in the file
	Events []Event
	End    int64 // ticks: where the end-of-track event stands, or the last event where there is none
}

// The status bytes that are no channel messages.
const (
	SysEx  = 0xF0
	Escape = 0xF7
	Meta   = 0xFF
)

// The meta events used here.
const (
	Text         = 0x01
	TrackName    = 0x03
	Instrument   = 0x04
	EndOfTrack   = 0x2F
	Tempo        = 0x51 // microseconds in a quarter, three bytes
	TimeSig      = 0x58 // numerator, power of two of the denominator, clocks in a click, 32nds in a quarter
	KeySignature = 0x59 // sharps (flats negative), 0 major or 1 minor
)

// Event is one event of a track. The end-of-track event is not among them.
type Event struct {
	Tick   int64  // from the start of the track
	Offset int64  // of its delta time in the file
	Status byte   // 0x80 to 0xEF with the channel, running status resolved; SysEx, Escape or Meta
	Meta   byte   // which meta event, where Status is Meta
	Data   []byte // the data bytes of a channel message; the content of the others
}

// Text is the content of an event as valid UTF-8. Bytes that are none are taken as Latin-1, which
// is what most programs wrote before UTF-8.
func (e *Event) Text() string {
	if utf8.Valid(e.Data) {
		return string(e.Data)
	}
	var b strings.Builder
	for _, c := range e.Data {
		b.WriteRune(rune(c))
	}
	return b.String()
}

// Timed is an event with its place in the music.
type Timed struct {
	*Event
	Track int
	At    time.Duration // whole microseconds from the start
}

// Timeline returns the events of all tracks in the order they are played, and the time of the last
// end of a track. Events at one tick come in the order of the tracks, and within a track in the
// order of the bytes. Of a file of format 2, whose tracks are separate sequences, it is the first
// track that is taken.
func (f *File) Timeline() (events []Timed, end time.Duration) {
	tracks := f.Tracks
	if f.Format == 2 && len(tracks) > 1 {
		tracks = tracks[:1]
	}
	n := 0
	for i := range tracks {
		n += len(tracks[i].Events)
	}
	events = make([]Timed, 0, n)
	var last int64
	for i := range tracks {
		for j := range tracks[i].Events {
			events = append(events, Timed{Event: &tracks[i].Events[j], Track: i})
		}
		last = max(last, tracks[i].End)
	}
	if len(tracks) > 1 {
		slices.SortStableFunc(events, func(a, b Timed) int { return cmp.Compare(a.Tick, b.Tick) })
	}
	clock := newClock(f.Division)
	for i := range events {
		events[i].At = clock.at(events[i].Tick)
		if us, ok := events[i].tempo(); ok {
			clock.setTempo(us)
		}
	}
	return events, clock.at(last)
}

// tempo is the length of a quarter in microseconds where the event sets one. A tempo of 0 would
// put all that follows at one time; it sets none.
func (e *Event) tempo() (us uint32, ok bool) {
	if e.Status != Meta || e.Meta != Tempo || len(e.Data) != 3 {
		return 0, false
	}
	us = uint32(e.Data[0])<<16 | uint32(e.Data[1])<<8 | uint32(e.Data[2])
	return us, us > 0
}
