package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/scoring"
)

// hearing is one try at a request, from the first key to the verdict.
type hearing struct {
	asked    *asked
	settings scoring.Settings
	keep     string // folder for the take
	show     io.Writer
	errw     io.Writer
}

// lead is the silence kept before the first note of a take.
const lead = 500 * time.Millisecond

// look is how often the end of a take is looked for.
const look = 50 * time.Millisecond

// errNothing is told where a source ended, or was ended, before a note was played.
var errNothing = errors.New("no notes were heard; see what is plugged in with evenhand pianos")

// hear listens to one try and returns the take and the file it is kept in. The take is on disk
// before hear returns.
func (h *hearing) hear(ctx context.Context, src *source) (*capture.Take, string, error) {
	e, before, err := h.first(ctx, src)
	if err != nil {
		return nil, "", err
	}
	offset := capture.RoundTick(max(0, e.message.At-lead))
	rec, err := h.record(src, offset)
	if err != nil {
		return nil, "", err
	}
	for _, m := range before {
		m.At = 0
		rec.Add(m)
	}
	t := &try{rec: rec, follower: align.NewFollower(h.asked.candidates), pencil: &pencil{w: h.show, asked: h.asked}, offset: offset}
	t.add(*e.message)
	over := h.follow(ctx, src, t)
	t.pencil.line()
	take := rec.Take()
	path, err := rec.Close()
	if err == nil && over != nil && !errors.Is(over, context.Canceled) {
		fmt.Fprintf(h.errw, "evenhand: %s\n", oneLine(over))
	}
	if path == "" {
		return nil, "", err
	}
	if err != nil {
		fmt.Fprintf(h.errw, "evenhand: %s\n", oneLine(err))
	}
	return take, path, nil
}

// first waits for the first key. What pedals did before it is returned too.
func (h *hearing) first(ctx context.Context, src *source) (event, []capture.Message, error) {
	var pedals []capture.Message
	for {
		select {
		case <-ctx.Done():
			return event{}, nil, errNothing
		case e := <-src.events:
			switch {
			case e.over:
				return event{}, nil, errors.Join(e.err, errNothing)
			case e.message == nil:
				h.connection(src, e)
			case e.message.Status&0xF0 == 0x90 && e.message.Data2 > 0 && e.message.Status&0x0F != capture.Percussion:
				return e, pedals, nil
			case e.message.Status&0xF0 == 0xB0:
				pedals = append(pedals, *e.message)
			}
		}
	}
}

func (h *hearing) connection(src *source, e event) {
	src.period = max(src.period, e.period)
	fmt.Fprintf(h.errw, "evenhand: %s\n", e.said)
}

// record begins the take on disk, with what was asked and the settings it will be marked by.
func (h *hearing) record(src *source, offset time.Duration) (*capture.Recorder, error) {
	settings, err := json.Marshal(h.settings)
	if err != nil {
		return nil, err
	}
	started := time.Now().Add(offset - src.now())
	return capture.Record(h.keep, capture.Take{
		Device: src.name, Started: started, Period: src.period,
		Facts: map[string]string{factRequest: h.asked.against, factSettings: string(settings), factVersion: version},
	}, func(err error) { fmt.Fprintf(h.errw, "evenhand: %s\n", oneLine(err)) })
}

// try is a take that is being played.
type try struct {
	rec      *capture.Recorder
	follower *align.Follower
	pencil   *pencil
	offset   time.Duration
	down     int
}

// add takes the next message.
func (t *try) add(m capture.Message) {
	m.At -= t.offset
	for _, c := range t.rec.Add(m) {
		switch c.Kind {
		case capture.NoteBegan:
			t.down++
			n := t.rec.Note(c.Index)
			t.pencil.take(t.follower, c.Index, int(n.Key), t.follower.Note(n))
		case capture.NoteEnded:
			t.down--
		}
	}
}

// follow listens until the take is over: by itself, by a silence, or because the source or the
// program was ended. It returns why, where that is worth saying.
func (h *hearing) follow(ctx context.Context, src *source, t *try) error {
	tick := time.NewTicker(look)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case e := <-src.events:
			switch {
			case e.over:
				return e.err
			case e.message == nil:
				t.pencil.line()
				h.connection(src, e)
			default:
				t.add(*e.message)
			}
		case <-tick.C:
			if len(src.events) == 0 && t.follower.Advance(src.now()-t.offset, t.down) {
				return nil
			}
		}
	}
}
