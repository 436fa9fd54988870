package pupil

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenhand/capture"
	"evenhand/references"
)

// rebuild makes a take of messages as MIDI 1.0 has them.
func rebuild(messages []capture.Message) *capture.Take {
	take := &capture.Take{Device: "simulated pupil"}
	sounding := map[uint8]int{}
	for _, m := range messages {
		switch m.Status {
		case 0x90:
			sounding[m.Data1] = len(take.Notes)
			take.Notes = append(take.Notes, capture.Note{Key: m.Data1, Velocity: m.Data2, On: m.At, Open: true})
		case 0x80:
			n := &take.Notes[sounding[m.Data1]]
			n.Off, n.Open = m.At, false
		case 0xB0:
			take.Pedals = append(take.Pedals, capture.Pedal{At: m.At, Controller: m.Data1, Value: m.Data2})
		}
	}
	end := take.End()
	for i := range take.Notes {
		if take.Notes[i].Open {
			take.Notes[i].Off = end
		}
	}
	return take
}

func TestMessagesAreTheTake(t *testing.T) {
	for _, p := range []Pupil{
		{},
		{Pedal: PedalThroughout},
		{Pedal: PedalChanged, Seed: 4},
		{Seed: 2, Faults: []Fault{{Kind: StuckKey, At: 20}, {Kind: StruckTwice, At: Anywhere}}},
	} {
		take, _ := Play(contrary(t), p)
		if d := cmp.Diff(take, rebuild(Messages(take))); d != "" {
			t.Error(d)
		}
	}
}

func TestUnisonIsOneStroke(t *testing.T) {
	take, _ := Play(contrary(t), Pupil{Seed: 5})
	ons := 0
	for _, m := range Messages(take) {
		if m.Status == 0x90 && m.Data1 == 60 {
			ons++
		}
	}
	if ons != 2 { // the first note and the last
		t.Errorf("middle C goes down %d times, want 2", ons)
	}
}

func TestStuckKeyStaysDown(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, "C4 D4 E4 F4 G4")
	take, truth := Play(ref, Pupil{Exact: true, Faults: []Fault{{Kind: StuckKey, At: 1}}})
	if n := take.Notes[1]; !n.Open || n.Off != take.End() || truth.Events[0].Kind != StuckKey {
		t.Errorf("%+v", n)
	}
	for _, m := range Messages(take) {
		if m.Status == 0x80 && m.Data1 == 62 {
			t.Error("the stuck key is let go")
		}
	}
}

func TestPedals(t *testing.T) {
	ref := similar(t)
	ref.BarLength = references.Q(4, 1)
	take, _ := Play(ref, Pupil{Exact: true, BPM: 60, Pedal: PedalChanged})
	ups := 0
	for i, p := range take.Pedals {
		if down := p.Value >= 64; down != (i%2 == 0) {
			t.Fatalf("pedal %d: %+v", i, p)
		}
		if p.Value == 0 {
			ups++
		}
	}
	if ups != 4 { // three bar lines within 14 beats and a note, and the end
		t.Errorf("the pedal comes up %d times, want 4", ups)
	}
}

func TestPerformKeepsTime(t *testing.T) {
	take, _ := Play(rightHand(t), Pupil{Pedal: PedalThroughout})
	var now time.Duration
	until := func(_ context.Context, at time.Duration) error { now = at; return nil }
	var got []capture.Message
	err := Perform(t.Context(), take, until, func(m capture.Message) error {
		if m.At != now {
			t.Errorf("sent at %v: %+v", now, m)
		}
		got = append(got, m)
		return nil
	})
	if d := cmp.Diff(Messages(take), got); err != nil || d != "" {
		t.Error(err, d)
	}
}

func TestPerformLeavesThePianoQuiet(t *testing.T) {
	take, _ := Play(similar(t), Pupil{Pedal: PedalThroughout, Touch: references.Each(Hold{Share: 1.2})})
	gone := errors.New("gone")
	for stop := range 40 {
		down, pedal, sent := map[uint8]bool{}, false, 0
		until := func(context.Context, time.Duration) error {
			if sent == stop {
				return gone
			}
			return nil
		}
		err := Perform(t.Context(), take, until, func(m capture.Message) error {
			sent++
			switch m.Status {
			case 0x90:
				down[m.Data1] = true
			case 0x80:
				delete(down, m.Data1)
			case 0xB0:
				pedal = m.Data2 > 0
			}
			return nil
		})
		if !errors.Is(err, gone) || len(down) > 0 || pedal {
			t.Errorf("stopped at %d: %v, keys %v, pedal %v", stop, err, down, pedal)
		}
	}
	err := Perform(t.Context(), take, func(context.Context, time.Duration) error { return nil }, func(capture.Message) error { return gone })
	if !errors.Is(err, gone) {
		t.Error("a port that fails is not told")
	}
}

func TestRealTime(t *testing.T) {
	until, start := RealTime(), time.Now()
	if err := until(t.Context(), 3*time.Millisecond); err != nil || time.Since(start) < 3*time.Millisecond {
		t.Error("came back too soon", err)
	}
	if err := until(t.Context(), -time.Hour); err != nil {
		t.Error("a moment gone by is an error:", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	time.AfterFunc(time.Millisecond, cancel)
	if err := until(ctx, time.Hour); !errors.Is(err, context.Canceled) {
		t.Error("waited on:", err)
	}
	if err := until(ctx, 0); !errors.Is(err, context.Canceled) {
		t.Error("went on after the end:", err)
	}
}
