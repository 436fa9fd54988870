//go:build unix && cgo

package ports_test

import (
	"math"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/internal/jacktest"
)

// heard collects what an input gives, for the test to look at from its own goroutine.
type heard struct {
	mu       sync.Mutex
	messages []capture.Message
	changes  []ports.Change
}

func (h *heard) message(m capture.Message) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.messages = append(h.messages, m)
}

func (h *heard) change(c ports.Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.changes = append(h.changes, c)
}

func (h *heard) all() ([]capture.Message, []ports.Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Clone(h.messages), slices.Clone(h.changes)
}

// waitFor waits until the last change is into this state.
func (h *heard) waitFor(t *testing.T, s ports.State) ports.Change {
	t.Helper()
	var last ports.Change
	jacktest.Eventually(t, "the connection has changed", func() bool {
		_, changes := h.all()
		if len(changes) > 0 {
			last = changes[len(changes)-1]
		}
		return len(changes) > 0 && last.State == s
	})
	return last
}

// waitForNotes waits until so many messages have come.
func (h *heard) waitForNotes(t *testing.T, n int) []capture.Message {
	t.Helper()
	jacktest.Eventually(t, "all messages have come", func() bool {
		messages, _ := h.all()
		return len(messages) >= n
	})
	messages, _ := h.all()
	return messages
}

// opener is one of the two kinds of input: our own, and RtMidi's, which all systems but JACK have.
type opener func(choice string, message func(capture.Message), options ports.Options) (*ports.In, error)

// bothWays runs a test with either. RtMidi's takes its port from the JACK server before it leaves it, and
// libjack's own thread may just then be looking at the list of the ports, as it does whenever something is
// connected: that ends the program. So nothing is connected any more when it is closed, and tests in which
// pianos come and go are not run with it.
func bothWays(t *testing.T, test func(*testing.T, opener)) {
	t.Run("own", func(t *testing.T) { test(t, ports.Open) })
	t.Run("RtMidi", func(t *testing.T) {
		test(t, ports.OpenByRtMidi)
		time.Sleep(200 * time.Millisecond)
	})
}

func listen(t *testing.T, choice string, options ports.Options) *heard {
	t.Helper()
	return opener(ports.Open).listen(t, choice, options)
}

func (open opener) listen(t *testing.T, choice string, options ports.Options) *heard {
	t.Helper()
	h := &heard{}
	options.Changed = h.change
	options.Look = 20 * time.Millisecond
	in, err := open(choice, h.message, options)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(in.Close)
	return h
}

// steady is n notes, one a gap.
func steady(n int, gap time.Duration) []capture.Message {
	messages := make([]capture.Message, 0, 2*n)
	for i := range n {
		key := byte(21 + i%88)
		at := time.Duration(i) * gap
		messages = append(messages,
			capture.Message{At: at, Status: 0x90, Data1: key, Data2: byte(1 + i%127)},
			capture.Message{At: at + gap/2, Status: 0x80, Data1: key, Data2: 64})
	}
	return messages
}

// silent leaves only the bytes.
func silent(messages []capture.Message) []capture.Message {
	messages = slices.Clone(messages)
	for i := range messages {
		messages[i].At = 0
	}
	return messages
}

func TestLiveListAndChoose(t *testing.T) {
	jacktest.Start(t)
	if _, err := ports.Open("", func(capture.Message) {}, ports.Options{}); err == nil || !strings.HasPrefix(err.Error(), "no piano found: switch the piano on") {
		t.Errorf("with no piano: %v", err)
	}
	jacktest.Piano(t, "Toy Piano")
	if h := listen(t, "", ports.Options{}); h.waitFor(t, ports.Connected).Port.Name != "Toy Piano" {
		t.Error("the only piano was not taken")
	}
	jacktest.Piano(t, "Upright")
	jacktest.Piano(t, "Midi Through")
	lists, err := ports.List()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, p := range lists.In {
		names = append(names, p.String())
	}
	if got, want := strings.Join(names, ", "), `1 "Toy Piano", 2 "Upright", 3 "Midi Through"`; got != want {
		t.Errorf("listed %s, want %s", got, want)
	}
	if _, err := ports.Open("", func(capture.Message) {}, ports.Options{}); err == nil || !strings.Contains(err.Error(), `1 "Toy Piano", 2 "Upright": choose`) {
		t.Errorf("with two pianos: %v", err)
	}
	for _, choice := range []string{"2", "upright", "UPR"} {
		if h := listen(t, choice, ports.Options{}); h.waitFor(t, ports.Connected).Port.Name != "Upright" {
			t.Errorf("%q did not choose the second piano", choice)
		}
	}
}

