package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"evenhand/exam"
	"evenhand/exam/ear"
	"evenhand/exam/questions"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"
)

// examPart is what a part of a paper needs to be heard.
type examPart struct {
	asked  *asked    // what is played; nil where nothing is, or it cannot be heard
	listed bool      // it can be asked for again in practice
	item   *ear.Item // an ear test
	fault  string    // why it cannot be heard, in one line
}

// begin makes what a sitting begins with of a paper whose scores are open.
func begin(paper *exam.Paper) *exam.Start {
	start := &exam.Start{Paper: paper, Questions: map[int][]questions.Question{}}
	for i, p := range openParts(paper) {
		q := &paper.Parts[i]
		steps := 0
		switch {
		case q.Kind == exam.Questions && q.Score != nil:
			all := questions.Ask(q.Score.Reference, q.Questions.Level, q.Questions.Seed, q.Questions.Number)
			steps = len(all)
			if steps > 0 {
				start.Questions[i] = all
			}
		case p.asked != nil || p.item != nil:
			steps = 1
		}
		start.Steps = append(start.Steps, steps)
	}
	return start
}

// openParts makes the parts of a paper ready to be heard. Its scores are open, as far as they can be.
func openParts(paper *exam.Paper) []*examPart {
	var all []*examPart
	for i := range paper.Parts {
		all = append(all, openPart(&paper.Parts[i]))
	}
	return all
}

func openPart(q *exam.Part) *examPart {
	switch q.Kind {
	case exam.Request:
		return &examPart{asked: newAsked(q.Request.Request), listed: true}
	case exam.Study, exam.Piece:
		if q.Score == nil {
			return &examPart{}
		}
		if q.Score.Reference == nil || len(q.Score.Reference.Notes) == 0 {
			return &examPart{fault: fmt.Sprintf("%s cannot be opened, so it cannot be followed.", q.Score.Title)}
		}
		return &examPart{asked: asScore(q.Score.Path, q.Score.Reference), listed: true}
	case exam.SightReading:
		return &examPart{asked: asScore("music to be read at sight", exam.ReadAtSight(q.Reading.Level, q.Reading.Seed))}
	case exam.Ear:
		if item := ear.Draw(ear.Kind(q.Ear.Kind), q.Ear.Level, q.Ear.Seed); len(item.Hearings) > 0 {
			return &examPart{item: &item}
		}
		return &examPart{fault: fmt.Sprintf("no ear test is called %q.", q.Ear.Kind)}
	}
	return &examPart{}
}

func asScore(path string, ref *references.Reference) *asked {
	return &asked{against: path, title: ref.Title, candidates: []*references.Reference{ref}}
}

// openPaperScore opens the score of a paper that was kept, by its path.
func openPaperScore(scores []string) func(path string) (*references.Reference, error) {
	return func(path string) (*references.Reference, error) {
		ref, _, err := repertoire.Open(path, scoreFolders(scores)...)
		return ref, err
	}
}

// printed writes music that was made afresh as a score, to be printed or put on the stand, and returns its
// file. Where it cannot be written there is the page alone, and it is said.
func (x *hall) printed(q *exam.Fresh, ref *references.Reference) string {
	file := filepath.Join(x.h.keep, fmt.Sprintf("reading-%d-%d.musicxml", q.Level, q.Seed))
	if _, err := os.Stat(file); err == nil {
		return plain(file)
	}
	if err := writeWhole(file, func(w io.Writer) error { return musicxml.Write(w, ref) }); err != nil {
		x.say("the music cannot be written as a score: %v", cause(err))
		return ""
	}
	return plain(file)
}
