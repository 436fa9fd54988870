package main

import (
	"context"
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
	asked    *asked // nil in free practice
	settings scoring.Settings
	keep     string // folder for the take
	journal  *keeper
	count    *counter // nil where nothing is counted
	spoken   *spoken  // nil on a page
	show     io.Writer
	errw     io.Writer
}

// lead is the silence kept before the first note of a take.
const lead = 500 * time.Millisecond

// Why no take was heard.
var (
	errNothing = errors.New("no notes were heard: see what is plugged in with evenhand pianos")
	errEnded   = errors.New("ended before a note was played")
)

// hear listens to one try and returns the take and the file it is kept in. The take is on disk
// before hear returns, unless the disk failed: then there is an error with the take.
func (h *hearing) hear(ctx context.Context, src *source) (*capture.Take, string, error) {
	m, before, err := h.first(ctx, src)
	h.spoken.begin()
	h.count.begin()
	defer h.count.end()
	if err != nil {
		return nil, "", err
	}
	offset := capture.RoundTick(max(0, m.At-lead))
	rec, err := h.record(src, offset)
	if err != nil {
		return nil, "", err
	}
	for _, m := range before {
		m.At = 0
		rec.Add(m)
	}
	t := h.begin(rec, offset)
	t.add(m)
	over := h.follow(ctx, src, t)
	t.pencil.line()
	take := rec.Take()
	path, err := rec.Close()
	if over != nil {
		say(h.errw, over)
	}
	if path == "" {
		return take, rec.Growing(), err
	}
	if err != nil {
		say(h.errw, err)
	}
	return take, path, nil
}

// verdict judges a finished try and keeps both in the journal. The error is of a take that could not
// be kept.
func (h *hearing) verdict(ctx context.Context, take *capture.Take, path string) (*scoring.Assessment, error) {
	a := h.asked.judge(take, path, h.settings)
	return a, h.journal.keep(ctx, take, path, h.asked.against, practised(take), a)
}

// first waits for the first key. What pedals did before it is returned too.
func (h *hearing) first(ctx context.Context, src *source) (capture.Message, []capture.Message, error) {
	var pedals []capture.Message
	for {
		select {
		case <-ctx.Done():
			return capture.Message{}, nil, errEnded
		case e, more := <-src.events:
			switch {
			case !more:
				src.over = true
				return capture.Message{}, nil, errNothing
			case e.over != nil:
				return capture.Message{}, nil, fmt.Errorf("%w; %w", e.over, errNothing)
			case e.message == nil:
				h.connection(src, e)
			case strikes(e.message):
				return *e.message, pedals, nil
			case e.message.Status&0xF0 == 0xB0:
				pedals = append(pedals, *e.message)
			}
		}
	}
}

// strikes reports whether a message is that of a key going down.
func strikes(m *capture.Message) bool {
	return m.Status&0xF0 == 0x90 && m.Data2 > 0 && m.Status&0x0F != capture.Percussion
}

func (h *hearing) connection(src *source, e event) {
	src.connected(e)
	h.measured(src.name)
	h.count.connected(!e.gone)
	say(h.errw, errors.New(e.said))
}

// measured judges by what was learnt of the piano of this name. What cannot be read is said, and the
// piano judged as one that was never measured. It reports whether that changes anything.
func (h *hearing) measured(piano string) bool {
	c, err := calibrationOf(piano)
	if err != nil {
		say(h.errw, err)
	}
	changed := c != nil || h.settings.Calibration != nil
	h.settings.Calibration = c
	return changed
}

// record begins a take on disk, with what was asked and the settings it will be marked by. Its times
// count from offset on the clock of the source.
func (h *hearing) record(src *source, offset time.Duration) (*capture.Recorder, error) {
	kept, err := facts(h.asked, h.settings)
	if err != nil {
		return nil, err
	}
	return capture.Record(h.keep, capture.Take{
		Device: src.name, Started: time.Now().Add(offset - src.now()), Period: src.period, Facts: kept,
	}, func(err error) { say(h.errw, err) })
}

// try is a take that is being played.
type try struct {
	rec      *capture.Recorder
	follower *align.Follower
	pencil   *pencil
	offset   time.Duration
	down     int

	gone bool          // the piano is lost
	from time.Duration // when it was
	away time.Duration // how long it was, since the last note
}

func (h *hearing) begin(rec *capture.Recorder, offset time.Duration) *try {
	return &try{
		rec: rec, offset: offset, follower: align.NewFollower(h.asked.candidates),
		pencil: &pencil{w: h.show, asked: h.asked, columns: columnsOf(h.show)},
	}
}

// add takes the next message.
func (t *try) add(m capture.Message) {
	m.At -= t.offset
	for _, c := range t.rec.Add(m) {
		switch c.Kind {
		case capture.NoteBegan:
			t.down++
			t.away = 0
			n := t.rec.Note(c.Index)
			t.pencil.take(t.follower, c.Index, int(n.Key), t.follower.Note(n))
		case capture.NoteEnded:
			t.down--
		}
	}
}

// connected notes that the piano went away or came back.
func (t *try) connected(gone bool, now time.Duration) {
	switch {
	case gone && !t.gone:
		t.from = now
	case !gone && t.gone:
		t.away += now - t.from
	}
	t.gone = gone
}

// patience is how long a piano that is gone is waited for before the take is ended without it: long
// enough to find the cable and plug it in again.
const patience = time.Minute

// ended reports whether the player has come to an end by now. The time that the piano was away is no
// silence of the player's.
func (t *try) ended(now time.Duration) bool {
	if t.gone {
		return now-t.from > patience
	}
	return t.follower.Advance(now-t.offset-t.away, t.down)
}

// follow listens until the take is over: by itself, by a silence, or because the source or the
// program was ended. It returns why, where that is worth saying.
func (h *hearing) follow(ctx context.Context, src *source, t *try) error {
	return src.each(ctx, func(e event) error {
		if e.message == nil {
			t.pencil.line()
			h.connection(src, e)
			t.connected(e.gone, src.now())
			return nil
		}
		t.add(*e.message)
		return nil
	}, func(now time.Duration) (bool, error) { return t.ended(now), nil })
}
