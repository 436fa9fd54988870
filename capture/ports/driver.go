//go:build cgo && (linux || darwin || windows)

package ports

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
	"syscall"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"
)

// systems are those RtMidi was built for.
var systems = sync.OnceValue(func() map[System]rtmidi.API {
	names := map[rtmidi.API]System{
		rtmidi.APILinuxALSA: ALSA, rtmidi.APIUnixJack: JACK,
		rtmidi.APIMacOSXCore: CoreMIDI, rtmidi.APIWindowsMM: Windows,
	}
	built := map[System]rtmidi.API{}
	for _, api := range rtmidi.CompiledAPI() {
		if name, ok := names[api]; ok {
			built[name] = api
		}
	}
	return built
})

func supports(s System) bool {
	_, ok := systems()[s]
	return ok
}

// native is the driver by RtMidi and, on JACK, by ends of our own.
type native struct {
	byRtMidi bool // its inputs on JACK too: tests have no other system to try those on
}

func newDriver() (driver, error) {
	silence()
	jack.use()
	return native{}, nil
}

func (native) close() { jack.leave() }

func (native) alive(s System) bool { return s != JACK || jack.alive() }

func (native) list() Lists {
	var l Lists
	for _, s := range []System{ALSA, CoreMIDI, Windows} {
		if !supports(s) {
			continue
		}
		if why := absent(s); why != "" {
			l.Missing = append(l.Missing, why)
			continue
		}
		l.In = append(l.In, inputs(s)...)
		l.Out = append(l.Out, outputs(s)...)
	}
	if !supports(JACK) {
		l.Missing = append(l.Missing, "this build is without JACK")
	} else if giving, taking, ok := jack.list(); ok {
		l.In = append(l.In, giving...)
		l.Out = append(l.Out, taking...)
	} else {
		l.Missing = append(l.Missing, NoServer)
	}
	l.In, l.Out = number(l.In), number(l.Out)
	return l
}

// absent says why a system cannot be asked, or nothing. ALSA's library prints lines of its own and
// RtMidi's error text cannot be read where there is no sequencer, so it is looked for first.
func absent(s System) string {
	if s != ALSA {
		return ""
	}
	f, err := os.OpenFile("/dev/snd/seq", os.O_RDWR|syscall.O_NONBLOCK, 0)
	switch {
	case err == nil:
		f.Close()
		return ""
	case errors.Is(err, fs.ErrPermission):
		return "ALSA: no permission for /dev/snd/seq, which the audio group has"
	default:
		return "ALSA: no sequencer, the kernel module snd-seq is not loaded"
	}
}

// inputs are those of a system other than JACK.
func inputs(s System) []Port {
	in, err := rtmidi.NewMIDIIn(systems()[s], client, 1)
	if err != nil {
		return nil
	}
	defer in.Destroy()
	return portsOf(s, in)
}

// outputs are those of a system other than JACK.
func outputs(s System) []Port {
	out, err := rtmidi.NewMIDIOut(systems()[s], client)
	if err != nil {
		return nil
	}
	defer out.Destroy()
	return portsOf(s, out)
}

// portsOf are the ports that m could be opened on, without our own.
func portsOf(s System, m rtmidi.MIDI) []Port {
	var ports []Port
	for _, name := range names(m) {
		if p, own := port(s, name, ""); !own && name != "" {
			ports = append(ports, p)
		}
	}
	return ports
}

// names are what m calls the ports it could be opened on, in its own order.
func names(m rtmidi.MIDI) []string {
	count, err := m.PortCount()
	if err != nil {
		return nil
	}
	names := make([]string, count)
	for i := range names {
		// A port that went this moment has no name.
		names[i], _ = m.PortName(i)
	}
	return names
}

// refused is the error where a port is not opened. No system says which of the two it was.
func refused(p Port) error {
	return fmt.Errorf("%s does not let %s be opened: is it still switched on, and does no other program hold it?", p.System, p.Name)
}
