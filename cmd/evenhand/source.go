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

// event is what a source tells: a message, a change of the connection in words, or, with over set,
// its end.
type event struct {
	message *capture.Message
	said    string
	period  time.Duration // where said is of a connection: the grain of its clock
	over    bool
	err     error // why it is over, nil where it simply ended
}

// source is something that can be listened to. Its times count from when it was opened.
type source struct {
	name   string
	events <-chan event
	now    func() time.Duration
	period time.Duration
	close  func()
}

// waiting is how many events a source holds for a listener that is busy: half a minute of the most
// that a MIDI cable can carry (1,041 three-byte messages a second).
const waiting = 32768

// openPiano listens to a MIDI input.
func openPiano(choice string) (*source, error) {
	start := time.Now()
	events := make(chan event, waiting)
	in, err := ports.Open(choice, func(m capture.Message) { events <- event{message: &m} }, ports.Options{
		Start: start,
		Changed: func(c ports.Change) {
			for _, m := range c.Left {
				events <- event{message: &m}
			}
			said := c.String()
			if c.Warning != "" {
				said += "; " + c.Warning
			}
			events <- event{said: said, period: c.Period}
		},
	})
	if err != nil {
		return nil, err
	}
	return &source{
		name: "piano", events: events,
		now:   func() time.Duration { return time.Since(start) },
		close: in.Close,
	}, nil
}

// openBytes listens to raw MIDI bytes from a file, a pipe or a device node; "-" is in.
func openBytes(ctx context.Context, path string, in io.Reader) (*source, error) {
	r, name := in, "standard input"
	closing := func() {}
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("no midi bytes from %s: %w; name a file, a pipe or a device node", path, cause(err))
		}
		if info, err := f.Stat(); err == nil && info.IsDir() {
			_ = f.Close()
			return nil, fmt.Errorf("no midi bytes from %s: it is a folder; name a file, a pipe or a device node", path)
		}
		r, name, closing = f, path, func() { _ = f.Close() }
	}
	start := time.Now()
	ctx, stop := context.WithCancel(ctx)
	events := make(chan event, waiting)
	go func() {
		err := capture.ReadBytes(ctx, r, time.Now, func(m capture.Message) { events <- event{message: &m} })
		events <- event{over: true, err: err}
	}()
	return &source{
		name: name, events: events,
		now:   func() time.Duration { return time.Since(start) },
		close: func() { stop(); closing() },
	}, nil
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
		err := pupil.Perform(ctx, take, until, func(m capture.Message) error {
			select {
			case events <- event{message: &m}:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
		select {
		case events <- event{over: true, err: err}:
		case <-ctx.Done():
		}
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
