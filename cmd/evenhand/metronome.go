package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"sync"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/spf13/cobra"

	"evenhand/cmd/evenhand/screen"
	"evenhand/references"
)

// beatOptions say what is counted.
type beatOptions struct {
	countIn   bool
	metronome bool
	output    string
}

func addBeat(c *cobra.Command, o *beatOptions) {
	c.Flags().BoolVar(&o.countIn, "count-in", false, "count a bar before each try")
	c.Flags().BoolVar(&o.metronome, "metronome", false, "count on while it is played")
	c.Flags().StringVar(&o.output, "output", "", "the `output` that sounds the beat\n(default: that of the piano)")
}

// measure is how something is counted.
type measure struct {
	beat time.Duration
	bar  int // beats
	in   int // beats before the first note: a bar, and what of the next one an upbeat waits for
	keys [2]uint8
}

// measureOf counts in the tempo that is asked.
func measureOf(a *asked) (measure, error) {
	ref := a.candidates[0]
	if ref.Tempo.BPM <= 0 || ref.Tempo.Beat.Cmp(references.Quarters{}) <= 0 {
		return measure{}, usageError{errors.New("no tempo to count in: say one with --tempo, as in --tempo 60")}
	}
	beats := func(q references.Quarters) int { return int(math.Ceil(q.Float()/ref.Tempo.Beat.Float() - 1e-9)) }
	m := measure{beat: time.Duration(float64(time.Minute) / ref.Tempo.BPM), bar: max(1, beats(ref.BarLength))}
	m.in = m.bar
	if len(ref.Bars) > 0 {
		m.in += beats(ref.Bars[0].Skip)
	}
	m.keys = clicks(a.candidates)
	return m, nil
}

// clicks are two keys high up that are not asked for, for the first beat and the others. Chosen by us.
func clicks(candidates []*references.Reference) (keys [2]uint8) {
	const highest, lowest = 100, 76
	n := 0
	for key := uint8(highest); key > lowest && n < 2; key-- {
		used := false
		for _, ref := range candidates {
			for i := range ref.Notes {
				used = used || ref.Notes[i].Key()%12 == int(key)%12 && (ref.Request != nil || ref.Notes[i].Key() == int(key))
			}
		}
		if !used {
			keys[n] = key
			n++
		}
	}
	for ; n < 2; n++ {
		keys[n] = uint8(highest - n) // a chromatic scale has them all
	}
	return keys
}

// The sound of a beat, in key velocity. Chosen by us.
const (
	firstVelocity = 79
	otherVelocity = 53
	clickLength   = 60 * time.Millisecond
	// readAloud is how long what is asked can be read before it is counted.
	readAloud = 2 * time.Second
)

// counter counts beats, on the page and through the piano where it can sound. A nil counter counts
// nothing. Its methods are for one goroutine.
type counter struct {
	beatOptions
	open   func() (*player, error)
	say    func(error)
	echoes *echoes
	show   func(screen.Beat)

	asked   *asked  // to be counted once the piano is there; nil where nothing is
	player  *player // nil: the beat is only seen
	there   bool    // the piano
	measure measure
	stop    context.CancelFunc // nil where nothing is counted
	done    sync.WaitGroup
}

// newCounter is a counter for what is asked, or nil where nothing is to be counted.
func newCounter(h *hearing, src *source, o listenOptions) (*counter, error) {
	if !o.countIn && !o.metronome {
		return nil, nil
	}
	if _, err := measureOf(h.asked); err != nil {
		return nil, err
	}
	open := func() (*player, error) { return openPlayer(o.piano, o.output) }
	if !src.piano && o.output == "" {
		open = func() (*player, error) { return nil, errors.New("no piano is listened to") }
	}
	return &counter{beatOptions: o.beatOptions, open: open, echoes: &src.echoes, say: func(err error) { say(h.errw, err) }}, nil
}

// connected is told that the piano came or went.
func (c *counter) connected(there bool) {
	if c == nil || there == c.there {
		return
	}
	c.there = there
	c.end()
	if c.player != nil {
		c.player.close()
		c.player = nil
	}
	if !there {
		return
	}
	var err error
	if c.player, err = c.open(); err != nil {
		c.say(fmt.Errorf("the beat is only seen: %w", err))
	}
	c.ask(c.asked)
}

