//go:build cgo && (linux || darwin || windows)

package ports

/*
#include <stdlib.h>
#include "native.h"
*/
import "C"

import (
	"os"
	"time"
	"unsafe"
)

// openIn opens an input as a client of our name, with a port of this name that hears p.
func (j *jackSide) openIn(p Port, portName string) (source, error) {
	s := &jackSource{address: p.Address, own: portName, wake: make(chan struct{}, 1)}
	e, err := j.open(func() (*end, error) {
		n, o, a := C.CString(client), C.CString(portName), C.CString(p.Address)
		defer C.free(unsafe.Pointer(n))
		defer C.free(unsafe.Pointer(o))
		defer C.free(unsafe.Pointer(a))
		var woken C.int
		in := C.native_jack_in_open(n, o, a, queue, &woken)
		if in == nil {
			return nil, refused(p)
		}
		woke := os.NewFile(uintptr(woken), "woken")
		go s.wait(woke)
		return &end{midi: &jackIn{in: in, woken: woke}}, nil
	})
	if err != nil {
		return nil, err
	}
	s.end = e
	if !settles(s) {
		s.close()
		return nil, refused(p)
	}
	return s, nil
}

// jackIn is an input on a JACK server.
type jackIn struct {
	in    *C.native_jack_in
	woken *os.File
}

// Destroy closes the input.
func (i *jackIn) Destroy() {
	C.native_jack_in_close(i.in)
	i.woken.Close()
}

// jackSource is an open input on a JACK server. The server's thread leaves the messages in a queue and wakes
// a goroutine of ours, so that nothing of ours runs while nobody plays.
type jackSource struct {
	end     *end
	address string
	own     string // the name of our end
	wake    chan struct{}
	last    C.uint64_t // when the message before came; 0 before the first
}

// wait hands on that messages have come, until the input is closed.
func (s *jackSource) wait(woken *os.File) {
	some := make([]byte, 512)
	for {
		if _, err := woken.Read(some); err != nil {
			return
		}
		select {
		case s.wake <- struct{}{}:
		default:
		}
	}
}

func (s *jackSource) woken() <-chan struct{} { return s.wake }

func (s *jackSource) next() (message []byte, since time.Duration, ok bool) {
	use(s.end, func(in *jackIn) {
		var m C.native_jack_message
		if ok = C.native_jack_in_next(in.in, &m) != 0; !ok {
			return
		}
		if s.last != 0 {
			since = time.Duration(m.at-s.last) * time.Microsecond
		}
		s.last = m.at
		message = []byte{byte(m.bytes[0]), byte(m.bytes[1]), byte(m.bytes[2])}
	})
	return message, since, ok
}

func (s *jackSource) linked() bool          { return jack.linked(s.address, s.own) }
func (s *jackSource) period() time.Duration { return jack.period() }
func (s *jackSource) close()                { jack.close(s.end) }

// openOut opens an output as a client of this name, connected to the port at target unless that is
// empty.
func (j *jackSide) openOut(p Port, name, portName, target string) (sink, error) {
	e, err := j.open(func() (*end, error) {
		n, o := C.CString(name), C.CString(portName)
		defer C.free(unsafe.Pointer(n))
		defer C.free(unsafe.Pointer(o))
		var t *C.char
		if target != "" {
			t = C.CString(target)
			defer C.free(unsafe.Pointer(t))
		}
		out := C.native_jack_out_open(n, o, t)
		if out == nil {
			return nil, refused(p)
		}
		return &end{midi: &jackOut{out}}, nil
	})
	return &nativeOut{end: e, system: JACK}, err
}

// jackOut is an output on a JACK server.
type jackOut struct{ out *C.native_jack_out }

// SendMessage sends at the server's next cycle.
func (o *jackOut) SendMessage(message []byte) error {
	if len(message) > 0 && C.native_jack_out_send(o.out, unsafe.Pointer(&message[0]), C.uint(len(message))) == 0 {
		return errClosed
	}
	return nil
}

func (o *jackOut) waiting() bool { return C.native_jack_out_waiting(o.out) != 0 }

// Destroy closes the output.
func (o *jackOut) Destroy() { C.native_jack_out_close(o.out) }
