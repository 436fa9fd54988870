package ports

import (
	"errors"
	"fmt"
	"time"
)

// ErrUnsupported is returned by every function of a build without MIDI ports.
var ErrUnsupported = errors.New("this build of evenhand has no MIDI ports: build it with cgo (CGO_ENABLED=1 and a C++ compiler), or play from a file or --from-bytes")

// ErrNone is wrapped by the error for a machine on which there is nothing to choose from.
var ErrNone = errors.New("no piano found")

// errClosed is returned for a port that is closed, or whose server is.
var errClosed = errors.New("the MIDI port is closed")

// MaxFrames is the longest process cycle of a JACK server, in frames, at which the times of the
// notes are still fine enough to judge how even a scale is: every note of one cycle gets the same
// time. 128 frames at 48 kHz are 2.7 ms, against the 5 to 10 ms of a good scale.
const MaxFrames = 128

// System is the MIDI system of the machine that a port belongs to.
type System string

// The systems.
const (
	ALSA     System = "ALSA"
	JACK     System = "JACK"
	CoreMIDI System = "Core MIDI"
	Windows  System = "Windows"
)

// Supports says whether this build can use a system.
func Supports(s System) bool { return supports(s) }

// Port is one MIDI port of the machine.
type Port struct {
	Number  int    // counts from 1 in its list
	Name    string // for people, without the address the system adds
	Address string // the whole name the system knows the port by
	System  System

	// Through is true of a port that only hands on what other programs send to it. It is listed,
	// but never taken for a piano unless asked for.
	Through bool
}

// String is the port as messages name it: its number and name.
func (p Port) String() string { return fmt.Sprintf("%d %q", p.Number, p.Name) }

// same says whether p and q are the same piano, though its address may have changed since it was
// unplugged.
func (p Port) same(q Port) bool { return p.System == q.System && p.Name == q.Name }

// Lists are the ports there are now. Ports of evenhand itself are left out.
type Lists struct {
	In, Out []Port
	Missing []string // what is not there to be listed, and why: one clause each
}

// NoServer is the entry of Lists.Missing where no JACK server runs.
const NoServer = "no JACK server runs"

// List returns the ports there are now. That there are none is no error.
func List() (Lists, error) {
	d, err := newDriver()
	if err != nil {
		return Lists{}, err
	}
	defer d.close()
	return d.list(), nil
}

// driver is what this package asks of the machine. It belongs to one goroutine.
type driver interface {
	list() Lists
	open(Port) (source, error)
	openOut(Port) (sink, error)
	openVirtual(name string) (sink, error)
	alive(System) bool // false where the server behind the system's ports has ended
	close()
}

// source is an open input.
type source interface {
	// next takes the oldest message not yet taken.
	next() (m message, ok bool)

	woken() <-chan struct{} // is told when there is something to take
	linked() bool           // whether the piano is still connected to it
	period() time.Duration  // the grain of since; 0 where it is finer than a tick
	close()
}

// message is one that came, of three bytes.
type message struct {
	bytes [3]byte
	since time.Duration // since the one before it, as the driver has it
	age   time.Duration // since it came
}

// sink is an open output.
type sink interface {
	send([]byte) error
	close()
}
