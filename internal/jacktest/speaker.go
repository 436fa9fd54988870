//go:build cgo && (linux || darwin)

package jacktest

import (
	"sync"
	"testing"
	"time"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"

	"evenhand/capture"
)

// Speaker is the side of a toy piano that sounds what it is sent, and keeps it.
type Speaker struct {
	mu    sync.Mutex
	heard []capture.Message
	stop  chan struct{}
	done  chan struct{}
}

// Sounding puts the sounding side of a toy piano of this name on the server until the test is done.
func Sounding(t testing.TB, name string) *Speaker {
	t.Helper()
	in, err := rtmidi.NewMIDIIn(rtmidi.APIUnixJack, name, 4096)
	if err == nil {
		err = in.OpenVirtualPort(name)
	}
	if err != nil {
		t.Fatalf("the toy piano %s cannot sound: %v", name, err)
	}
	s := &Speaker{stop: make(chan struct{}), done: make(chan struct{})}
	go s.listen(in)
	t.Cleanup(func() {
		// RtMidi takes its port from the server before it leaves it. Libjack's own thread must not be looking
		// at the list of the ports just then, as it does while something is still being disconnected.
		time.Sleep(200 * time.Millisecond)
		close(s.stop)
		<-s.done
	})
	return s
}

func (s *Speaker) listen(in rtmidi.MIDIIn) {
	defer close(s.done)
	defer in.Destroy()
	var at time.Duration
	for tick := time.NewTicker(time.Millisecond); ; {
		select {
		case <-s.stop:
			tick.Stop()
			return
		case <-tick.C:
		}
		for {
			b, since, err := in.Message()
			if err != nil || len(b) != 3 {
				break
			}
			at += time.Duration(since * float64(time.Second))
			s.mu.Lock()
			s.heard = append(s.heard, capture.Message{At: at, Status: b[0], Data1: b[1], Data2: b[2]})
			s.mu.Unlock()
		}
	}
}

// Heard is what has been sounded so far. Times count from the first message, by the server's cycle.
func (s *Speaker) Heard() []capture.Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]capture.Message(nil), s.heard...)
}