func TestLiveEveryNoteInOrder(t *testing.T) { bothWays(t, everyNoteInOrder) }

func everyNoteInOrder(t *testing.T, open opener) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := open.listen(t, "", ports.Options{})
	played := steady(500, 4*time.Millisecond)
	jacktest.Play(t, piano, played)
	got := h.waitForNotes(t, len(played))
	if !slices.Equal(silent(got), silent(played)) {
		t.Error("what came differs from what was played")
	}
	if !slices.IsSortedFunc(got, func(a, b capture.Message) int { return int(a.At - b.At) }) {
		t.Error("times go back")
	}
	if got, want := h.waitFor(t, ports.Connected).Period, 64*time.Second/48000; got != want {
		t.Errorf("period %v, want %v", got, want)
	}
}

// A MIDI cable carries 31,250 bits a second, ten to a byte and three bytes to a note: 1,041 messages a
// second (MIDI 1.0). Three seconds of it, or sixty where EVENHAND_SOAK is set.
func TestLiveAFullCableLosesNothing(t *testing.T) { bothWays(t, aFullCableLosesNothing) }

func aFullCableLosesNothing(t *testing.T, open opener) {
	seconds := 3
	if os.Getenv("EVENHAND_SOAK") != "" {
		seconds = 60
	}
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := open.listen(t, "", ports.Options{})
	played := steady(seconds*1041/2, 2*time.Second/1041)
	jacktest.Play(t, piano, played)
	if got := h.waitForNotes(t, len(played)); !slices.Equal(silent(got), silent(played)) {
		t.Error("what came differs from what was played")
	}
}

func TestLiveOtherMessagesAreLeftOut(t *testing.T) { bothWays(t, otherMessagesAreLeftOut) }

func otherMessagesAreLeftOut(t *testing.T, open opener) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := open.listen(t, "", ports.Options{})
	long := make([]byte, 9000)
	long[0], long[len(long)-1] = 0xF0, 0xF7
	for _, b := range [][]byte{
		{0xFE},
		{0xF8},
		{0x90, 60, 80},
		{0xFE},
		{0xF0, 1, 2, 0xF7},
		{0xC0, 5},
		{0xE0, 0, 64},
		long,
		{0xFE},
		{0xB0, 64, 127},
		{0x90, 60, 0},
	} {
		if err := piano.Send(b...); err != nil {
			t.Fatal(err)
		}
	}
	want := []capture.Message{
		{Status: 0x90, Data1: 60, Data2: 80},
		{Status: 0xB0, Data1: 64, Data2: 127},
		{Status: 0x90, Data1: 60},
	}
	if got := silent(h.waitForNotes(t, len(want))); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestLiveUnpluggedAndBack(t *testing.T) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := listen(t, "toy", ports.Options{})
	half := steady(50, 4*time.Millisecond)
	jacktest.Play(t, piano, half)
	jacktest.Play(t, piano, []capture.Message{
		{Status: 0x91, Data1: 64, Data2: 70},
		{Status: 0x90, Data1: 60, Data2: 70},
		{Status: 0xB0, Data1: capture.Sustain, Data2: 100},
	})
	before := h.waitForNotes(t, len(half)+3)
	piano.Close()
	gone := h.waitFor(t, ports.Gone)
	want := []capture.Message{
		{Status: 0x81, Data1: 64, Data2: 64},
		{Status: 0x80, Data1: 60, Data2: 64},
		{Status: 0xB0, Data1: capture.Sustain},
	}
	if got := silent(gone.Left); !slices.Equal(got, want) {
		t.Errorf("left sounding %v, want %v", got, want)
	}
	if last := before[len(before)-1].At; gone.At < last {
		t.Errorf("gone at %v, before the last note at %v", gone.At, last)
	}
	piano = jacktest.Piano(t, "Toy Piano")
	if back := h.waitFor(t, ports.Back); back.At < gone.At {
		t.Errorf("back at %v, before it was gone at %v", back.At, gone.At)
	}
	jacktest.Play(t, piano, half)
	after := h.waitForNotes(t, len(before)+len(half))[len(before):]
	if !slices.Equal(silent(after), silent(half)) {
		t.Error("what came after the gap differs from what was played")
	}
	if after[0].At <= gone.At {
		t.Errorf("the first note after the gap is at %v, the gap at %v", after[0].At, gone.At)
	}
}

