//go:build cgo && (linux || darwin || windows)

package ports

/*
#include <stdlib.h>
#include "native.h"
*/
import "C"

import "unsafe"

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
