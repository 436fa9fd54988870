package main

import (
	"fmt"
	"iter"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

// The facts kept with a take.
const (
	factRequest  = "request"
	factSettings = "settings"
	factVersion  = "version"
)

// asked is what takes are judged against.
type asked struct {
	against    string // for people and for JSON
	request    references.Request
	candidates []*references.Reference
}

// parseAsked reads a request in words.
func parseAsked(words string) (*asked, error) {
	r, err := references.Parse(words)
	if err != nil {
		return nil, err
	}
	if _, err := r.Reference(); err != nil {
		return nil, err
	}
	return &asked{against: r.String(), request: r, candidates: r.Candidates()}, nil
}

func (a *asked) neighbours() iter.Seq[references.Entry] { return a.request.Neighbours() }

// judge aligns and assesses one finished take. It is the only way a take is marked: live, from a
// file, and in the demonstration.
func (a *asked) judge(take *capture.Take, name string, s scoring.Settings) *scoring.Assessment {
	alignment := align.Best(a.candidates, a.neighbours(), take)
	return scoring.Assess(alignment, scoring.Asked{
		Take: name, Against: a.against, Request: &a.request, Version: version,
	}, s)
}

// settingsFor are the settings of a level named on the command line.
func settingsFor(level string) (scoring.Settings, error) {
	switch l := scoring.Level(level); l {
	case scoring.First, scoring.Middle, scoring.Top:
		return scoring.ForLevel(l), nil
	}
	return scoring.Settings{}, usageError{fmt.Errorf("no level %q: choose first, middle or top", level)}
}
