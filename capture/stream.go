package capture

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
)

// ErrHalfMessage says that a stream ended within a message. What came before it is good.
var ErrHalfMessage = errors.New("the midi bytes end within a message; the note it was to be is left out")

// idlePeriod is how often a silent stream is looked at: often enough that keys are let go soon
// after SensingTimeout.
const idlePeriod = 100 * time.Millisecond

// ReadBytes reads raw MIDI bytes from r (a pipe, a device node, a file) and passes each message to
// emit as it comes, stamped with the time by now since ReadBytes was called. It returns nil when r
// ends, ErrHalfMessage where r ends within a message, ctx's error when that is done, or r's error.
//
// A reader that blocks cannot be interrupted: after ctx is done, r is read once more when something
// comes, and what comes is dropped; closing r ends that too. Nothing is emitted after the return.
func ReadBytes(ctx context.Context, r io.Reader, now func() time.Time, emit func(Message)) error {
	start := now()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	chunks := make(chan chunk)
	go readChunks(ctx, r, func() time.Duration { return now().Sub(start) }, chunks)

	tick := time.NewTicker(idlePeriod)
	defer tick.Stop()
	var p Bytes
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
			p.Idle(now().Sub(start), emit)
		case c := <-chunks:
			p.Write(c.at, c.data, emit)
			switch {
			case c.err == nil:
			case !errors.Is(c.err, io.EOF):
				return fmt.Errorf("the midi bytes stopped coming: %w", c.err)
			case p.Half():
				return ErrHalfMessage
			default:
				return nil
			}
		}
	}
}

type chunk struct {
	at   time.Duration
	data []byte
	err  error
}

// readChunks stamps bytes as soon as they are there, so that what is done with them costs no time.
func readChunks(ctx context.Context, r io.Reader, since func() time.Duration, out chan<- chunk) {
	for {
		buf := make([]byte, 256)
		n, err := r.Read(buf)
		select {
		case out <- chunk{since(), buf[:n], err}:
		case <-ctx.Done():
			return
		}
		if err != nil {
			return
		}
	}
}
