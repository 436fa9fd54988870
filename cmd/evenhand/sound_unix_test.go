//go:build unix

package main

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/internal/jacktest"
)

// evenTake is so many notes, one each gap, the last of them with the pedal.
func evenTake(n int, gap time.Duration) *capture.Take {
	take := &capture.Take{}
	for i := range n {
		on := time.Duration(i) * gap
		take.Notes = append(take.Notes, capture.Note{Key: uint8(40 + i%48), Velocity: uint8(30 + i%64), On: on, Off: on + gap/2})
	}
	take.Pedals = []capture.Pedal{{At: 0, Controller: capture.Sustain, Value: 127}, {At: take.End(), Controller: capture.Sustain}}
	return take
}

func TestPlayerSoundsATake(t *testing.T) {
	jacktest.Start(t)
	jacktest.Piano(t, "toy piano")
	speaker := jacktest.Sounding(t, "toy piano")
	p, err := openPlayer("", "")
	if err != nil {
		t.Fatal(err)
	}
	defer p.close()
	const gap = 10 * time.Millisecond
	take := evenTake(150, gap)
	var passed []capture.Message
	if err := p.play(t.Context(), take, func(m capture.Message) { passed = append(passed, m) }); err != nil {
		t.Fatal(err)
	}
	jacktest.Eventually(t, "all of the take has sounded", func() bool { return len(speaker.Heard()) == len(passed) })
	heard := speaker.Heard()
	var late []float64
	for i := range heard {
		if got, want := heard[i], passed[i]; got.Status != want.Status || got.Data1 != want.Data1 || got.Data2 != want.Data2 {
			t.Fatalf("message %d is %v, want %v", i, got, want)
		}
		late = append(late, float64((heard[i].At-heard[0].At)-(passed[i].At-passed[0].At))/float64(time.Millisecond))
	}
	slices.Sort(late)
	// The figures are for the reader: how late depends on the load of the machine.
	t.Logf("%d messages: against the take from %.2f to %.2f ms off the first, median %.2f", len(late), late[0], late[len(late)-1], late[len(late)/2])
}

// A player that is stopped leaves no key and no pedal down.
func TestPlayerStops(t *testing.T) {
	jacktest.Start(t)
	speaker := jacktest.Sounding(t, "toy piano")
	p, err := openPlayer("", "toy")
	if err != nil {
		t.Fatal(err)
	}
	defer p.close()
	take := &capture.Take{
		Notes:  []capture.Note{{Key: 60, Velocity: 70, Off: time.Hour}, {Key: 64, Velocity: 70, Off: time.Hour}, {Key: 67, Velocity: 70, On: time.Millisecond, Off: time.Hour}},
		Pedals: []capture.Pedal{{Controller: capture.Sustain, Value: 127}},
	}
	ctx, stop := context.WithCancel(t.Context())
	sent := 0
	if err := p.play(ctx, take, func(capture.Message) {
		if sent++; sent == 4 {
			stop()
		}
	}); err != nil {
		t.Fatal(err)
	}
	jacktest.Eventually(t, "everything is let go", func() bool { return len(speaker.Heard()) >= 8 })
	down := map[[2]byte]bool{}
	for _, m := range speaker.Heard() {
		down[[2]byte{m.Status &^ 0x10, m.Data1}] = m.Status&0xF0 != 0x80 && m.Data2 > 0
	}
	for what, is := range down {
		if is {
			t.Errorf("%v is down still", what)
		}
	}
}

func TestPlayerOfAPianoThatCannotSound(t *testing.T) {
	jacktest.Start(t)
	if _, err := openPlayer("", ""); !errors.Is(err, ports.ErrNone) {
		t.Errorf("no piano at all: %v", err)
	}
	jacktest.Piano(t, "toy piano")
	jacktest.Sounding(t, "sampler")
	_, err := openPlayer("", "")
	if want := "toy piano has no MIDI input to sound through: only its own keys make it sound"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}
