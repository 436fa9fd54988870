package ports

import (
	"errors"
	"strings"
	"testing"
)

// some is a list as the systems name their ports: ALSA's addresses as RtMidi writes them, JACK's as
// client and port.
func some() Lists {
	var l Lists
	for _, a := range []string{
		"Midi Through:Midi Through Port-0 14:0",
		"Conservatory Piano:Conservatory Piano MIDI 1 20:0",
		"USB2.0-MIDI:USB2.0-MIDI Port 1 24:0",
		"evenhand:12-1 129:0",
	} {
		if p, own := port(ALSA, a, ""); !own {
			l.In = append(l.In, p)
		}
	}
	for a, alias := range map[string]string{
		"a2j:Conservatory Piano [20] (capture): Conservatory Piano MIDI 1": "",
		"system:midi_capture_2": "alsa_pcm:USB2.0-MIDI/midi_capture_1",
		"evenhand-01:12-2":      "",
	} {
		if p, own := port(JACK, a, alias); !own {
			l.In = append(l.In, p)
		}
	}
	p, _ := port(JACK, "Organ of 1908:keys", "")
	l.In = number(append(l.In, p))
	return l
}

func TestOwnPortsAndBridgesAreNotListed(t *testing.T) {
	want := `1 "Midi Through Port-0", 2 "Conservatory Piano MIDI 1", 3 "USB2.0-MIDI Port 1", 4 "Organ of 1908:keys"`
	if got := join(some().In); got != want {
		t.Errorf("listed %s\nwant   %s", got, want)
	}
}

func TestABridgeAloneIsListed(t *testing.T) {
	p, _ := port(JACK, "system:midi_capture_1", "alsa_pcm:Stage Piano/midi_capture_1")
	if got := join(number([]Port{p})); got != `1 "alsa_pcm:Stage Piano/midi_capture_1"` {
		t.Errorf("listed %s", got)
	}
}

func TestInput(t *testing.T) {
	for _, tt := range []struct{ choice, want string }{
		{"2", "Conservatory Piano MIDI 1"},
		{" conservatory ", "Conservatory Piano MIDI 1"},
		{"through", "Midi Through Port-0"},
		{"24:0", "USB2.0-MIDI Port 1"},
		{"1908", "Organ of 1908:keys"},
		{"usb2.0-midi port 1", "USB2.0-MIDI Port 1"},
		{"midi", `error: "midi" may be any of the MIDI inputs 1 "Midi Through Port-0", 2 "Conservatory Piano MIDI 1", 3 "USB2.0-MIDI Port 1": give the number, or more of the name`},
		{"77", `error: no piano found by the name or number "77": there is 1 "Midi Through Port-0"`},
		{"midi_capture", `error: no piano found by the name or number "midi_capture"`},
		{"spinet", `error: no piano found by the name or number "spinet": there is 1 "Midi Through Port-0"`},
		{"", `error: there is more than one MIDI input, 2 "Conservatory Piano MIDI 1", 3 "USB2.0-MIDI Port 1", 4 "Organ of 1908:keys": choose one`},
	} {
		p, err := some().Input(tt.choice)
		got := p.Name
		if err != nil {
			got = "error: " + err.Error()
		}
		if got != tt.want && (err == nil || !strings.HasPrefix(got, tt.want)) {
			t.Errorf("%q: got  %s\nwant %s", tt.choice, got, tt.want)
		}
	}
}

func TestTheOnlyPianoIsTaken(t *testing.T) {
	l := some()
	l.In = l.In[:2]
	if p, err := l.Input(""); err != nil || p.Number != 2 {
		t.Errorf("got %v, %v, want the one that is no through port", p, err)
	}
	l.In = l.In[:1]
	l.Missing = []string{NoServer}
	_, err := l.Input("")
	if !errors.Is(err, ErrNone) || !strings.Contains(err.Error(), "("+NoServer+")") {
		t.Errorf("with a through port alone: %v", err)
	}
	if _, err := l.Output("3"); !errors.Is(err, ErrNone) || !strings.HasPrefix(err.Error(), "no piano found to play to") {
		t.Errorf("with no output: %v", err)
	}
}
