package ports

import (
	"errors"
	"fmt"
	"sync"
	"time"

	"evenhand/capture"
)

// State is what became of the connection to a piano.
type State int8

// The states.
const (
	Connected  State = iota // for the first time
	Back                    // again, after a gap
	Gone                    // unplugged or switched off
	ServerGone              // the JACK server it was heard through has ended
)

// Change is a change of the connection.
type Change struct {
	At    time.Duration // on the clock of the messages
	State State
	Port  Port

	// Period is the grain of the times from here on, 0 where it is finer than a tick.
	Period time.Duration

	// Warning is a sentence about a period too long to judge evenness by, or empty.
	Warning string

	// Left, where the piano is gone, are the releases of the keys and pedals that were down, which it
	// can send no more. They have not been given as messages.
	Left []capture.Message
}

// String is the change in one sentence.
func (c Change) String() string {
	switch c.State {
	case Connected:
		return fmt.Sprintf("listening to %s", c.Port.Name)
	case Back:
		return fmt.Sprintf("%s is back", c.Port.Name)
	case Gone:
		return fmt.Sprintf("%s is gone: is it switched on and plugged in?", c.Port.Name)
	default:
		return fmt.Sprintf("the JACK server that %s was heard through has ended", c.Port.Name)
	}
}

// Options of [Open]. The zero value is ready for use.
type Options struct {
	// Changed is told of every change of the connection, in order with the messages and from the
	// same goroutine. It may be nil.
	Changed func(Change)

	// Start is when the times of the messages count from; zero is the call of Open.
	Start time.Time

	// Look is how often the list of ports is looked at; zero is half a second.
	Look time.Duration

	// Wait lets Open succeed where the choice is not there yet: it is connected when it comes.
	Wait bool
}

// In is an open input, which finds its piano again when it was unplugged.
type In struct {
	driver  driver
	choice  string
	message func(capture.Message)
	options Options
	stop    chan struct{}
	stopped chan struct{}
	once    sync.Once

	// The rest belongs to the goroutine of run.
	port   Port
	ever   bool   // a piano has been found
	source source // nil while there is none
	clock  stamper
	held   held
}

// Open listens to the input that choice names, as [Lists.Input] finds it, and gives message each
// note-on, note-off and controller change, one after the other, from a goroutine of its own, until
// Close. Other messages are left out.
func Open(choice string, message func(capture.Message), options Options) (*In, error) {
	d, err := newDriver()
	if err != nil {
		return nil, err
	}
	return openIn(d, choice, message, options)
}

func openIn(d driver, choice string, message func(capture.Message), options Options) (*In, error) {
	in := newIn(d, choice, message, options)
	if err := in.connect(in.now()); err != nil && (!options.Wait || !errors.Is(err, ErrNone)) {
		d.close()
		return nil, err
	}
	go in.run()
	return in, nil
}

func newIn(d driver, choice string, message func(capture.Message), options Options) *In {
	if options.Start.IsZero() {
		options.Start = time.Now()
	}
	if options.Look == 0 {
		options.Look = 500 * time.Millisecond
	}
	if options.Changed == nil {
		options.Changed = func(Change) {}
	}
	return &In{
		driver: d, choice: choice, message: message, options: options,
		stop: make(chan struct{}), stopped: make(chan struct{}),
	}
}

// Close gives out the messages that have come, then closes the input. It must not be called from
// message or Changed.
func (in *In) Close() {
	in.once.Do(func() { close(in.stop) })
	<-in.stopped
}

func (in *In) now() time.Duration { return time.Since(in.options.Start) }

func (in *In) run() {
	defer close(in.stopped)
	look := time.NewTicker(in.options.Look)
	defer look.Stop()
	for {
		var woken <-chan struct{}
		if in.source != nil {
			woken = in.source.woken()
		}
		select {
		case <-woken:
			in.drain()
		case <-look.C:
			in.look(in.now())
		case <-in.stop:
			if in.source != nil {
				in.drain()
				in.source.close()
			}
			in.driver.close()
			return
		}
	}
}

// drain gives out what has come.
func (in *In) drain() {
	for {
		m, ok := in.source.next()
		if !ok {
			return
		}
		at := in.clock.stamp(m.since, in.now()-m.age)
		if m, ok := parse(m.bytes, at); ok {
			in.held.note(m)
			in.message(m)
		}
	}
}

// parse reads a message, and leaves out what is no part of a take.
func parse(b [3]byte, at time.Duration) (capture.Message, bool) {
	if b[1] > 127 || b[2] > 127 {
		return capture.Message{}, false
	}
	switch b[0] & 0xF0 {
	case 0x80, 0x90, 0xB0:
		return capture.Message{At: at, Status: b[0], Data1: b[1], Data2: b[2]}, true
	}
	return capture.Message{}, false
}

// look sees whether the piano is still there, or there again.
func (in *In) look(now time.Duration) {
	switch {
	case in.source == nil:
		// That it is not there yet is no news.
		_ = in.connect(now)
	case !in.driver.alive(in.port.System):
		in.lose(ServerGone)
	case !in.source.linked():
		in.lose(Gone)
	}
}

// connect opens the piano: the same one as before where there was one.
func (in *In) connect(now time.Duration) error {
	lists := in.driver.list()
	p, err := in.find(lists)
	if err != nil {
		return err
	}
	source, err := in.driver.open(p)
	if err != nil {
		return err
	}
	c := Change{At: now, Port: p, Period: source.period(), Warning: warning(source.period())}
	if in.ever {
		c.State = Back
	}
	in.source, in.port, in.ever = source, p, true
	in.clock.begun = false
	in.options.Changed(c)
	return nil
}

// find is the port to open.
func (in *In) find(lists Lists) (Port, error) {
	if !in.ever {
		return lists.Input(in.choice)
	}
	var again []Port
	for _, p := range lists.In {
		if p.same(in.port) {
			again = append(again, p)
		}
	}
	for _, p := range again {
		if p.Address == in.port.Address {
			return p, nil
		}
	}
	if len(again) == 0 {
		return Port{}, lists.none("input")
	}
	return again[0], nil
}

// lose gives out what still came, closes the port and tells what was left sounding.
func (in *In) lose(s State) {
	in.drain()
	in.source.close()
	in.source = nil
	now := max(in.now(), in.clock.at)
	in.options.Changed(Change{At: now, State: s, Port: in.port, Left: in.held.release(now)})
}

// warning is a sentence about a process cycle too long to judge evenness by, or empty. A cycle of
// MaxFrames is longest, at the rates sound runs at, at 44.1 kHz.
func warning(period time.Duration) string {
	if period <= MaxFrames*time.Second/44100 {
		return ""
	}
	return fmt.Sprintf("JACK times the notes only every %.1f ms: for evenness start its server with %d frames or fewer (-p %d)",
		float64(period)/float64(time.Millisecond), MaxFrames, MaxFrames)
}
