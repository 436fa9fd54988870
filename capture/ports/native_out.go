//go:build cgo && (linux || darwin || windows)

package ports

import (
	"errors"
	"fmt"
	"slices"
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
	return outByRtMidi(p, client, func(out rtmidi.MIDIOut) error {
		i := slices.Index(names(out), p.Address)
		if i < 0 {
			return errors.New("gone")
		}
		return out.OpenPort(i, ownName())
	})
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
	return outByRtMidi(p, name, func(out rtmidi.MIDIOut) error { return out.OpenVirtualPort(name) })
}

// outByRtMidi opens an output of RtMidi, as a client of this name, and sets it up with connect.
func outByRtMidi(p Port, name string, connect func(rtmidi.MIDIOut) error) (sink, error) {
	out, err := rtmidi.NewMIDIOut(systems()[p.System], name)
	if err != nil {
		return nil, refused(p)
	}
	if connect(out) != nil {
		out.Destroy()
		return nil, refused(p)
	}
	return &nativeOut{end: &end{midi: out}, system: p.System}, nil
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
