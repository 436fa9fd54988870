package main

import (
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/references/repertoire"
	"evenhand/scoring"
)

// asked is what takes are judged against: a request in words, or a score.
type asked struct {
	against    string // for people and for JSON: the formal words, or the path of the score
	title      string // as it is called for
	request    *references.Request
	candidates []*references.Reference
}

// findAsked takes what was asked for as a request in words or as a score: by its path, or by its title
// in the folders or among the built-in ones. Words for a part of it may follow: "bars 9 to 16".
func findAsked(what string, scores []string) (*asked, error) {
	if isPath(what) {
		return openScore(what, scores)
	}
	a, err := findWhole(what, scores)
	if err == nil {
		return a, nil
	}
	whole, part := references.ParsePart(what)
	if whole == what {
		return nil, err
	}
	if a, err = findWhole(whole, scores); err != nil {
		return nil, err
	}
	return a.cut(part)
}

func findWhole(what string, scores []string) (*asked, error) {
	if isPath(what) {
		return openScore(what, scores)
	}
	r, err := references.Parse(what)
	if err == nil {
		if _, err := r.Reference(); err != nil {
			return nil, err
		}
		return newAsked(r), nil
	}
	a, other := openScore(what, scores)
	var none *repertoire.NotFound
	switch {
	case other == nil:
		return a, nil
	case errors.As(other, &none):
		return nil, fmt.Errorf("%w; and no score is called so", err)
	}
	return nil, other
}

// isPath reports whether what was asked for can only be a file.
func isPath(what string) bool {
	if strings.ContainsRune(what, filepath.Separator) && !strings.Contains(what, " ") {
		return true
	}
	switch strings.ToLower(filepath.Ext(what)) {
	case ".musicxml", ".mxl", ".xml", ".mid", ".midi":
		return true
	}
	info, err := os.Stat(what)
	return err == nil && !info.IsDir()
}

// unreadable makes an error about words a fault of the command line; a score that cannot be read is a
// fault of the score.
func unreadable(what string, err error) error {
	if isPath(what) {
		return err
	}
	return usageError{err}
}

func newAsked(r references.Request) *asked {
	return &asked{against: r.String(), title: r.Spoken(), request: &r, candidates: r.Candidates()}
}

func openScore(what string, scores []string) (*asked, error) {
	ref, path, err := repertoire.Open(what, scores...)
	if err != nil {
		return nil, err
	}
	if len(ref.Notes) == 0 {
		return nil, fmt.Errorf("%s: the score has no notes for a piano: name another", path)
	}
	return &asked{against: path, title: ref.Title, candidates: []*references.Reference{ref}}, nil
}

// neighbours are the likely misreadings of a request. A score has none.
func (a *asked) neighbours() iter.Seq[references.Entry] {
	if a.request == nil {
		return nil
	}
	return a.request.Neighbours()
}

// warnings are what was odd in a score and passed over.
func (a *asked) warnings() []string {
	var out []string
	for _, w := range a.candidates[0].Warnings {
		out = append(out, fmt.Sprintf("%s: %s", a.against, w))
	}
	return slices.Compact(out)
}

// judge aligns and assesses one finished take. It is the only way a take is marked: live, from a
// file, and in the demonstration.
func (a *asked) judge(take *capture.Take, name string, s scoring.Settings) *scoring.Assessment {
	_, assessment := a.judgeWhole(take, name, s)
	return assessment
}

// judgeWhole is judge, with the alignment that the assessment rests on.
func (a *asked) judgeWhole(take *capture.Take, name string, s scoring.Settings) (*align.Alignment, *scoring.Assessment) {
	alignment := a.align(take)
	return alignment, scoring.Assess(alignment, scoring.Asked{
		Take: name, Against: a.against, Request: a.request, Version: version,
	}, s)
}

// align lays a take against what was asked.
func (a *asked) align(take *capture.Take) *align.Alignment {
	return align.Best(a.candidates, a.neighbours(), take)
}

// addScores adds the option for the user's own scores.
func addScores(c *cobra.Command, scores *[]string) {
	c.Flags().StringArrayVar(scores, "scores", nil, "`folder` of your own scores\n(default $XDG_DATA_HOME/evenhand/scores)")
}

// dataFolder is the program's place in the folder that the XDG base directory specification gives to
// a user's data. A relative path there is to be passed over.
func dataFolder() (string, error) {
	data := os.Getenv("XDG_DATA_HOME")
	if !filepath.IsAbs(data) {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", err
		}
		data = filepath.Join(home, ".local", "share")
	}
	return filepath.Join(data, "evenhand"), nil
}

// scoreFolders are the folders asked for, or else the user's own.
func scoreFolders(asked []string) []string {
	if len(asked) > 0 {
		return asked
	}
	if data, err := dataFolder(); err == nil {
		return []string{filepath.Join(data, "scores")}
	}
	return nil
}
