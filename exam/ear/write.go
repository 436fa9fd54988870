package ear

import (
	"io"
	"time"

	"evenhand/capture"
)

// between is the silence between two hearings in a file. Chosen by us.
const between = 2500 * time.Millisecond

// Begins is when hearing i begins in the file of an item.
func (it Item) Begins(i int) time.Duration {
	var at time.Duration
	for k := range min(i, len(it.Hearings)) {
		at += it.Hearings[k].End() + between
	}
	return at
}

// sounds are those of all hearings, one after another.
func (it Item) sounds() []Sound {
	var out []Sound
	for i := range it.Hearings {
		at := it.Begins(i)
		for _, s := range it.Hearings[i].Sounds {
			s.On, s.Off = s.On+at, s.Off+at
			out = append(out, s)
		}
	}
	return out
}

// Take is the hearing as notes to be played, from its first sound on.
func (h *Hearing) Take() *capture.Take { return takeOf(h.Sounds) }

func takeOf(sounds []Sound) *capture.Take {
	take := &capture.Take{}
	for _, s := range sounds {
		take.Notes = append(take.Notes, capture.Note{
			Key: s.Key, Velocity: s.Velocity, On: capture.RoundTick(s.On), Off: capture.RoundTick(s.Off),
		})
	}
	return take
}

// WriteMIDI writes all hearings, one after another, as a Standard MIDI File.
func (it Item) WriteMIDI(w io.Writer) error { return capture.WriteSMF(w, takeOf(it.sounds())) }

// WriteWAV writes all hearings, one after another, as a WAV file of 44,100 samples a second, 16 bits, one
// channel.
func (it Item) WriteWAV(w io.Writer) error { return writeWAV(w, render(it.sounds())) }
