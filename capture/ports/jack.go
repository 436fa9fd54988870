//go:build cgo && (linux || darwin || windows)

package ports

/*
#cgo CXXFLAGS: -std=c++11
#cgo linux LDFLAGS: -lasound
#include <stdlib.h>
#include "native.h"
*/
import "C"

import (
	"strings"
	"sync"
	"time"
	"unsafe"
)

// silence stops what the libraries would print, once and for all.
var silence = sync.OnceFunc(func() { C.native_silence() })

// jack is this process's place in a JACK server.
//
// There is one for the whole process, as its library has it: the first client opened after a server
// has ended makes the library free every client that is left from before, and whoever closes one of
// those afterwards ends the program. So all clients are known here, and are closed here before the
// next is opened.
var jack = jackSide{ends: map[*end]bool{}}

type jackSide struct {
	mu     sync.Mutex
	users  int            // drivers
	server *C.native_jack // a client that asks and is told; nil where no server runs
	ends   map[*end]bool  // the clients of RtMidi
}

// use and leave count the drivers; the last to leave takes the client with it.
func (j *jackSide) use() {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.users++
}

func (j *jackSide) leave() {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.users--; j.users == 0 {
		j.part()
	}
}

// part closes all clients.
func (j *jackSide) part() {
	for e := range j.ends {
		e.close()
	}
	clear(j.ends)
	if j.server != nil {
		C.native_jack_close(j.server)
		j.server = nil
	}
}

// meet makes sure of a server that answers, and says whether there is one.
func (j *jackSide) meet() bool {
	if j.server != nil && C.native_jack_answers(j.server) == 0 {
		j.part()
	}
	if j.server == nil {
		name := C.CString(client)
		defer C.free(unsafe.Pointer(name))
		j.server = C.native_jack_open(name)
	}
	return j.server != nil
}

// alive says whether the server that was met last has not ended.
func (j *jackSide) alive() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.server != nil && C.native_jack_alive(j.server) != 0
}

// open runs create, which opens a client, if a server answers.
func (j *jackSide) open(create func() (*end, error)) (*end, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if !j.meet() {
		return nil, errClosed
	}
	e, err := create()
	if err == nil {
		j.ends[e] = true
	}
	return e, err
}

// close closes a client.
func (j *jackSide) close(e *end) {
	j.mu.Lock()
	defer j.mu.Unlock()
	delete(j.ends, e)
	e.close()
}

// list are the ports that give and those that take, without our own.
func (j *jackSide) list() (giving, taking []Port, ok bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if !j.meet() {
		return nil, nil, false
	}
	return j.ports(1), j.ports(0), true
}

func (j *jackSide) ports(giving C.int) []Port {
	lines := C.native_jack_ports(j.server, giving)
	if lines == nil {
		return nil
	}
	defer C.free(unsafe.Pointer(lines))
	var ports []Port
	for line := range strings.Lines(C.GoString(lines)) {
		address, alias, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
		if p, own := port(JACK, address, alias); !own {
			ports = append(ports, p)
		}
	}
	return ports
}

// linked says whether the port at address is connected to our own of this name.
func (j *jackSide) linked(address, own string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.server == nil {
		return false
	}
	a, tail := C.CString(address), C.CString(":"+own)
	defer C.free(unsafe.Pointer(a))
	defer C.free(unsafe.Pointer(tail))
	return C.native_jack_linked(j.server, a, tail) != 0
}

// period is the length of a process cycle, 0 where no server runs.
func (j *jackSide) period() time.Duration {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.server == nil {
		return 0
	}
	var frames, rate C.uint
	C.native_jack_cycle(j.server, &frames, &rate)
	if rate == 0 {
		return 0
	}
	return time.Duration(frames) * time.Second / time.Duration(rate)
}
