package capture

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

const ms = time.Millisecond

func on(at time.Duration, key, velocity byte) Message  { return Message{at, 0x90, key, velocity} }
func off(at time.Duration, key byte) Message           { return Message{at, 0x80, key, 64} }
func control(at time.Duration, number, v byte) Message { return Message{at, 0xB0, number, v} }

// build makes a take of messages.
func build(messages ...Message) *Take {
	b := NewBuilder(Take{})
	for _, m := range messages {
		b.Add(m)
	}
	return b.Take()
}

func TestBuilder(t *testing.T) {
	tests := []struct {
		name     string
		messages []Message
		notes    []Note
		pedals   []Pedal
		warnings []string
	}{
		{
			name:     "a note",
			messages: []Message{on(10*ms, 60, 80), off(50*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, On: 10 * ms, Off: 50 * ms}},
		}, {
			name:     "velocity 0 lets go",
			messages: []Message{on(0, 60, 80), on(50*ms, 60, 0)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 50 * ms}},
		}, {
			name:     "struck again while it sounds",
			messages: []Message{on(0, 60, 80), on(30*ms, 60, 70), off(50*ms, 60), off(60*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 30 * ms}, {Key: 60, Velocity: 70, On: 30 * ms, Off: 50 * ms}},
		}, {
			name:     "released and struck again at one moment, in the wrong order",
			messages: []Message{on(0, 60, 80), on(30*ms, 60, 70), off(30*ms, 60), off(50*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 30 * ms}, {Key: 60, Velocity: 70, On: 30 * ms, Off: 50 * ms}},
		}, {
			name:     "struck and released at one moment",
			messages: []Message{on(30*ms, 60, 70), off(30*ms, 60), on(50*ms, 60, 80), off(50*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 70, On: 30 * ms, Off: 30 * ms}, {Key: 60, Velocity: 80, On: 50 * ms, Off: 50 * ms}},
		}, {
			name:     "never released",
			messages: []Message{on(0, 60, 80), on(10*ms, 62, 81), off(70*ms, 62)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 70 * ms, Open: true}, {Key: 62, Velocity: 81, On: 10 * ms, Off: 70 * ms}},
			warnings: []string{"1 note never released; closed where the take ends"},
		}, {
			name:     "a release on another channel",
			messages: []Message{on(0, 60, 80), {10 * ms, 0x81, 60, 64}, off(20*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 20 * ms}},
		}, {
			name:     "percussion",
			messages: []Message{{0, 0x99, 38, 90}, {0, 0xB9, Sustain, 127}, {5 * ms, 0x99, 38, 0}, {9 * ms, 0x99, 40, 90}, on(10*ms, 60, 80), off(20*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, On: 10 * ms, Off: 20 * ms}},
			warnings: []string{"2 notes on the percussion channel (10) left out"},
		}, {
			name:     "all notes off",
			messages: []Message{on(0, 60, 80), on(0, 64, 80), {1 * ms, 0x91, 67, 70}, control(30*ms, 123, 0), {40 * ms, 0x81, 67, 0}},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 30 * ms}, {Key: 64, Velocity: 80, Off: 30 * ms}, {Key: 67, Velocity: 70, On: 1 * ms, Off: 40 * ms}},
		}, {
			name:     "all sound off",
			messages: []Message{on(0, 60, 80), control(30*ms, 120, 0)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 30 * ms}},
		}, {
			name:     "reset lifts the pedals that are down and no key",
			messages: []Message{on(0, 60, 80), control(10*ms, Sustain, 127), control(10*ms, Soft, 0), control(30*ms, 121, 0), off(40*ms, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, Off: 40 * ms}},
			pedals:   []Pedal{{10 * ms, Sustain, 127}, {10 * ms, Soft, 0}, {30 * ms, Sustain, 0}},
		}, {
			name:     "what is no note and no pedal",
			messages: []Message{{0, 0xA0, 60, 50}, {0, 0xC0, 3, 0}, {0, 0xE0, 0, 64}, control(0, 7, 100)},
		}, {
			name:     "times that go back",
			messages: []Message{on(50*ms, 60, 80), off(40*ms, 60), on(45*ms, 62, 80), off(60*ms, 62)},
			notes:    []Note{{Key: 60, Velocity: 80, On: 50 * ms, Off: 50 * ms}, {Key: 62, Velocity: 80, On: 50 * ms, Off: 60 * ms}},
		}, {
			name:     "times are rounded to the tick",
			messages: []Message{on(1009999, 60, 80), off(1010000, 60)},
			notes:    []Note{{Key: 60, Velocity: 80, On: 1000 * time.Microsecond, Off: 1020 * time.Microsecond}},
		},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			got := build(c.messages...)
			want := &Take{Notes: c.notes, Pedals: c.pedals, Warnings: c.warnings}
			if d := cmp.Diff(want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestBuilderTellsChanges(t *testing.T) {
	b := NewBuilder(Take{})
	for i, c := range []struct {
		m    Message
		want []Change
	}{
		{on(0, 60, 80), []Change{{NoteBegan, 0}}},
		{on(1*ms, 64, 80), []Change{{NoteBegan, 1}}},
		{off(2*ms, 61), nil},
		{on(3*ms, 60, 70), []Change{{NoteEnded, 0}, {NoteBegan, 2}}},
		{control(4*ms, Sustain, 90), []Change{{PedalMoved, 0}}},
		{control(5*ms, 123, 0), []Change{{NoteEnded, 2}, {NoteEnded, 1}}},
		{control(6*ms, 121, 0), []Change{{PedalMoved, 1}}},
	} {
		got := b.Add(c.m)
		if d := cmp.Diff(c.want, append([]Change(nil), got...)); d != "" {
			t.Errorf("message %d: %s", i, d)
		}
	}
	if n := b.Note(0); n.Off != 3*ms || n.Key != 60 {
		t.Errorf("note 0 is %+v", n)
	}
	if p := b.Pedal(1); p != (Pedal{6 * ms, Sustain, 0}) {
		t.Errorf("pedal change 1 is %+v", p)
	}
}

// A take that was handed out does not change when playing goes on.
func TestTakeIsASnapshot(t *testing.T) {
	b := NewBuilder(Take{Facts: map[string]string{"request": "C major"}})
	b.Add(on(0, 60, 80))
	first := b.Take()
	b.Add(off(10*ms, 60))
	b.Add(on(20*ms, 62, 80))
	first.Facts["request"] = "changed"
	if len(first.Notes) != 1 || !first.Notes[0].Open || b.Take().Facts["request"] != "C major" {
		t.Errorf("%+v", first)
	}
	if got := b.Take(); got.Notes[0].Open || got.Notes[0].Off != 10*ms {
		t.Errorf("%+v", got.Notes)
	}
}

// genMessages draws messages of every kind that come in, with few keys so that they collide.
func genMessages(t *rapid.T) []Message {
	at := time.Duration(0)
	gap := rapid.OneOf(rapid.Just(time.Duration(0)), rapid.Map(rapid.Int64Range(-3000, 3_000_000), func(ns int64) time.Duration { return time.Duration(ns) }), rapid.Just(3*time.Hour))
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Message {
		at += gap.Draw(t, "gap")
		kind := rapid.SampledFrom([]byte{0x80, 0x90, 0x90, 0xB0}).Draw(t, "kind")
		channel := rapid.SampledFrom([]byte{0, 0, 0, 1, Percussion}).Draw(t, "channel")
		number := rapid.SampledFrom([]byte{0, 60, 61, 127})
		if kind == 0xB0 {
			number = rapid.SampledFrom([]byte{Sustain, Sustain, Sostenuto, Soft, 7, 120, 121, 123, 126})
		}
		return Message{At: at, Status: kind | channel, Data1: number.Draw(t, "number"), Data2: rapid.ByteRange(0, 127).Draw(t, "value")}
	}), 0, 60).Draw(t, "messages")
}

// The take keeps its promises whatever comes: notes in order, none ending before it began, and no
// two of one key at once.
func TestTakeIsInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take := build(genMessages(t)...)
		var free [128]time.Duration
		var at time.Duration
		for i, n := range take.Notes {
			if n.On < at || n.Off < n.On || n.On < free[n.Key] || n.On%Tick != 0 || n.Off%Tick != 0 || n.Velocity == 0 {
				t.Fatalf("note %d of %+v", i, take.Notes)
			}
			at, free[n.Key] = n.On, n.Off
		}
		if open := strings.Contains(strings.Join(take.Warnings, "\n"), "never released"); open != anyOpen(take) {
			t.Fatalf("warnings %q on %+v", take.Warnings, take.Notes)
		}
	})
}

func anyOpen(t *Take) bool {
	for _, n := range t.Notes {
		if n.Open {
			return true
		}
	}
	return false
}