func TestLiveAGapTooShortToSee(t *testing.T) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := listen(t, "", ports.Options{})
	h.waitFor(t, ports.Connected)
	piano.Close()
	piano = jacktest.Piano(t, "Toy Piano")
	// Whether or not a list was looked at in between.
	h.waitFor(t, ports.Back)
	jacktest.Play(t, piano, steady(1, time.Millisecond))
	h.waitForNotes(t, 2)
}

func TestLiveServerKilledAndStartedAgain(t *testing.T) {
	server := jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := listen(t, "", ports.Options{})
	jacktest.Play(t, piano, []capture.Message{{Status: 0x90, Data1: 60, Data2: 70}})
	h.waitForNotes(t, 1)
	server.Kill(t)
	if gone := h.waitFor(t, ports.ServerGone); len(gone.Left) != 1 {
		t.Errorf("left sounding %v, want one note", gone.Left)
	}
	if err := piano.Send(0x90, 60, 70); err == nil {
		t.Error("a note was sent to a server that has ended")
	}
	piano.Close()
	server.Run(t)
	piano = jacktest.Piano(t, "Toy Piano")
	h.waitFor(t, ports.Back)
	jacktest.Play(t, piano, steady(20, 4*time.Millisecond))
	h.waitForNotes(t, 41)
}

func TestLiveWaitsForAPiano(t *testing.T) {
	jacktest.Start(t)
	h := listen(t, "toy", ports.Options{Wait: true})
	jacktest.Piano(t, "Upright")
	piano := jacktest.Piano(t, "Toy Piano")
	if c := h.waitFor(t, ports.Connected); c.Port.Name != "Toy Piano" {
		t.Errorf("connected to %q", c.Port.Name)
	}
	jacktest.Play(t, piano, steady(1, time.Millisecond))
	h.waitForNotes(t, 2)
}

func TestLiveALongCycleIsSaid(t *testing.T) {
	jacktest.StartCycle(t, 1024)
	jacktest.Piano(t, "Toy Piano")
	h := listen(t, "", ports.Options{})
	c := h.waitFor(t, ports.Connected)
	if want := 1024 * time.Second / 48000; c.Period != want || !strings.Contains(c.Warning, "every 21.3 ms") {
		t.Errorf("period %v, want %v; warning %q", c.Period, want, c.Warning)
	}
}

// files counts what the process has open, and its threads.
func files(t *testing.T) (open, threads int) {
	t.Helper()
	fds, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		t.Skip("no /proc here: leaks cannot be counted")
	}
	tasks, err := os.ReadDir("/proc/self/task")
	if err != nil {
		t.Fatal(err)
	}
	return len(fds), len(tasks)
}

func TestLiveOpeningAgainAndAgainLeaksNothing(t *testing.T) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	open := func() {
		in, err := ports.Open("", func(capture.Message) {}, ports.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if err := piano.Send(0x90, 60, 1); err != nil {
			t.Fatal(err)
		}
		in.Close()
	}
	for range 5 {
		open()
	}
	fds, threads := files(t)
	goroutines := runtime.NumGoroutine()
	for range 60 {
		open()
	}
	// Go may start a few threads of its own; 60 ports left open would be 60 of each.
	if f, n := files(t); f > fds+5 || n > threads+20 || runtime.NumGoroutine() > goroutines+5 {
		t.Errorf("open files %d, then %d; threads %d, then %d; goroutines %d, then %d", fds, f, threads, n, goroutines, runtime.NumGoroutine())
	}
}

// TestLiveJitter tells how well a steady stream is timed: the figure is for the reader, the test
// fails only on what no load of the machine explains. A server that waits in vain for a client that the
// machine has stopped goes on without what it had for it.
func TestLiveJitter(t *testing.T) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "Toy Piano")
	h := listen(t, "", ports.Options{})
	const n, gap = 200, 10 * time.Millisecond
	played := steady(n, gap)
	jacktest.Play(t, piano, played)
	var struck []capture.Message
	for _, m := range h.waitForNotes(t, len(played)*9/10) {
		if m.Status == 0x90 {
			struck = append(struck, m)
		}
	}
	var gaps []float64
	for i := 1; i < len(struck); i++ {
		if (struck[i].Data1-21)%88 == (struck[i-1].Data1-21+1)%88 {
			gaps = append(gaps, float64(struck[i].At-struck[i-1].At)/float64(time.Millisecond))
		}
	}
	mean, sd := spread(gaps)
	t.Logf("%d notes %v apart: intervals of %.3f ms, standard deviation %.3f ms", n, gap, mean, sd)
	if math.Abs(mean-10) > 1 {
		t.Errorf("the mean interval is %.3f ms, want 10", mean)
	}
}

// spread is the mean and the standard deviation (n-1).
func spread(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}
