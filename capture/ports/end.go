//go:build cgo && (linux || darwin || windows)

package ports

import (
	"fmt"
	"os"
	"sync"
	"sync/atomic"
)

// end is our end of a connection, until it is closed by its owner or because its server has ended.
type end struct {
	mu   sync.Mutex
	midi interface{ Destroy() } // a nativeIn, jackOut or rtmidi.MIDIOut; nil when closed
}

// close frees the end. Close of RtMidi's binding frees it only where no call on it ever failed.
func (e *end) close() {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.midi != nil {
		e.midi.Destroy()
		e.midi = nil
	}
}

// use runs f while the end cannot be closed, unless it is.
func use[M any](e *end, f func(M)) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	m, open := e.midi.(M)
	if open {
		f(m)
	}
	return open
}

// shut closes an end of a system.
func shut(s System, e *end) {
	if s == JACK {
		jack.close(e)
	} else {
		e.close()
	}
}

// opened counts the ports opened, so that each has a name of its own within its system.
var opened atomic.Int64

// ownName is the name of our next end.
func ownName() string { return fmt.Sprintf("%d-%d", os.Getpid(), opened.Add(1)) }
