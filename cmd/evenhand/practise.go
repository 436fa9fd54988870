package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

// phraseSilence is how long nothing is played before what came before is looked at.
const phraseSilence = 2 * time.Second

// practise listens to free practice until the source or the program ends, and tells of each scale
// and arpeggio in it when a silence follows. The whole of it is kept as one take.
func practise(ctx context.Context, src *source, h *hearing, out io.Writer, write func(io.Writer, *scoring.Assessment) error) error {
	fmt.Fprint(h.show, "Practise as you like: scales and arpeggios are named and judged when you pause.\nCtrl-C ends it.\n")
	rec, err := h.record(src, 0)
	if err != nil {
		return err
	}
	p := &practice{h: h, rec: rec, tell: func(a *scoring.Assessment) error { return write(out, a) }}
	p.keep = func(part *capture.Take, a *scoring.Assessment) error {
		return h.journal.keep(ctx, part, "", a.Against, practised(part), a)
	}
	over := src.each(ctx, func(e event) error { return p.take(src, e) }, p.silent)
	if !readerGone(over) {
		over = errors.Join(over, p.phrase())
	}
	path, err := rec.Close()
	switch {
	case errors.Is(err, capture.ErrNoNotes) && ctx.Err() != nil:
		return errEnded
	case errors.Is(err, capture.ErrNoNotes):
		return errNothing
	case path == "":
		return err
	case err != nil:
		say(h.errw, err)
	}
	// The passages have their own time in the journal; this is the rest.
	whole := rec.Take()
	over = errors.Join(over, h.journal.keep(ctx, whole, path, "", max(0, practised(whole)-p.practised), nil))
	fmt.Fprintf(h.show, "\n%s, %s besides. Kept as %s\n", counted(p.named, "passage named", "passages named"), counted(p.other, "note", "notes"), plain(path))
	return over
}

// counted is "1 note" or "2 notes".
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// practice is free practice while it goes on.
type practice struct {
	h    *hearing
	rec  *capture.Recorder
	tell func(*scoring.Assessment) error
	keep func(*capture.Take, *scoring.Assessment) error

	told  int // notes dealt with
	last  time.Duration
	any   bool // a note has been played since
	named int
	other int

	practised time.Duration // of the passages
}

func (p *practice) take(src *source, e event) error {
	if e.message == nil {
		p.h.connection(src, e)
		return nil
	}
	began := strikes(e.message)
	if began {
		if err := p.pause(e.message.At); err != nil {
			return err
		}
	}
	p.rec.Add(*e.message)
	if began {
		p.last, p.any = e.message.At, true
	}
	return nil
}

func (p *practice) silent(now time.Duration) (bool, error) { return false, p.pause(now) }

// pause tells of what was played, where it ended longer ago than a pause.
func (p *practice) pause(now time.Duration) error {
	if p.any && now-p.last > phraseSilence {
		return p.phrase()
	}
	return nil
}

// phrase names and judges what was played since the last phrase.
func (p *practice) phrase() error {
	p.any = false
	take := p.rec.Take()
	notes := take.Notes[p.told:]
	for _, passage := range align.Practice(notes, references.Catalogue()) {
		if passage.Request == nil {
			p.other += passage.Last - passage.First
			continue
		}
		p.named++
		fmt.Fprintln(p.h.show)
		a, err := p.judge(take, p.told+passage.First, p.told+passage.Last, *passage.Request)
		if err != nil {
			say(p.h.errw, err)
		}
		if err := p.tell(a); err != nil {
			return err
		}
	}
	p.told = len(take.Notes)
	return nil
}

// judge assesses the notes [first, last) of the take as the request they were taken for, and keeps them
// in the journal as a take of their own. The error is of one that could not be kept.
func (p *practice) judge(take *capture.Take, first, last int, r references.Request) (*scoring.Assessment, error) {
	part := *take
	part.Notes, part.Warnings = take.Notes[first:last], nil
	path := strings.TrimSuffix(p.rec.Growing(), capture.GrowingEnding) + capture.TakeEnding
	a := newAsked(r).judge(&part, path, p.h.settings)
	err := p.keep(&part, a)
	p.practised += practised(&part)
	for i := range a.Notes {
		if n := a.Notes[i].Played; n != nil {
			n.Index += first
		}
	}
	return a, err
}
