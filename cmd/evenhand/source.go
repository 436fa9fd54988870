package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/capture/pupil"
)

// event is what a source tells: a message, a change of the connection in words, or why it is over.
type event struct {
	message *capture.Message
	said    string
	gone    bool          // where said is of a connection: it is lost, until another says that it is not
	period  time.Duration // the grain of its clock
	device  string        // the piano it is of
	over    error         // the fault it ended with
}

// source is something that can be listened to. Its times count from when it was opened. Its events
// are closed when it is over.
type source struct {
	name    string // of the piano, once it is known
	events  <-chan event
	now     func() time.Duration
	period  time.Duration
	close   func()
	notice  string // what there is to say of it before it is heard
	awaited bool   // it is a piano that may not be there yet
	over    bool   // nothing more will come
	piano   bool   // it is a MIDI input
	echoes  echoes // of what the program itself makes the piano sound
}

// look is how often a silence is looked for.
const look = 50 * time.Millisecond

// each passes events to take, and the time to silent whenever nothing waits to be taken, until one of
// them is in error, silent says that it is enough, or the source is over or ctx done; then what has
// come by that moment is taken still. The error is theirs or the source's.
func (s *source) each(ctx context.Context, take func(event) error, silent func(now time.Duration) (enough bool, err error)) error {
	tick := time.NewTicker(look)
	defer tick.Stop()
	done := ctx.Done()
	for {
		select {
		case <-done:
			if len(s.events) == 0 {
				return nil
			}
		case e, more := <-s.events:
			if !more || e.over != nil {
				s.over = true
				return e.over
			}
			if err := take(e); err != nil {
				return err
			}
		case <-tick.C:
			if len(s.events) > 0 {
				continue
			}
			if enough, err := silent(s.now()); enough || err != nil {
				return err
			}
		}
	}
}

// waiting is how many events a source holds for a listener that is busy: half a minute of the most
// that a MIDI cable can carry (1,041 three-byte messages a second).
const waiting = 32768

// connected takes in a change of the connection.
func (s *source) connected(e event) {
	s.period = max(s.period, e.period)
	if e.device != "" {
		s.name = e.device
	}
}

// openPiano listens to a MIDI input, with wait even where it is not there yet.
func openPiano(choice string, wait bool) (*source, error) {
	start := time.Now()
	events := make(chan event, waiting)
	s := &source{
		name: "piano", piano: true, events: events, awaited: wait,
		now: func() time.Duration { return time.Since(start) },
	}
	in, err := ports.Open(choice, func(m capture.Message) {
		if !s.echoes.is(m, time.Now()) {
			events <- event{message: &m}
		}
	}, ports.Options{
		Start: start,
		Wait:  wait,
		Changed: func(c ports.Change) {
			for _, m := range c.Left {
				events <- event{message: &m}
			}
			said := c.String()
			if c.Warning != "" {
				said += "; " + c.Warning
			}
			events <- event{said: said, device: c.Port.Name, period: c.Period, gone: c.State == ports.Gone || c.State == ports.ServerGone}
		},
	})
	if err != nil {
		return nil, err
	}
	s.close = in.Close
	return s, nil
}

// openBytes listens to raw MIDI bytes from a file, a pipe or a device node; "-" is in.
func openBytes(ctx context.Context, path string, in io.Reader) (*source, error) {
	s := &source{name: "standard input"}
	r, closing := in, func() {}
	if path != "-" {
		f, err := openFile(ctx, path)
		if err != nil {
			return nil, err
		}
		s.name = path
		r, closing = f, func() { _ = f.Close() }
	}
	if f, ok := r.(*os.File); ok && isFile(f) {
		s.notice = fmt.Sprintf("%s is a file of bytes without times: its notes come all at once, so only the notes tell anything", s.name)
	}
	start := time.Now()
	ctx, stop := context.WithCancel(ctx)
	events := make(chan event, waiting)
	go func() {
		defer close(events)
		send := func(e event) {
			select {
			case events <- e:
			case <-ctx.Done():
			}
		}
		err := capture.ReadBytes(ctx, r, time.Now, func(m capture.Message) { send(event{message: &m}) })
		if err != nil && ctx.Err() == nil {
			send(event{over: err})
		}
	}()
	s.events = events
	s.now = func() time.Duration { return time.Since(start) }
	s.close = func() { stop(); closing() }
	return s, nil
}

// openFile opens a file, a pipe or a device node. A named pipe opens when something writes to it: ctx
// ends the wait.
func openFile(ctx context.Context, path string) (*os.File, error) {
	fault := func(err error) error {
		return fmt.Errorf("no MIDI bytes from %s: %w; name a file, a pipe or a device node", path, err)
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, fault(cause(err))
	case info.IsDir():
		return nil, fault(errors.New("it is a folder"))
	}
	type opened struct {
		f   *os.File
		err error
	}
	done := make(chan opened, 1)
	go func() {
		f, err := os.Open(path)
		done <- opened{f, err}
	}()
	select {
	case o := <-done:
		if o.err != nil {
			return nil, fault(cause(o.err))
		}
		return o.f, nil
	case <-ctx.Done():
		return nil, errEnded
	}
}

// isFile reports whether f is a plain file, which has all its bytes at once.
func isFile(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode().IsRegular()
}

// openTake plays a take: in real time, or all at once.
func openTake(ctx context.Context, take *capture.Take, name string, realTime bool) *source {
	ctx, stop := context.WithCancel(ctx)
	events := make(chan event, waiting)
	until := func(ctx context.Context, _ time.Duration) error { return ctx.Err() }
	if realTime {
		until = pupil.RealTime()
	}
	start := time.Now()
	go func() {
		defer close(events)
		// It fails only where ctx is done, which the listener knows.
		_ = pupil.Perform(ctx, take, until, func(m capture.Message) error {
			select {
			case events <- event{message: &m}:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
	}()
	return &source{
		name: name, events: events, period: take.Period, close: stop,
		now: func() time.Duration { return time.Since(start) },
	}
}

// cause leaves out what the operating system's errors say again.
func cause(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
