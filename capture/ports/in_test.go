package ports

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/capture"
)

// rig is a driver whose ports and messages the test sets.
type rig struct {
	in      []Port
	ended   bool
	cycle   time.Duration
	queue   [][3]byte
	sources int // sources opened and not closed
	plugged bool
}

func (r *rig) list() Lists                { return Lists{In: number(r.in)} }
func (r *rig) openOut(Port) (sink, error) { return nil, ErrUnsupported }
func (r *rig) openVirtual(string) (sink, error) {
	return nil, ErrUnsupported
}
func (r *rig) alive(System) bool { return !r.ended }
func (r *rig) close()            {}
func (r *rig) open(Port) (source, error) {
	r.sources++
	r.plugged = true
	return rigSource{r}, nil
}

type rigSource struct{ *rig }

func (s rigSource) next() (message, bool) {
	if len(s.queue) == 0 {
		return message{}, false
	}
	b := s.queue[0]
	s.queue = s.queue[1:]
	return message{bytes: b, since: time.Millisecond}, true
}
func (s rigSource) woken() <-chan struct{} { return nil }
func (s rigSource) linked() bool           { return s.plugged }
func (s rigSource) period() time.Duration  { return s.cycle }
func (s rigSource) close()                 { s.sources-- }

// story is what an In told, in order.
type story struct {
	strings.Builder
	in *In
}

func tell(r *rig, choice string, options Options) *story {
	s := &story{}
	options.Changed = func(c Change) {
		fmt.Fprintln(s, c)
		for _, m := range c.Left {
			fmt.Fprintf(s, "let go %X %d\n", m.Status, m.Data1)
		}
	}
	s.in = newIn(r, choice, func(m capture.Message) { fmt.Fprintf(s, "%X %d\n", m.Status, m.Data1) }, options)
	return s
}

func (s *story) look() { s.in.look(s.in.now()) }

func (s *story) wants(t *testing.T, lines ...string) {
	t.Helper()
	if got := strings.Fields(strings.ReplaceAll(s.String(), " ", "_")); !slices.EqualFunc(got, lines, func(g, w string) bool { return g == strings.ReplaceAll(w, " ", "_") }) {
		t.Errorf("got\n%s\nwant\n%s", s.String(), strings.Join(lines, "\n"))
	}
}

func piano(name, address string) Port { return Port{Name: name, Address: address, System: ALSA} }

func TestAnUnpluggedPianoIsFoundAgain(t *testing.T) {
	r := &rig{in: []Port{piano("Piano", "Piano 20:0"), piano("Organ", "Organ 24:0")}}
	s := tell(r, "piano", Options{})
	s.look()
	r.queue = [][3]byte{{0x90, 60, 1}, {0x90, 62, 1}, {0x80, 60, 0}}
	s.in.drain()
	// The last note is still in the queue when it goes.
	r.queue = [][3]byte{{0x90, 64, 1}}
	r.plugged, r.in = false, r.in[1:]
	s.look()
	s.look()
	r.in = append(r.in, piano("Piano", "Piano 28:0"))
	s.look()
	s.wants(t, "listening to Piano", "90 60", "90 62", "80 60", "90 64",
		"Piano is gone: is it switched on and plugged in?", "let go 80 62", "let go 80 64", "Piano is back")
	if s.in.port.Address != "Piano 28:0" || r.sources != 1 {
		t.Errorf("open on %q, %d sources", s.in.port.Address, r.sources)
	}
}

func TestOfTwoTheSameTheOneAtTheOldAddressIsTaken(t *testing.T) {
	r := &rig{in: []Port{piano("Piano", "Piano 20:0"), piano("Piano", "Piano 24:0")}}
	s := tell(r, "2", Options{})
	s.look()
	r.plugged = false
	s.look()
	s.look()
	if s.in.port.Address != "Piano 24:0" {
		t.Errorf("back on %q", s.in.port.Address)
	}
}

func TestTheServerGone(t *testing.T) {
	r := &rig{in: []Port{{Name: "Piano", Address: "Piano:keys", System: JACK}}}
	s := tell(r, "", Options{})
	s.look()
	r.ended, r.in = true, nil
	s.look()
	r.ended, r.in = false, []Port{{Name: "Piano", Address: "Piano:keys", System: JACK}}
	s.look()
	s.wants(t, "listening to Piano", "the JACK server that Piano was heard through has ended", "Piano is back")
}

func TestWarning(t *testing.T) {
	for _, tt := range []struct {
		frames, rate time.Duration
		want         string
	}{
		{64, 48000, ""},
		{128, 48000, ""},
		{128, 44100, ""},
		{256, 48000, "JACK times the notes only every 5.3 ms: for evenness start its server with 128 frames or fewer (-p 128)"},
		{1024, 44100, "JACK times the notes only every 23.2 ms: for evenness start its server with 128 frames or fewer (-p 128)"},
	} {
		if got := warning(tt.frames * time.Second / tt.rate); got != tt.want {
			t.Errorf("%d frames at %d: %q, want %q", tt.frames, tt.rate, got, tt.want)
		}
	}
}

func TestHeldLetsGoWhatIsDownAndNothingElse(t *testing.T) {
	var h held
	for _, m := range []capture.Message{
		{Status: 0x90, Data1: 60, Data2: 1},
		{Status: 0x90, Data1: 60, Data2: 9}, // struck again
		{Status: 0x91, Data1: 60, Data2: 1},
		{Status: 0x90, Data1: 61, Data2: 1},
		{Status: 0x90, Data1: 61},
		{Status: 0xB0, Data1: capture.Soft, Data2: 64},
		{Status: 0xB0, Data1: capture.Sustain, Data2: 64},
		{Status: 0xB0, Data1: capture.Sustain},
		{Status: 0xB0, Data1: 7, Data2: 100},
		{Status: 0xE0, Data2: 64},
	} {
		h.note(m)
	}
	want := []capture.Message{
		{At: 5, Status: 0x80, Data1: 60, Data2: 64},
		{At: 5, Status: 0x81, Data1: 60, Data2: 64},
		{At: 5, Status: 0xB0, Data1: capture.Soft},
	}
	if got := h.release(5); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := h.release(6); len(got) != 0 {
		t.Errorf("then still %v", got)
	}
}

func TestParse(t *testing.T) {
	for _, b := range [][3]byte{
		{},
		{0x90, 60, 200},
		{0x90, 200, 60},
		{60, 60, 60},
		{0xE0, 0, 64},
		{0xA0, 60, 3},
		{0xF0, 1, 0xF7},
		{0xF2, 1, 1},
	} {
		if m, ok := parse(b, 0); ok {
			t.Errorf("% X: read as %v", b, m)
		}
	}
	if m, ok := parse([3]byte{0x95, 60, 0}, 7); !ok || m != (capture.Message{At: 7, Status: 0x95, Data1: 60}) {
		t.Errorf("got %v, %v", m, ok)
	}
}
