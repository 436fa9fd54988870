//go:build cgo && (linux || darwin || windows)

package ports

import (
	"errors"
	"fmt"
	"time"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"
)

// sender is an output of RtMidi or of our own.
type sender interface{ SendMessage([]byte) error }

// nativeOut is an open output.
type nativeOut struct {
	end    *end
	system System
}

func (native) openOut(p Port) (sink, error) {
	if p.System == JACK {
		return jack.openOut(p, client, ownName(), p.Address)
	}
	e, err := open(p, func() (rtmidi.MIDIOut, error) {
		return rtmidi.NewMIDIOut(systems()[p.System], client)
	}, func(out rtmidi.MIDIOut) error { return connect(out, p, ownName()) })
	return &nativeOut{end: e, system: p.System}, err
}

func (n native) openVirtual(name string) (sink, error) {
	s, ok := n.virtualSystem()
	if !ok {
		return nil, fmt.Errorf("no MIDI system can take the port %q: start a JACK server, or load the kernel module snd-seq", name)
	}
	p := Port{Name: name, System: s}
	if s == JACK {
		return jack.openOut(p, name, name, "")
	}
	e, err := open(p, func() (rtmidi.MIDIOut, error) {
		return rtmidi.NewMIDIOut(systems()[s], name)
	}, func(out rtmidi.MIDIOut) error {
		if err := out.OpenVirtualPort(name); err != nil {
			return refused(p)
		}
		return nil
	})
	return &nativeOut{end: e, system: s}, err
}

// virtualSystem is the one to put a port of our own on.
func (native) virtualSystem() (System, bool) {
	if supports(JACK) {
		if _, _, ok := jack.list(); ok {
			return JACK, true
		}
	}
	for _, s := range []System{ALSA, CoreMIDI} {
		if supports(s) && absent(s) == "" {
			return s, true
		}
	}
	return "", false
}

func (s *nativeOut) send(message []byte) error {
	if s.system == JACK && !jack.alive() {
		return errClosed
	}
	err := errClosed
	use(s.end, func(out sender) {
		if out.SendMessage(message) != nil {
			err = errors.New("the MIDI port takes no more at present")
			return
		}
		err = nil
	})
	return err
}

func (s *nativeOut) close() {
	if s.system == JACK {
		s.flush()
	}
	shut(s.system, s.end)
}

// flush waits until the server has taken what was sent and the cycle is over. It does not wait long
// for one that does nothing.
func (s *nativeOut) flush() {
	cycle := max(jack.period(), time.Millisecond)
	waiting := true
	for i := 0; i < 100 && waiting && jack.alive(); i++ {
		use(s.end, func(out *jackOut) { waiting = out.waiting() })
		time.Sleep(cycle)
	}
}
