package ports

import (
	"errors"
	"strings"
	"testing"
)

// withOutputs is [some] with outputs, as the systems name them.
func withOutputs() Lists {
	l := some()
	var out []Port
	for _, a := range []string{
		"Midi Through:Midi Through Port-0 14:0",
		"Conservatory Piano:Conservatory Piano MIDI 1 20:0",
		"USB2.0-MIDI:USB2.0-MIDI Port 2 24:1",
	} {
		p, _ := port(ALSA, a, "")
		out = append(out, p)
	}
	for _, a := range []string{"toy piano-01:toy piano", "sampler:midi"} {
		p, _ := port(JACK, a, "")
		out = append(out, p)
	}
	l.Out = number(out)
	return l
}

func TestOutputOf(t *testing.T) {
	for _, tt := range []struct {
		system    System
		in, alias string
		want      string
	}{
		{ALSA, "Conservatory Piano:Conservatory Piano MIDI 1 21:0", "", "Conservatory Piano MIDI 1"},
		{ALSA, "Midi Through:Midi Through Port-0 14:0", "", "Midi Through Port-0"},
		{ALSA, "USB2.0-MIDI:USB2.0-MIDI Port 1 24:0", "", "USB2.0-MIDI Port 2"},
		{JACK, "toy piano:toy piano", "", "toy piano-01:toy piano"},
		{JACK, "Conservatory Piano:MIDI 1", "", "error: Conservatory Piano:MIDI 1 has no MIDI input to sound through"},
		{ALSA, "Spinet:Spinet MIDI 1 30:0", "", "error: Spinet MIDI 1 has no MIDI input to sound through: only its own keys make it sound"},
	} {
		in, _ := port(tt.system, tt.in, tt.alias)
		p, err := withOutputs().OutputOf(in)
		got := p.Name
		if err != nil {
			got = "error: " + err.Error()
		}
		if got != tt.want && (err == nil || !strings.HasPrefix(got, tt.want)) {
			t.Errorf("%s: got  %s\nwant %s", in.Name, got, tt.want)
		}
	}
}

// The two directions of one port have other names behind a bridge.
func TestOutputOfABridgedPort(t *testing.T) {
	for _, tt := range []struct{ in, out, inAlias, outAlias string }{
		{"a2j:Stage Piano [20] (capture): Stage Piano MIDI 1", "a2j:Stage Piano [20] (playback): Stage Piano MIDI 1", "", ""},
		{"system:midi_capture_1", "system:midi_playback_1", "alsa_pcm:Stage Piano/midi_capture_1", "alsa_pcm:Stage Piano/midi_playback_1"},
		{"Midi-Bridge:Stage Piano 1:(capture_0) Stage Piano MIDI 1", "Midi-Bridge:Stage Piano 1:(playback_0) Stage Piano MIDI 1", "", ""},
		{"Stage Piano:out", "Stage Piano:in", "", ""},
	} {
		in, _ := port(JACK, tt.in, tt.inAlias)
		out, _ := port(JACK, tt.out, tt.outAlias)
		other, _ := port(JACK, "Stage Organ:in", "")
		l := Lists{In: number([]Port{in}), Out: number([]Port{other, out})}
		if p, err := l.OutputOf(in); err != nil || p.Address != tt.out {
			t.Errorf("%s: %v, %v, want %s", tt.in, p, err, tt.out)
		}
	}
}

func TestSound(t *testing.T) {
	l := withOutputs()
	if p, err := l.sound("conservatory", ""); err != nil || p.Number != 2 {
		t.Errorf("the one that belongs to the piano: %v, %v", p, err)
	}
	if p, err := l.sound("conservatory", "sampler"); err != nil || p.Name != "sampler:midi" {
		t.Errorf("the one that is named: %v, %v", p, err)
	}
	if _, err := l.sound("1908", ""); !errors.Is(err, ErrSilent) {
		t.Errorf("a piano that takes nothing: %v", err)
	}
	if _, err := l.sound("spinet", ""); !errors.Is(err, ErrNone) {
		t.Errorf("a piano that is not there: %v", err)
	}
	l.In, l.Out = nil, l.Out[4:]
	if p, err := l.sound("", ""); err != nil || p.Name != "sampler:midi" {
		t.Errorf("the only output where there is no input: %v, %v", p, err)
	}
	l.Out = nil
	if _, err := l.sound("", ""); !errors.Is(err, ErrNone) || !strings.Contains(err.Error(), "to play to") {
		t.Errorf("nothing at all: %v", err)
	}
}
