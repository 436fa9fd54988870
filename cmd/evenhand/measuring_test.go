package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/scoring"
)

// strokes are so many notes of a velocity, held until gap before the next.
func strokes(at *time.Duration, n int, velocity byte, gap time.Duration) []capture.Message {
	const every = 250 * time.Millisecond
	var out []capture.Message
	for i := range n {
		on := noteOn(*at, byte(60+i))
		on.Data2 = velocity
		out = append(out, on, noteOff(*at+every-gap, byte(60+i)))
		*at += every
	}
	return out
}

func TestMeasuringAsksAgain(t *testing.T) {
	var at time.Duration
	var said strings.Builder
	m := newMeasuring(func(format string, args ...any) { fmt.Fprintf(&said, format, args...) })
	for _, step := range []struct {
		velocity byte
		gap      time.Duration
	}{{30, 20}, {33, 20}, {52, 20}, {55, 20}, {80, 20}, {60, 150}, {60, 12}} {
		for _, c := range strokes(&at, measureNotes, step.velocity, step.gap*time.Millisecond) {
			m.take(c)
		}
	}
	if !m.done() || m.fault != nil {
		t.Fatalf("done %v, fault %v after\n%s", m.done(), m.fault, &said)
	}
	if got, want := fmt.Sprint(m.result("toy")), "{{toy [{p 30} {mf 52} {f 80}] 12} 0001-01-01 00:00:00 +0000 UTC}"; strings.TrimPrefix(got, "&") != want {
		t.Errorf("learnt %s, want %s", got, want)
	}
	for _, words := range []string{"Once more, a little louder", "Once more, a good deal louder", "there was a gap of 150 ms"} {
		if !strings.Contains(said.String(), words) {
			t.Errorf("%q was not said in\n%s", words, &said)
		}
	}
}

// Whatever a piano sends, what is learnt of it is a scale that rises, or none.
func TestMeasuringAnything(t *testing.T) {
	message := rapid.Custom(func(t *rapid.T) capture.Message {
		return capture.Message{
			At:     time.Duration(rapid.Int64Range(0, 1e10).Draw(t, "at")),
			Status: rapid.SampledFrom([]byte{0x80, 0x90, 0x90, 0x99, 0xB0}).Draw(t, "status"),
			Data1:  rapid.ByteRange(60, 64).Draw(t, "key"),
			Data2:  rapid.ByteRange(0, 127).Draw(t, "velocity"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		m := newMeasuring(func(string, ...any) {})
		for _, c := range rapid.SliceOfN(message, 0, 400).Draw(t, "messages") {
			m.take(c)
		}
		learnt := m.result("toy")
		if len(learnt.Levels) > len(loudnessSteps) || m.gap < 0 || m.gap > farthest {
			t.Fatalf("learnt %+v", learnt)
		}
		for i := 1; i < len(learnt.Levels); i++ {
			if learnt.Levels[i].Velocity < learnt.Levels[i-1].Velocity+leastRise {
				t.Fatalf("learnt %+v", learnt)
			}
		}
	})
}

// What was learnt is found again, and a piano measured anew takes the place of its old self.
func TestMeasuredPianos(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	m, err := openMeasured()
	if err != nil {
		t.Fatal(err)
	}
	for _, velocity := range []float64{40, 50} {
		for _, name := range []string{"Upright", "Grand"} {
			if err := m.keep(measured{Calibration: scoring.Calibration{Piano: name, Levels: []scoring.LevelVelocity{{Dynamic: "mf", Velocity: velocity}}}}); err != nil {
				t.Fatal(err)
			}
		}
	}
	c, err := calibrationOf("Grand")
	if err != nil || c == nil || c.Levels[0].Velocity != 50 {
		t.Errorf("%+v, %v", c, err)
	}
	if again, err := openMeasured(); err != nil || len(again.all) != 2 {
		t.Errorf("%+v, %v", again, err)
	}
	if c, err := calibrationOf("Spinet"); c != nil || err != nil {
		t.Errorf("a piano that was never measured: %+v, %v", c, err)
	}
}
