//go:build unix

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/internal/jacktest"
	"evenhand/references"
)

// frames is a terminal's screen that notes when it was written to.
type frames struct {
	mu sync.Mutex
	at []time.Time
}

// Write implements io.Writer.
func (f *frames) Write(b []byte) (int, error) {
	if bytes.ContainsAny(b, "ABCDEFG") {
		f.mu.Lock()
		f.at = append(f.at, time.Now())
		f.mu.Unlock()
	}
	return len(b), nil
}

// after is the first frame since a time.
func (f *frames) after(from time.Time) (time.Time, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	i, _ := slices.BinarySearchFunc(f.at, from, time.Time.Compare)
	if i == len(f.at) {
		return time.Time{}, false
	}
	return f.at[i], true
}

// BenchmarkNoteToFrame plays 500 notes over JACK and measures, of each, the time from when RtMidi got it
// from the sound server, as the message says, to the first frame written to the terminal after that.
// Notes come 31 ms apart, so that a frame, of which there are 60 a second, is never that of the note
// after.
func BenchmarkNoteToFrame(b *testing.B) {
	const notes, apart = 500, 31 * time.Millisecond
	jacktest.Start(b)
	what, err := findAsked(pageWords, nil)
	if err != nil {
		b.Fatal(err)
	}
	piano := jacktest.Piano(b, "toy piano")
	src, err := openPiano("", false)
	if err != nil {
		b.Fatal(err)
	}
	defer src.close()
	heard := make(chan time.Duration, waiting)
	src.events = spy(src.events, heard)
	settings, _ := settingsFor("middle")
	h := &hearing{asked: what, settings: settings, keep: b.TempDir()}
	screen := &frames{}
	keys, quit := io.Pipe()
	over := make(chan error, 1)
	go func() { over <- h.onScreen(b.Context(), src, keys, screen, listenOptions{keyboard: 88}) }()
	var took []float64
	for b.Loop() {
		jacktest.Play(b, piano, stream(what.candidates[0], notes, apart))
		time.Sleep(apart)
		zero := time.Now().Add(-src.now())
		for len(heard) > 0 {
			at := zero.Add(<-heard)
			if frame, ok := screen.after(at); ok {
				took = append(took, 1000*frame.Sub(at).Seconds())
			}
		}
	}
	_, _ = quit.Write([]byte("q"))
	if err := <-over; err != nil {
		b.Fatal(err)
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "ms-p50")
	b.ReportMetric(took[len(took)*99/100], "ms-p99")
	b.ReportMetric(float64(len(took)), "notes")
}

// stream are so many notes of a reference, evenly apart.
func stream(ref *references.Reference, notes int, apart time.Duration) []capture.Message {
	var out []capture.Message
	for i := range notes {
		key, at := uint8(ref.Notes[i%len(ref.Notes)].Key()), time.Duration(i)*apart
		out = append(out, capture.Message{At: at, Status: 0x90, Data1: key, Data2: 70},
			capture.Message{At: at + apart/2, Status: 0x80, Data1: key, Data2: 64})
	}
	return out
}

// spy passes events on, telling when each note was struck.
func spy(events <-chan event, struck chan<- time.Duration) <-chan event {
	out := make(chan event, waiting)
	go func() {
		defer close(out)
		for e := range events {
			if e.message != nil && strikes(e.message) {
				struck <- e.message.At
			}
			out <- e
		}
	}()
	return out
}

// BenchmarkIdlePage measures the processor time that the program takes while it waits for a key.
func BenchmarkIdlePage(b *testing.B) {
	if _, err := os.Stat("/proc/self/stat"); err != nil {
		b.Skip("there is no /proc here: the processor time of another process cannot be told")
	}
	jacktest.Start(b)
	jacktest.Piano(b, "toy piano")
	w := openTerminal(b, 120, 40, "", "listen", pageWords, "--keep", b.TempDir())
	w.sees("Play when you are ready")
	pid := strings.TrimSpace(w.tmux("display-message", "-p", "-t", "page", "#{pane_pid}"))
	child, err := exec.Command("pgrep", "-P", pid).Output()
	if err != nil {
		b.Fatal(err)
	}
	const wait = 10 * time.Second
	var total time.Duration
	for b.Loop() {
		before := processorTime(b, strings.TrimSpace(string(child)))
		time.Sleep(wait)
		total += processorTime(b, strings.TrimSpace(string(child))) - before
	}
	b.ReportMetric(1000*total.Seconds()/(wait.Seconds()*float64(b.N)), "ms/s")
}

// processorTime is what a process has used so far: the sum of its threads' run times, in nanoseconds.
func processorTime(b *testing.B, pid string) time.Duration {
	b.Helper()
	tasks, err := os.ReadDir("/proc/" + pid + "/task")
	if err != nil {
		b.Fatal(err)
	}
	var sum int64
	for _, t := range tasks {
		stat, err := os.ReadFile("/proc/" + pid + "/task/" + t.Name() + "/schedstat")
		if err != nil {
			continue // a thread that has just ended
		}
		n, _ := strconv.ParseInt(strings.Fields(string(stat))[0], 10, 64)
		sum += n
	}
	return time.Duration(sum)
}
