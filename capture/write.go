package capture

import (
	"cmp"
	"encoding/json"
	"io"
	"slices"
	"time"

	"evenhand/internal/smf"
)

// ticksPerQuarter makes a tick of the written file one Tick at the 120 quarters to the minute a
// MIDI file has when nothing else is said; the tempo is written all the same.
const ticksPerQuarter = 25_000

// quarterMicros is the length of a quarter in the written file.
const quarterMicros = 500_000

// releaseVelocity is written for every note-off: how fast a key came up is not kept, and 64 is what
// MIDI 1.0 has senders give who do not know it.
const releaseVelocity = 64

// WriteSMF writes a take as a Standard MIDI File of format 0 that any sequencer opens. A tick is one
// Tick. The device is written as the instrument's name too; all that MIDI has no place for (device,
// start, facts, period, warnings, notes never released) is in one text event: "evenhand:" and a JSON
// object. ReadSMF gives back an equal take, if the times are whole Ticks, Started is in UTC, the
// strings are UTF-8, and no two notes of one key overlap; where they do, the first is written as
// ended by the second, as it is when they are played.
func WriteSMF(w io.Writer, t *Take) error {
	about, err := aboutEvents(t)
	if err != nil {
		return err
	}
	track := smf.Track{Events: append(about, playedEvents(t)...)}
	for _, e := range track.Events {
		track.End = max(track.End, e.Tick)
	}
	f := smf.File{Format: 0, Division: ticksPerQuarter, Tracks: []smf.Track{track}}
	return f.Write(w)
}

// aboutEvents are the meta events at the start.
func aboutEvents(t *Take) ([]smf.Event, error) {
	k := kept{Device: t.Device, Started: t.Started, Facts: t.Facts, Period: t.Period, Warnings: t.Warnings}
	for i, n := range t.Notes {
		if n.Open {
			k.Open = append(k.Open, i)
		}
	}
	text, err := json.Marshal(k)
	if err != nil {
		return nil, err
	}
	events := []smf.Event{{Status: smf.Meta, Meta: smf.Tempo, Data: []byte{quarterMicros >> 16, quarterMicros >> 8 & 0xFF, quarterMicros & 0xFF}}}
	if t.Device != "" {
		events = append(events, smf.Event{Status: smf.Meta, Meta: smf.Instrument, Data: []byte(t.Device)})
	}
	return append(events, smf.Event{Status: smf.Meta, Meta: smf.Text, Data: append([]byte(keptPrefix), text...)}), nil
}

// playedEvents are the channel messages in the order they are written. At one tick, keys come up
// before others go down, so that a key struck again at the moment of its release reads back as two
// notes; a note of no length comes up right after it went down.
func playedEvents(t *Take) []smf.Event {
	type placed struct {
		smf.Event
		rank int
	}
	var list []placed
	put := func(at time.Duration, rank int, status, data1, data2 byte) {
		tick := int64(RoundTick(max(at, 0)) / Tick)
		list = append(list, placed{smf.Event{Tick: tick, Status: status, Data: []byte{data1 & 0x7F, data2 & 0x7F}}, rank})
	}
	for _, p := range t.Pedals {
		put(p.At, -2, 0xB0, p.Controller, p.Value)
	}
	var next [128]time.Duration // when each key is struck again
	for i := range next {
		next[i] = 1<<63 - 1
	}
	for i, n := range slices.Backward(t.Notes) {
		off := max(n.On, min(n.Off, next[n.Key&0x7F]))
		next[n.Key&0x7F] = n.On
		put(n.On, 2*i, 0x90, n.Key, max(n.Velocity, 1))
		if RoundTick(off) > RoundTick(n.On) {
			put(off, -1, 0x80, n.Key, releaseVelocity)
		} else {
			put(off, 2*i+1, 0x80, n.Key, releaseVelocity)
		}
	}
	slices.SortStableFunc(list, func(a, b placed) int {
		return cmp.Or(cmp.Compare(a.Tick, b.Tick), cmp.Compare(a.rank, b.rank))
	})
	events := make([]smf.Event, len(list))
	for i := range list {
		events[i] = list[i].Event
	}
	return events
}
