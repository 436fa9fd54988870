// Package smfscore reads a Standard MIDI File as a score: a [references.Reference] whose onsets are
// brought to a grid, which is stated. It is for files that a notation program or a sequencer wrote;
// a file that was played is better compared with a score.
//
// References in the comments are to the Standard MIDI Files 1.0 specification (MIDI Manufacturers
// Association, RP-001).
package smfscore

import (
	"errors"
	"io"
	"strconv"

	"evenhand/internal/smf"
	"evenhand/references"
)

// maxBars bounds the bars of a score.
const maxBars = 20_000

// Read reads a file; name is what faults are told under. Tracks, or the channels of a single track,
// become hands; key and time signatures, tempos and the sustaining pedal are read. What is odd is
// listed in the Warnings of the result. The error of what is no MIDI file names the place; a file
// that counts in seconds, or has no notes, is no score.
func Read(r io.Reader, name string) (*references.Reference, error) {
	file, err := smf.Read(r, name)
	if err != nil {
		return nil, err
	}
	quarter := file.Division.TicksPerQuarter()
	if quarter == 0 {
		return nil, errors.New("it counts in seconds (SMPTE), not in quarter notes: a recording, no score")
	}
	s := &score{quarter: int64(quarter), ref: &references.Reference{}}
	for _, w := range file.Warnings {
		s.warn(w.Error())
	}
	s.collect(file)
	if len(s.notes) == 0 {
		return nil, errors.New("it has no notes: no score")
	}
	s.findGrid()
	if err := s.bars(); err != nil {
		return nil, err
	}
	s.place()
	return s.ref, nil
}

// score is what is gathered from a file, in ticks.
type score struct {
	quarter int64 // ticks
	ref     *references.Reference
	notes   []note
	voices  []voice
	meters  []meterAt
	keys    []keyAt
	step    references.Quarters // of the grid
}

type note struct {
	on, off int64
	key     uint8
	voice   int
}

// voice is one track and channel.
type voice struct {
	name  string
	sum   int // of the keys
	count int
	hand  references.Hand
}

type meterAt struct {
	tick  int64
	meter references.Meter
}

type keyAt struct {
	tick   int64
	fifths int
	minor  bool
}

func (s *score) warn(text string) {
	s.ref.Warnings = append(s.ref.Warnings, references.Warning{Text: text})
}

// percussion is the channel that General MIDI gives to percussion, the tenth.
const percussion = 9

// collect gathers notes and signs from the events of a file.
func (s *score) collect(file *smf.File) {
	g := &gatherer{score: s, file: file, open: map[sounding][]int{}, index: map[[2]int]int{}, down: -1}
	events, _ := file.Timeline()
	for i := range events {
		g.event(&events[i])
	}
	for _, idx := range g.open { // never let go: they end with the file
		for _, i := range idx {
			s.notes[i].off = max(g.last, s.notes[i].on)
		}
	}
	if g.left > 0 {
		s.warn(strconv.Itoa(g.left) + " notes of the percussion channel were left out")
	}
	if g.down >= 0 {
		g.pedal(g.last, false)
	}
}

// sounding is a key that is held, by track and channel.
type sounding struct {
	voice int
	key   byte
}

type gatherer struct {
	*score
	file  *smf.File
	open  map[sounding][]int // notes that are held
	index map[[2]int]int     // voices by track and channel
	left  int                // percussion notes left out
	last  int64              // tick of the last event
	down  int64              // tick where the pedal went down; -1 where it is up
}

// event reads one event.
func (g *gatherer) event(e *smf.Timed) {
	g.last = e.Tick
	switch {
	case e.Status == smf.Meta:
		g.meta(e)
	case e.Status&0xF0 == 0x90 && e.Data[1] > 0:
		if e.Status&0x0F == percussion {
			g.left++
			return
		}
		v := g.voice(e)
		at := sounding{v, e.Data[0]}
		g.open[at] = append(g.open[at], len(g.notes))
		g.notes = append(g.notes, note{on: e.Tick, key: e.Data[0], voice: v})
		g.voices[v].sum += int(e.Data[0])
		g.voices[v].count++
	case e.Status&0xF0 == 0x80 || e.Status&0xF0 == 0x90:
		at := sounding{g.voice(e), e.Data[0]}
		if idx := g.open[at]; len(idx) > 0 {
			g.notes[idx[0]].off = e.Tick
			g.open[at] = idx[1:]
		}
	case e.Status&0xF0 == 0xB0 && e.Data[0] == 64:
		g.pedal(e.Tick, e.Data[1] >= 64)
	}
}

// voice is the index of the voice of an event.
func (g *gatherer) voice(e *smf.Timed) int {
	at := [2]int{e.Track, int(e.Status & 0x0F)}
	i, ok := g.index[at]
	if !ok {
		i = len(g.voices)
		g.index[at] = i
		g.voices = append(g.voices, voice{name: trackName(g.file, e.Track)})
	}
	return i
}

// trackName is the name of a track, "" where it has none.
func trackName(file *smf.File, track int) string {
	for i := range file.Tracks[track].Events {
		if e := &file.Tracks[track].Events[i]; e.Status == smf.Meta && e.Meta == smf.TrackName {
			return e.Text()
		}
	}
	return ""
}

// meta reads a key or time signature or a tempo.
func (g *gatherer) meta(e *smf.Timed) {
	d := e.Data
	switch {
	case e.Meta == smf.TimeSig && len(d) >= 2 && d[0] > 0 && d[1] <= 6:
		g.meters = append(g.meters, meterAt{e.Tick, references.Meter{Beats: int(d[0]), Unit: 1 << d[1]}})
	case e.Meta == smf.KeySignature && len(d) >= 2 && int8(d[0]) >= -7 && int8(d[0]) <= 7:
		g.keys = append(g.keys, keyAt{e.Tick, int(int8(d[0])), d[1] == 1})
	case e.Meta == smf.Tempo && len(d) == 3:
		if us := int(d[0])<<16 | int(d[1])<<8 | int(d[2]); us > 0 {
			g.tempo(e.Tick, 60e6/float64(us))
		}
	}
}

// tempo adds a tempo, in quarters a minute: a suggestion, as nothing is printed in a MIDI file.
func (g *gatherer) tempo(tick int64, bpm float64) {
	t := references.TempoMark{Onset: references.Q(tick, g.quarter), Tempo: references.Tempo{BPM: bpm, Beat: references.Q(1, 1)}}
	if n := len(g.ref.Tempos); n > 0 && g.ref.Tempos[n-1].Tempo == t.Tempo {
		return
	}
	g.ref.Tempos = append(g.ref.Tempos, t)
}

func (g *gatherer) pedal(tick int64, down bool) {
	switch {
	case down && g.down < 0:
		g.down = tick
	case !down && g.down >= 0:
		g.ref.Pedals = append(g.ref.Pedals, references.Pedalling{From: references.Q(g.down, g.quarter), To: references.Q(tick, g.quarter)})
		g.down = -1
	}
}
