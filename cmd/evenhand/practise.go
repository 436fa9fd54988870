package main

import (
	"context"
	"errors"
	"fmt"
	"io"
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
	fmt.Fprintln(h.show, "Practise as you like: scales and arpeggios are named and judged when you pause. Ctrl-C ends it.")
	rec, err := h.recordPractice(src)
	if err != nil {
		return err
	}
	p := &practice{h: h, rec: rec, out: out, write: write}
	over := p.follow(ctx, src)
	path, err := rec.Close()
	switch {
	case errors.Is(err, capture.ErrNoNotes):
		return errNothing
	case path == "":
		return err
	case err != nil:
		fmt.Fprintf(h.errw, "evenhand: %s\n", oneLine(err))
	}
	fmt.Fprintf(h.show, "\n%d passages named, %d notes besides. Kept as %s\n", p.named, p.other, path)
	return over
}

func (h *hearing) recordPractice(src *source) (*capture.Recorder, error) {
	return capture.Record(h.keep, capture.Take{
		Device: src.name, Started: time.Now().Add(-src.now()), Period: src.period,
		Facts: map[string]string{factVersion: version},
	}, func(err error) { fmt.Fprintf(h.errw, "evenhand: %s\n", oneLine(err)) })
}

// practice is free practice while it goes on.
type practice struct {
	h     *hearing
	rec   *capture.Recorder
	out   io.Writer
	write func(io.Writer, *scoring.Assessment) error

	told  int // notes dealt with
	last  time.Duration
	any   bool // a note has been played since
	named int
	other int
}

func (p *practice) follow(ctx context.Context, src *source) error {
	tick := time.NewTicker(look)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return p.phrase()
		case e := <-src.events:
			switch {
			case e.over:
				return errors.Join(e.err, p.phrase())
			case e.message == nil:
				p.h.connection(src, e)
			default:
				if err := p.add(*e.message); err != nil {
					return err
				}
			}
		case <-tick.C:
			if p.any && len(src.events) == 0 && src.now()-p.last > phraseSilence {
				if err := p.phrase(); err != nil {
					return err
				}
			}
		}
	}
}

func (p *practice) add(m capture.Message) error {
	began := m.Status&0xF0 == 0x90 && m.Data2 > 0
	if began && p.any && m.At-p.last > phraseSilence {
		if err := p.phrase(); err != nil {
			return err
		}
	}
	p.rec.Add(m)
	if began {
		p.last, p.any = m.At, true
	}
	return nil
}

// phrase names and judges what was played since the last phrase.
func (p *practice) phrase() error {
	p.any = false
	take := p.rec.Take()
	notes := take.Notes[p.told:]
	p.told = len(take.Notes)
	for _, passage := range align.Practice(notes, references.Catalogue()) {
		if passage.Request == nil {
			p.other += passage.Last - passage.First
			continue
		}
		p.named++
		part := *take
		part.Notes = notes[passage.First:passage.Last]
		part.Warnings = nil
		what := &asked{against: passage.Request.String(), request: *passage.Request, candidates: passage.Request.Candidates()}
		fmt.Fprintln(p.h.show)
		name := fmt.Sprintf("from %.1f s to %.1f s", part.Notes[0].On.Seconds(), part.End().Seconds())
		if err := p.write(p.out, what.judge(&part, name, p.h.settings)); err != nil {
			return err
		}
	}
	return nil
}
