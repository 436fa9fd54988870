//go:build cgo && (linux || darwin || windows)

package ports

import (
	"fmt"
	"math"
	"os"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"
)

// queue is how many messages an input keeps until they are read: seven seconds of the most that
// fits down a MIDI cable, 1,041 three-byte messages a second.
const queue = 8192

// end is our end of a connection, until it is closed by its owner or because its server has ended.
type end struct {
	mu   sync.Mutex
	midi interface{ Destroy() } // an rtmidi.MIDIIn or MIDIOut, or a jackOut; nil when closed
}

// close frees the end. Close of the binding frees it only where no call on it ever failed.
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

// open opens an end on p with create, which gives an rtmidi.MIDIIn or MIDIOut, and sets it up with
// connect.
func open[M interface {
	rtmidi.MIDI
	Destroy()
}](p Port, create func() (M, error), connect func(M) error) (*end, error) {
	both := func() (*end, error) {
		m, err := create()
		if err != nil {
			return nil, refused(p)
		}
		if err := connect(m); err != nil {
			m.Destroy()
			return nil, err
		}
		return &end{midi: m}, nil
	}
	if p.System == JACK {
		return jack.open(both)
	}
	return both()
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

// connect opens m on the port.
func connect(m rtmidi.MIDI, p Port, own string) error {
	i := slices.Index(names(m), p.Address)
	if i < 0 {
		return fmt.Errorf("%s went away while it was opened: is it switched on and plugged in?", p.Name)
	}
	if err := m.OpenPort(i, own); err != nil {
		return refused(p)
	}
	return nil
}

func (native) open(p Port) (source, error) {
	s := &nativeIn{port: p, own: ownName()}
	var err error
	s.end, err = open(p, func() (rtmidi.MIDIIn, error) {
		return rtmidi.NewMIDIIn(systems()[p.System], client, queue)
	}, func(in rtmidi.MIDIIn) error {
		// Messages left out would take their time differences with them.
		if err := in.IgnoreTypes(false, false, false); err != nil {
			return refused(p)
		}
		return connect(in, p, s.own)
	})
	if err != nil {
		return nil, err
	}
	if !s.settles() {
		s.close()
		return nil, refused(p)
	}
	return s, nil
}

// nativeIn is an open input.
type nativeIn struct {
	end  *end
	port Port
	own  string // the name of our end
}

// settles waits for the connection: a JACK server makes it at its next cycle, which on a busy
// machine without real-time scheduling may be late.
func (s *nativeIn) settles() bool {
	for end := time.Now().Add(2 * time.Second); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if s.linked() {
			return true
		}
	}
	return false
}

func (s *nativeIn) next() (message []byte, since time.Duration, ok bool) {
	use(s.end, func(in rtmidi.MIDIIn) {
		// The binding copies a message into 64 KiB and panics on a longer one: such a system exclusive
		// message is given as an empty one.
		defer func() {
			if recover() != nil {
				message, since, ok = nil, 0, true
			}
		}()
		b, seconds, err := in.Message()
		message, since = b, time.Duration(math.Round(seconds*1e6))*time.Microsecond
		ok = err == nil && len(b) > 0
	})
	return message, since, ok
}

func (s *nativeIn) linked() (linked bool) {
	if s.port.System == JACK {
		return jack.linked(s.port.Address, s.own)
	}
	use(s.end, func(in rtmidi.MIDIIn) {
		linked = absent(s.port.System) == "" && slices.Contains(names(in), s.port.Address)
	})
	return linked
}

func (s *nativeIn) period() time.Duration {
	if s.port.System == JACK {
		return jack.period()
	}
	return 0
}

func (s *nativeIn) close() { shut(s.port.System, s.end) }
