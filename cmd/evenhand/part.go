package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"evenhand/references"
)

// partOptions say which part of the music is meant, as options of the command line.
type partOptions struct {
	bars  string
	hand  string
	tempo float64
}

func addPart(c *cobra.Command, o *partOptions) {
	c.Flags().StringVar(&o.bars, "bars", "", "only these `bars` of a piece: 9-16, 9 or 9-")
	c.Flags().StringVar(&o.hand, "hand", "", "only this `hand`: left or right")
	addTempo(c, o)
}

func addTempo(c *cobra.Command, o *partOptions) {
	c.Flags().Float64Var(&o.tempo, "tempo", 0, "at so many `beats` a minute")
}

// part is the part that is meant; the zero value is all of the music.
func (o *partOptions) part() (p references.Part, err error) {
	var ok bool
	if o.bars != "" {
		if p.First, p.Last, ok = references.BarsNamed(o.bars); !ok {
			return p, usageError{fmt.Errorf("no bars %q: say --bars 9-16, or 9 for one alone", o.bars)}
		}
	}
	if o.hand != "" {
		if p.Hand, ok = references.HandNamed(o.hand); !ok {
			return p, usageError{fmt.Errorf("no hand %q: choose left or right", o.hand)}
		}
	}
	if o.tempo < 0 {
		return p, usageError{fmt.Errorf("no tempo of %g beats a minute: give --tempo a number such as 60", o.tempo)}
	}
	p.BPM = o.tempo
	return p, nil
}

// findPart is a part of what [findAsked] finds.
func findPart(what string, scores []string, p references.Part) (*asked, error) {
	a, err := findAsked(what, scores)
	if err != nil {
		return nil, err
	}
	if a, err = a.cut(p); err != nil {
		return nil, usageError{err}
	}
	return a, nil
}

// cut is the part of what is asked for. It is in the words it is kept by, so that a take is marked
// against the same part on any day.
func (a *asked) cut(p references.Part) (*asked, error) {
	if p == (references.Part{}) {
		return a, nil
	}
	if a.request != nil {
		r, err := a.request.Part(p)
		if err != nil {
			return nil, err
		}
		return newAsked(r), nil
	}
	ref, err := a.candidates[0].Part(p)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", a.against, err)
	}
	ref.Title = a.title + ", " + p.String()
	return &asked{against: a.against + ", " + p.String(), title: ref.Title, candidates: []*references.Reference{ref}}, nil
}
