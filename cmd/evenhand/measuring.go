package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"evenhand/capture"
	"evenhand/scoring"
)

// The steps of measuring a piano. How soft is soft is the player's: a piano is measured by ear.
const (
	measureNotes = 5 // of each loudness
	// leastRise is how much louder the next loudness has to be, in units of velocity: 4.48 is the upper
	// just noticeable difference of Slade et al. (2022), Psychology of Music, doi 10.1177/03057356221126203.
	leastRise = 5
	// measureTries is how often a loudness is asked for. Chosen by us.
	measureTries = 3
	// farthest is how far apart notes can be and still be meant as joined: beyond it the ear hears a gap
	// at any tempo. Chosen by us.
	farthest = 120 * time.Millisecond
)

// loudnessStep is one loudness that is asked for.
type loudnessStep struct{ dynamic, how, more string }

var loudnessSteps = []loudnessStep{
	{"p", "softly, as for piano by ear", ""},
	{"mf", "middling, neither soft nor loud", "a little louder"},
	{"f", "strongly, as for forte by ear", "a good deal louder"},
}

// measuring is a piano being measured: messages go in, and what to say comes out.
type measuring struct {
	say    func(format string, args ...any)
	step   int // of loudnessSteps, and one more for legato
	tries  int
	notes  []capture.Note // of this step
	open   map[uint8]int  // the keys that are down, and their notes
	levels []scoring.LevelVelocity
	fixed  bool // no two notes differed so far
	first  uint8
	gap    time.Duration // between joined notes, at most
	fault  error
}

func newMeasuring(say func(string, ...any)) *measuring {
	m := &measuring{say: say, open: map[uint8]int{}, fixed: true}
	m.ask("")
	return m
}

// ask asks for the notes of this step.
func (m *measuring) ask(more string) {
	m.notes = nil
	switch {
	case m.step == len(loudnessSteps):
		m.say("Now five notes one after another, joined as legato: C D E F G, or others next\nto each other.\n")
	case more != "":
		m.say("Once more, %s, please: five notes %s.\n", more, loudnessSteps[m.step].how)
	default:
		m.say("Play five notes %s: any keys, one after another.\n", loudnessSteps[m.step].how)
	}
}

// done reports whether there is nothing more to ask.
func (m *measuring) done() bool { return m.fault != nil || m.step > len(loudnessSteps) }

// take is told the next message of the piano.
func (m *measuring) take(c capture.Message) {
	switch key := c.Data1; {
	case m.done():
	case strikes(&c):
		if len(m.notes) < measureNotes {
			m.open[key] = len(m.notes)
			m.notes = append(m.notes, capture.Note{Key: key, Velocity: c.Data2, On: c.At, Open: true})
			m.hear(c.Data2)
		}
	case c.Status&0xF0 == 0x80 || c.Status&0xF0 == 0x90:
		if i, down := m.open[key]; down {
			m.notes[i].Off, m.notes[i].Open = c.At, false
			delete(m.open, key)
		}
	}
	if len(m.notes) == measureNotes && len(m.open) == 0 && !m.done() {
		m.finish()
	}
}

// hear looks at the velocity of one stroke.
func (m *measuring) hear(velocity uint8) {
	if m.first == 0 {
		m.first = velocity
	}
	m.fixed = m.fixed && velocity == m.first
}

// finish ends a step.
func (m *measuring) finish() {
	if m.step == len(loudnessSteps) {
		m.joined()
		return
	}
	s := loudnessSteps[m.step]
	v := middleVelocity(m.notes)
	m.say("  %s: velocity %.0f\n", s.dynamic, v)
	if n := len(m.levels); n > 0 && v < m.levels[n-1].Velocity+leastRise && !m.fixed {
		if m.tries++; m.tries == measureTries {
			m.fault = fmt.Errorf("three times %q was no louder than what came before it: nothing is kept; try again after a rest", s.dynamic)
			return
		}
		m.ask(s.more)
		return
	}
	m.levels = append(m.levels, scoring.LevelVelocity{Dynamic: s.dynamic, Velocity: v})
	m.tries = 0
	if m.step++; m.step == len(loudnessSteps) && m.fixed {
		m.levels = nil
		m.say("This piano sends one velocity (%d) for every key: how loud it was cannot be told,\nand is left out of the marks. Is its touch switched off?\n", m.first)
	}
	m.ask("")
}

// joined learns how far apart notes that are meant as joined are on this piano: keys are let go at
// different heights. Overlapping notes need no allowance.
func (m *measuring) joined() {
	var widest time.Duration
	for i := 1; i < len(m.notes); i++ {
		widest = max(widest, m.notes[i].On-m.notes[i-1].Off)
	}
	if widest > farthest {
		if m.tries++; m.tries < measureTries {
			m.say("  there was a gap of %d ms: that is not joined.\n", widest.Milliseconds())
			m.ask("")
			return
		}
		m.say("  joined notes are judged as on any piano.\n")
		widest = 0
	}
	m.gap = widest
	m.step++
}

// middleVelocity is the median of the velocities.
func middleVelocity(notes []capture.Note) float64 {
	var v []uint8
	for _, n := range notes {
		v = append(v, n.Velocity)
	}
	slices.Sort(v)
	return float64(v[len(v)/2])
}

// result is what was learnt.
func (m *measuring) result(piano string) measured {
	ms := math.Round(float64(m.gap)/float64(time.Millisecond)*10) / 10
	return measured{Calibration: scoring.Calibration{Piano: piano, Levels: m.levels, LegatoGapMS: ms}}
}
