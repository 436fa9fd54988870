//go:build cgo && (linux || darwin || windows)

package ports

/*
#include <stdlib.h>
#include "native.h"
*/
import "C"

import (
	"time"
	"unsafe"
)

func (n native) open(p Port) (source, error) {
	s := &nativeSource{port: p, own: ownName(), wake: make(chan struct{}, 1)}
	var err error
	if p.System == JACK {
		s.end, err = jack.open(func() (*end, error) { return s.open(n.byRtMidi) })
	} else {
		s.end, err = s.open(true)
	}
	if err != nil {
		return nil, err
	}
	if !s.settles() {
		s.close()
		return nil, refused(p)
	}
	return s, nil
}

// nativeIn is an input on the driver's side.
type nativeIn struct{ in *C.native_in }

// Destroy closes the input.
func (i nativeIn) Destroy() { C.native_in_close(i.in) }

// nativeSource is an open input. The driver's thread leaves the messages in a queue and wakes a thread of
// ours, so that nothing of ours runs while nobody plays.
type nativeSource struct {
	end  *end
	port Port
	own  string // the name of our end
	wake chan struct{}
}

// open opens the input, by RtMidi or as one of our own on JACK.
func (s *nativeSource) open(byRtMidi bool) (*end, error) {
	name, own, from := C.CString(client), C.CString(s.own), C.CString(s.port.Address)
	defer C.free(unsafe.Pointer(name))
	defer C.free(unsafe.Pointer(own))
	defer C.free(unsafe.Pointer(from))
	var in *C.native_in
	if byRtMidi {
		in = C.native_in_open_rtmidi(C.int(systems()[s.port.System]), name, own, from)
	} else {
		in = C.native_in_open_jack(name, own, from)
	}
	if in == nil {
		return nil, refused(s.port)
	}
	go s.wait(in)
	return &end{midi: nativeIn{in}}, nil
}

// wait hands on that messages have come, until the input is closed.
func (s *nativeSource) wait(in *C.native_in) {
	for C.native_in_wait(in) != 0 {
		select {
		case s.wake <- struct{}{}:
		default:
		}
	}
}

// settles waits for the connection: a JACK server makes it at its next cycle, which on a busy
// machine without real-time scheduling may be late.
func (s *nativeSource) settles() bool {
	for end := time.Now().Add(2 * time.Second); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if s.linked() {
			return true
		}
	}
	return false
}

func (s *nativeSource) woken() <-chan struct{} { return s.wake }

func (s *nativeSource) next() (m message, ok bool) {
	use(s.end, func(i nativeIn) {
		var got C.native_message
		if ok = C.native_in_next(i.in, &got) != 0; ok {
			m = message{
				bytes: [3]byte{byte(got.bytes[0]), byte(got.bytes[1]), byte(got.bytes[2])},
				since: time.Duration(got.since), age: time.Duration(got.age),
			}
		}
	})
	return m, ok
}

func (s *nativeSource) linked() (linked bool) {
	if s.port.System == JACK {
		return jack.linked(s.port.Address, s.own)
	}
	if absent(s.port.System) != "" {
		return false
	}
	from := C.CString(s.port.Address)
	defer C.free(unsafe.Pointer(from))
	use(s.end, func(i nativeIn) { linked = C.native_in_lists(i.in, from) != 0 })
	return linked
}

func (s *nativeSource) period() time.Duration {
	if s.port.System == JACK {
		return jack.period()
	}
	return 0
}

func (s *nativeSource) close() { shut(s.port.System, s.end) }
