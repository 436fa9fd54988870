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

	"evenhand/capture/ports"
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

// BenchmarkNoteToFrame plays a long scale five times over JACK, 570 notes, and measures, of each, the
// time from just before it is sent by another port to the first frame written to the terminal after
// that: the sound server's part is in it. Notes come 31 ms apart, so that a frame, of which there are at
// most 60 a second, is never that of the note after. Beside it is how many times that is what the three bytes
// of the note would take on a MIDI cable: ten bits each at 31,250 a second (MIDI 1.0), 0.96 ms.
func BenchmarkNoteToFrame(b *testing.B) {
	const times, apart = 5, 31 * time.Millisecond
	const cable = 3 * 10 * 1000.0 / 31250
	jacktest.Start(b)
	what, err := findAsked("C major scale, hands together, four octaves, forte", nil)
	if err != nil {
		b.Fatal(err)
	}
	piano := jacktest.Piano(b, "toy piano")
	src, err := openPiano("", false)
	if err != nil {
		b.Fatal(err)
	}
	defer src.close()
	settings, _ := settingsFor("middle")
	h := &hearing{asked: what, settings: settings, keep: b.TempDir()}
	screen := &frames{}
	keys, quit := io.Pipe()
	over := make(chan error, 1)
	go func() { over <- h.onScreen(b.Context(), src, nil, keys, screen, listenOptions{keyboard: 88}) }()
	var took []float64
	for b.Loop() {
		for range times {
			for _, sent := range stream(b, piano, what.candidates[0], apart) {
				if frame, ok := screen.after(sent); ok {
					took = append(took, 1000*frame.Sub(sent).Seconds())
				}
			}
			_, _ = quit.Write([]byte(" "))
			time.Sleep(10 * apart)
		}
	}
	_, _ = quit.Write([]byte("q"))
	if err := <-over; err != nil {
		b.Fatal(err)
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "ms-p50")
	b.ReportMetric(took[len(took)*99/100], "ms-p99")
	b.ReportMetric(took[len(took)/2]/cable, "of-cable-p50")
	b.ReportMetric(took[len(took)*99/100]/cable, "of-cable-p99")
	b.ReportMetric(float64(len(took)), "notes")
}

// stream plays the notes of a reference one by one, evenly apart, also those meant together, and returns
// when each was sent.
func stream(b *testing.B, piano *ports.Out, ref *references.Reference, apart time.Duration) []time.Time {
	b.Helper()
	var sent []time.Time
	next := time.Now()
	for i := range ref.Notes {
		key := uint8(ref.Notes[i].Key())
		for _, m := range [][]byte{{0x90, key, 70}, {0x80, key, 64}} {
			if m[0] == 0x90 {
				sent = append(sent, time.Now())
			}
			if err := piano.Send(m...); err != nil {
				b.Fatal(err)
			}
			next = next.Add(apart / 2)
			time.Sleep(time.Until(next))
		}
	}
	return sent
}

// BenchmarkIdlePage measures the processor time that the program takes while it waits for a key, without a
// piano and with one on JACK servers of several cycles; of that its busiest thread, which with JACK is the
// one on which the server calls every client once a cycle; and beside it what the same call takes in the toy
// piano, which has nothing to do there.
func BenchmarkIdlePage(b *testing.B) {
	if _, err := os.Stat("/proc/self/stat"); err != nil {
		b.Skip("there is no /proc here: the processor time of another process cannot be told")
	}
	b.Run("no piano", func(b *testing.B) {
		idles(b, "JACK_DEFAULT_SERVER=none JACK_NO_START_SERVER=1", "No piano yet")
	})
	for _, frames := range []int{64, 128, 256, 1024} {
		b.Run(strconv.Itoa(frames), func(b *testing.B) {
			jacktest.StartCycle(b, frames)
			jacktest.Piano(b, "toy piano")
			idles(b, "", "Play when you are ready")
		})
	}
}

// idles measures a page that shows these words, in this environment.
func idles(b *testing.B, env, words string) {
	w := openTerminal(b, 120, 40, env, "listen", pageWords, "--keep", b.TempDir())
	w.sees(words)
	pid := strings.TrimSpace(w.tmux("display-message", "-p", "-t", "page", "#{pane_pid}"))
	child, err := exec.Command("pgrep", "-P", pid).Output()
	if err != nil {
		b.Fatal(err)
	}
	const wait = 10 * time.Second
	var total, busiest, toy time.Duration
	for b.Loop() {
		page, here := processorTime(b, strings.TrimSpace(string(child))), processorTime(b, "self")
		time.Sleep(wait)
		all, most := since(page, processorTime(b, strings.TrimSpace(string(child))))
		total, busiest = total+all, busiest+most
		_, most = since(here, processorTime(b, "self"))
		toy += most
	}
	for name, used := range map[string]time.Duration{"ms/s": total, "ms/s-busiest": busiest, "ms/s-toy": toy} {
		b.ReportMetric(1000*used.Seconds()/(wait.Seconds()*float64(b.N)), name)
	}
}

// since is what all threads of a process, and the busiest of them, have used between two moments.
func since(before, after map[string]time.Duration) (all, most time.Duration) {
	for thread, used := range after {
		used -= before[thread]
		all, most = all+used, max(most, used)
	}
	return all, most
}

// processorTime is what each thread of a process has used so far: the run times that Linux counts, in
// nanoseconds.
func processorTime(b *testing.B, pid string) map[string]time.Duration {
	b.Helper()
	tasks, err := os.ReadDir("/proc/" + pid + "/task")
	if err != nil {
		b.Fatal(err)
	}
	used := map[string]time.Duration{}
	for _, t := range tasks {
		stat, err := os.ReadFile("/proc/" + pid + "/task/" + t.Name() + "/schedstat")
		if err != nil {
			continue // a thread that has just ended
		}
		n, _ := strconv.ParseInt(strings.Fields(string(stat))[0], 10, 64)
		used[t.Name()] = time.Duration(n)
	}
	return used
}
