package ports

import (
	"slices"
	"time"

	"evenhand/capture"
)

// held keeps what is down on the piano: keys and pedals, each with the message that lets it go.
type held []capture.Message

// note takes in one message.
func (h *held) note(m capture.Message) {
	release := m
	down := m.Data2 > 0
	switch m.Status & 0xF0 {
	case 0x90:
		release.Status, release.Data2 = 0x80|m.Status&0x0F, 64 // 64 where the velocity is not known (MIDI 1.0)
	case 0x80:
		down = false
	case 0xB0:
		if m.Data1 != capture.Sustain && m.Data1 != capture.Sostenuto && m.Data1 != capture.Soft {
			return
		}
		release.Data2 = 0
	default:
		return
	}
	*h = slices.DeleteFunc(*h, func(r capture.Message) bool { return r.Status == release.Status && r.Data1 == release.Data1 })
	if down {
		*h = append(*h, release)
	}
}

// release returns the messages that let everything go at one time, in the order it went down,
// and holds nothing more.
func (h *held) release(at time.Duration) []capture.Message {
	messages := *h
	*h = nil
	for i := range messages {
		messages[i].At = at
	}
	return messages
}
