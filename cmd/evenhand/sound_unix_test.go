//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
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

// One's own take sounds on the piano as it was played, with its marks passing by.
func TestHearATake(t *testing.T) {
	jacktest.Start(t)
	jacktest.Piano(t, "toy piano")
	speaker := jacktest.Sounding(t, "toy piano")
	take, err := writtenTake("asked C major scale, right hand, 1 octave\nevery 0.05\nhold 0.04\nC4 D4 E4\nwait 0.6\nF4 A♭4 A4 B4 C5 B4 A4 G4 F4 E4 C4")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "monday.mid")
	var b bytes.Buffer
	if err := errors.Join(capture.WriteSMF(&b, take), os.WriteFile(path, b.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
	out := string(must(t, "hear", path))
	for _, words := range []string{
		"C major, right hand, one octave, on toy piano",
		"  C4 D4 E4 | F4 (G♯4 for G4) A4 B4 C5 B4 A4 G4 F4 E4 ^D4 C4\n",
		"wrong note",
	} {
		if !strings.Contains(out, words) {
			t.Errorf("no %q in %s", words, out)
		}
	}
	jacktest.Eventually(t, "all of it has sounded", func() bool { return len(speaker.Heard()) == 2*len(take.Notes) })
	var keys []uint8
	for _, m := range speaker.Heard() {
		if strikes(&m) {
			keys = append(keys, m.Data1)
		}
	}
	for i, n := range take.Notes {
		if keys[i] != n.Key {
			t.Fatalf("keys %v sounded, want those of %v", keys, take.Notes)
		}
	}
}

// What is heard again and again ends with Ctrl-C, with every key let go and no error.
func TestHearEnds(t *testing.T) {
	jacktest.Start(t)
	speaker := jacktest.Sounding(t, "sampler")
	ctx, stop := context.WithCancel(t.Context())
	var out, errw bytes.Buffer
	status := make(chan int)
	go func() {
		status <- run(ctx, nil, &out, &errw, []string{"hear", "C major scale, 1 octave", "--tempo", "400", "--loop", "--journal", "none"})
	}()
	jacktest.Eventually(t, "it is heard a second time", func() bool { return len(speaker.Heard()) > 70 })
	stop()
	if got := <-status; got != statusDone || errw.Len() > 0 {
		t.Errorf("status %d: %s", got, &errw)
	}
	down := 0
	jacktest.Eventually(t, "every key is up", func() bool {
		down = 0
		for _, m := range speaker.Heard() {
			if strikes(&m) {
				down++
			} else {
				down--
			}
		}
		return down == 0
	})
}

// A piano is measured, and every take on it from then on is judged, and kept, with its scale.
func TestLoudnessOfAPiano(t *testing.T) {
	jacktest.Start(t)
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	piano := jacktest.Piano(t, "toy piano")
	var out, errw lockedBuffer
	status := make(chan int)
	go func() { status <- run(t.Context(), nil, &out, &errw, []string{"loudness"}) }()
	jacktest.Eventually(t, "it asks", func() bool { return strings.Contains(out.String(), "softly") && errw.String() != "" })
	var at time.Duration
	var messages []capture.Message
	for _, velocity := range []byte{20, 40, 60, 40} {
		for _, m := range strokes(&at, measureNotes, velocity, 10*time.Millisecond) {
			m.At /= 5
			messages = append(messages, m)
		}
	}
	jacktest.Play(t, piano, messages)
	// On a busy machine joined notes may come so late that they are not: it asks for them up to three times.
	got, last := -1, messages[len(messages)-2*measureNotes:]
	for tries := 0; got < 0; tries++ {
		select {
		case got = <-status:
		case <-time.After(2 * time.Second):
			if tries == measureTries {
				t.Fatalf("it asks still: %s%s", out.String(), errw.String())
			}
			jacktest.Play(t, piano, after(last, last[0].At))
		}
	}
	if got != statusDone || !strings.Contains(out.String(), "Kept for toy piano: p 20, mf 40, f 60") {
		t.Fatalf("status %d: %s%s", got, out.String(), errw.String())
	}
	_, take, _ := scaleWithTwoWrongNotes(t)
	l := listen(t, contraryScale, "--format", "json", "--keep", t.TempDir())
	jacktest.Play(t, piano, jacktest.Messages(take))
	a := l.ends(statusDone)
	if c := a.Settings.Calibration; c == nil || c.Piano != "toy piano" || len(c.Levels) != 3 {
		t.Errorf("judged by the scale %+v", c)
	}
	if a.Dynamics == nil || a.Dynamics.Heard != "mf" {
		t.Errorf("loudness %+v, want mf on a piano whose p is 20", a.Dynamics)
	}
	kept, err := capture.ReadFile(a.Take)
	if err != nil || kept.Device != "toy piano" {
		t.Errorf("kept as played on %q, %v", kept.Device, err)
	}
	if again := must(t, "check", a.Take, "-f", "json"); string(again) != l.out.String() {
		t.Errorf("live %s\nchecked %s", &l.out, again)
	}
}

// lockedBuffer is a buffer that a test looks at while it is written to.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

// Write implements io.Writer.
func (l *lockedBuffer) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(b)
}

// String is what has been written so far.
func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}
