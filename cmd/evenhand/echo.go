package main

import (
	"sync"
	"time"

	"evenhand/capture"
)

// echoes tells what the program itself made the piano sound from what is played on it. Some pianos and
// interfaces send on what they are sent, and a metronome would be heard as wrong notes: so a note that
// comes back with the very key and velocity it was sent with, within echoTime, is no note of the
// player's. The metronome's keys are none that are asked for.
type echoes struct {
	mu   sync.Mutex
	sent []echo
}

type echo struct {
	key, velocity uint8
	at            time.Time
	back          bool // it has come back, and its release is to come
}

// echoTime is how long a note may take through the piano and back. Chosen by us: some times the few
// milliseconds that a MIDI cable and a busy sound server need.
const echoTime = 150 * time.Millisecond

// send notes a note-on that goes out now.
func (e *echoes) send(key, velocity uint8, now time.Time) {
	e.mu.Lock()
	defer e.mu.Unlock()
	kept := e.sent[:0]
	for _, s := range e.sent {
		if s.back || now.Sub(s.at) <= echoTime {
			kept = append(kept, s)
		}
	}
	e.sent = append(kept, echo{key: key, velocity: velocity, at: now})
}

// is reports whether a message that comes in now is an echo.
func (e *echoes) is(m capture.Message, now time.Time) bool {
	if m.Status&0xE0 != 0x80 {
		return false
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	for i := range e.sent {
		s := &e.sent[i]
		switch {
		case s.key != m.Data1:
		case strikes(&m):
			if !s.back && m.Data2 == s.velocity && now.Sub(s.at) <= echoTime {
				s.back = true
				return true
			}
		case s.back:
			e.sent = append(e.sent[:i], e.sent[i+1:]...)
			return true
		}
	}
	return false
}
