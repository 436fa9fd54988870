package main

import (
	"fmt"
	"strings"

	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
)

// standing is where the exam is, for the page.
func (x *hall) standing() screen.Standing {
	s := x.sitting
	st := screen.Standing{List: s.Paper.List, Pupil: x.pupil, Phase: s.Phase, Pause: s.Pause, Latest: x.latest()}
	st.Began = x.lesson != nil && x.lesson.Begun() || x.unfollowed.rec != nil
	for i := range min(s.At+1, len(s.Parts)) {
		st.Parts = append(st.Parts, partName(s.Paper, i))
	}
	p := s.Part()
	if p == nil {
		st.Sheet = x.sheetLines()
		return st
	}
	st.Kind, st.Section = p.Kind, s.Paper.Sections[p.Section].Title
	x.askedHere(&st, p)
	return st
}

// partName is how a part is called: by its section, its place there and its first words.
func partName(paper *exam.Paper, i int) string {
	p := &paper.Parts[i]
	name := paper.Sections[p.Section].Title
	if sectionSize(paper, p.Section) > 1 {
		name += fmt.Sprintf(" %d", p.Number)
	}
	if words, _, _ := strings.Cut(p.Words, ", "); words != "" && len(words) < 30 {
		name += " (" + strings.TrimSuffix(words, ".") + ")"
	}
	return name
}

func sectionSize(paper *exam.Paper, section int) int {
	n := 0
	for i := range paper.Parts {
		if paper.Parts[i].Section == section {
			n++
		}
	}
	return n
}

// latest is the part that somebody speaks of: the one at hand once something of it was heard, or else the
// one before it.
func (x *hall) latest() int {
	s := x.sitting
	if s.Back != nil || s.Phase == exam.Alone || s.At < len(s.Parts) && len(s.Parts[s.At].Tries) > 0 {
		return s.At
	}
	return s.At - 1
}

// askedHere says what is asked at this place.
func (x *hall) askedHere(st *screen.Standing, p *exam.Part) {
	s := x.sitting
	part := x.parts[s.At]
	if n := sectionSize(s.Paper, p.Section); n > 1 {
		st.Round = fmt.Sprintf("%d of %d", p.Number, n)
	}
	switch s.Phase {
	case exam.Before:
		st.Words, st.Round = st.Section, ""
		st.More = introduction(s.Paper, p)
	case exam.Offered:
		st.Words = "Something else was played: " + x.lastHeard() + ". What is asked is: " + p.Words
		st.More = []string{"It may be played once more. The second try is marked, with a note of it."}
	case exam.Alone:
		st.Words = titleOf(p)
		if part.fault != "" {
			st.More = append(st.More, part.fault)
		}
		st.More = append(st.More, "This is for the teacher to hear and to mark: m marks it, space goes on.")
	case exam.Looking, exam.Playing:
		st.Words = titleOf(p)
		if p.Request != nil && p.Request.Tempo != "" {
			st.More = append(st.More, "At least "+p.Request.Tempo+".")
		}
		if p.Kind == exam.SightReading {
			st.Words, st.Music = "Play this at sight. Keep going, whatever happens.", part.asked.candidates[0]
			if file := x.printed(p.Reading, part.asked.candidates[0]); file != "" {
				st.More = append(st.More, "As it is printed, with its rhythm: "+file)
			}
		}
	case exam.Answering:
		x.answeringHere(st, p, part)
	}
}

// titleOf is what is called for.
func titleOf(p *exam.Part) string {
	switch {
	case p.Words != "":
		return p.Words
	case p.Score != nil:
		return p.Score.Title
	}
	return string(p.Kind)
}

// introduction is what an examiner says before a section.
func introduction(paper *exam.Paper, p *exam.Part) []string {
	n := sectionSize(paper, p.Section)
	var out []string
	switch p.Kind {
	case exam.Request:
		out = []string{"One request is asked. Play when you are ready."}
		if n > 1 {
			out = []string{fmt.Sprintf("%d requests are asked, one after another. Play each when you are ready.", n)}
		}
	case exam.Study:
		out = []string{counted(n, "study", "studies") + "."}
	case exam.Piece:
		out = []string{counted(n, "piece", "pieces") + "."}
		if n > 1 {
			out = []string{fmt.Sprintf("%d pieces, in your own order.", n)}
		}
	case exam.SightReading:
		out = []string{fmt.Sprintf("Music that is new to you. There are %d seconds to look at it first; you may try any of it.", p.Reading.Look)}
	case exam.Questions:
		out = []string{"Questions on " + titleOfScore(p) + ". Have the music before you. Answer by the figure of a choice, in your own words, or aloud."}
	case exam.Ear:
		out = []string{counted(n, "thing", "things") + " to hear and to answer. Each begins by itself."}
	}
	if p.Kind == exam.Request || p.Kind == exam.Study || p.Kind == exam.Piece {
		out = append(out, "You may begin again once if it goes wrong: it is noted, no more.")
	}
	return append(out, "When you are ready, go on.")
}

func titleOfScore(p *exam.Part) string {
	if p.Score != nil && p.Score.Title != "" {
		return p.Score.Title
	}
	return "the piece"
}

// lastHeard names what was played at the last try.
func (x *hall) lastHeard() string {
	if t := x.sitting.Parts[x.sitting.At].Last(x.sitting.Step); t != nil && t.Heard != nil {
		return t.Heard.Assessment.Heard.What
	}
	return "something"
}

// verdict is how the latest part went, in lines.
func (x *hall) verdict() []string {
	i := x.latest()
	if i < 0 || i >= len(x.sitting.Parts) {
		return []string{"Nothing has been heard yet."}
	}
	c := &x.sitting.Parts[i]
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", partName(x.sitting.Paper, i))
	if len(c.Tries) == 0 {
		fmt.Fprintln(&b, "Nothing was heard.")
	}
	for step := range x.sitting.Steps[i] {
		if t := c.Last(step); t != nil {
			tellTry(&b, t)
		}
	}
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// tellTry writes one take or answer out.
func tellTry(b *strings.Builder, t *exam.Try) {
	if a := t.Reply; a != nil {
		wrap(b, usualColumns, "", a.Asked)
		wrap(b, usualColumns, "  ", answerWords(a))
		for _, said := range a.Said {
			wrap(b, usualColumns, "  ", said)
		}
		return
	}
	a := t.Heard.Assessment
	for _, r := range a.Remarks {
		wrap(b, usualColumns, "- ", r)
	}
	if line := marksText(a.Marks); line != "" {
		fmt.Fprintf(b, "\n%s\n", line)
	}
}

func answerWords(a *exam.Reply) string {
	right := map[float64]string{1: "right", 0: "not right"}[a.Share]
	if right == "" {
		right = fmt.Sprintf("%.0f of 100", 100*a.Share)
	}
	text := right
	if a.Given != "" {
		text = a.Given + ": " + right
	}
	if a.Share < 1 && a.Wanted != "" {
		text += "; the answer is " + a.Wanted
	}
	return text
}