// ask begins to count for something that is asked, after the time to read it.
func (c *counter) ask(a *asked) {
	if c == nil {
		return
	}
	c.end()
	if c.asked = a; a == nil || !c.there {
		return
	}
	m, err := measureOf(a)
	if err != nil {
		return // the first that is asked has a tempo, another may have none
	}
	ctx, stop := context.WithCancel(context.Background())
	c.measure, c.stop = m, stop
	beats := m.in
	if c.metronome {
		beats = math.MaxInt
	}
	c.done.Add(1)
	go func() {
		defer c.done.Done()
		c.count(ctx, time.Now().Add(readAloud), beats)
	}()
}

// begin is told when the player begins: what is only counted in is counted no more.
func (c *counter) begin() {
	if c != nil {
		c.asked = nil
		if !c.metronome {
			c.end()
		}
	}
}

// end ends the counting. It returns when no more will sound.
func (c *counter) end() {
	if c != nil && c.stop != nil {
		c.stop()
		c.done.Wait()
		c.stop = nil
		c.show(screen.Beat{})
	}
}

// count counts so many beats from a moment on. Each is counted from the first, so that no lateness is
// carried on.
func (c *counter) count(ctx context.Context, from time.Time, beats int) {
	bar := c.measure.bar
	for n := range beats {
		if !wait(ctx, from.Add(time.Duration(n)*c.measure.beat)) {
			return
		}
		at := n % bar
		c.show(screen.Beat{N: at + 1, Of: bar})
		c.click(ctx, at == 0)
	}
	if wait(ctx, from.Add(time.Duration(beats)*c.measure.beat)) {
		c.show(screen.Beat{})
	}
}

// click sounds a beat.
func (c *counter) click(ctx context.Context, first bool) {
	if c.player == nil {
		return
	}
	key, velocity := c.measure.keys[1], uint8(otherVelocity)
	if first {
		key, velocity = c.measure.keys[0], firstVelocity
	}
	c.echoes.send(key, velocity, time.Now())
	// A piano that was unplugged is told of elsewhere; the beat is still seen.
	_ = c.player.out.Send(0x90, key, velocity)
	wait(ctx, time.Now().Add(min(clickLength, c.measure.beat/2)))
	_ = c.player.out.Send(0x80, key, 64)
}

// wait waits for a moment, unless ctx is done before.
func wait(ctx context.Context, until time.Time) bool {
	timer := time.NewTimer(time.Until(until))
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}

// close ends it all.
func (c *counter) close() {
	if c != nil {
		c.end()
		if c.player != nil {
			c.player.close()
		}
	}
}

// watch is show for what a lesson tells its page, with the beats of it.
func (c *counter) watch(now func() *asked, show func(tea.Msg)) func(tea.Msg) {
	if c == nil {
		return show
	}
	c.show = func(b screen.Beat) { show(b) }
	return func(msg tea.Msg) {
		switch msg := msg.(type) {
		case screen.Asked:
			c.ask(now())
		case screen.Began:
			c.begin()
		case screen.Over:
			c.end()
		case screen.Piano:
			c.connected(msg.There)
		}
		show(msg)
	}
}

// spoken writes the beats of a count in a line, and those of a metronome as long as nobody plays.
type spoken struct {
	mu    sync.Mutex
	w     io.Writer
	begun bool
	any   bool
}

func (s *spoken) show(b screen.Beat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.begun:
	case b.Of > 0:
		fmt.Fprintf(s.w, "  %d", b.N)
		s.any = true
	case s.any:
		fmt.Fprintln(s.w)
		s.any = false
	}
}

// again is told when the next is asked.
func (s *spoken) again() {
	if s != nil {
		s.mu.Lock()
		s.begun = false
		s.mu.Unlock()
	}
}

// begin ends the line before the first note is written.
func (s *spoken) begin() {
	if s != nil {
		s.show(screen.Beat{})
		s.mu.Lock()
		s.begun = true
		s.mu.Unlock()
	}
}
