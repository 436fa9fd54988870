package main

import (
	"slices"
	"strings"

	"evenhand/align"
	"evenhand/references"
	"evenhand/scoring"
)

// anew stands before the note with which the player began again, and stop before one that was waited
// for.
const (
	anew = "again:"
	stop = "|"
)

// passingBy are the words to show as each note of a judged take sounds: its name as the pencil marks
// it, after the names of those left out before it, and a thin stroke where the playing stopped.
func passingBy(a *align.Alignment, s *scoring.Assessment) [][]string {
	words := make([][]string, len(a.Take.Notes))
	var before []string
	again := false
	for _, p := range a.Pairs {
		shift := shiftOf(a, p.Expected)
		if p.Played < 0 {
			before = append(before, "^"+name(a.Reference, p.Expected, shift))
			continue
		}
		key := int(a.Take.Notes[p.Played].Key)
		word := mark(a.Reference, p, key, shift)
		switch {
		case p.Why == align.Again || p.Why == align.Unheard:
			// What was given up, or hardly sounded, is not marked.
			word = strings.Trim(word, "/")
		case again:
			before = append([]string{anew}, before...)
		}
		again = p.Why == align.Again
		if p.Expected >= 0 && waitedFor(a.Reference, s, p.Expected) {
			before = append(before, stop)
		}
		words[p.Played] = append(before, word)
		before = nil
	}
	// What was left out at the end is shown with the last note.
	if n := len(words) - 1; n >= 0 && len(before) > 0 {
		words[n] = append(words[n], before...)
	}
	return words
}

// shiftOf is how much higher than written expected note i was played, in semitones.
func shiftOf(a *align.Alignment, i int) int {
	if i >= 0 && a.Reference.Notes[i].Hand == references.Left {
		return a.LeftShift
	}
	return a.RightShift
}

// waitedFor reports whether the playing stopped before expected note i, the first of its onset.
func waitedFor(ref *references.Reference, s *scoring.Assessment, i int) bool {
	onset := ref.Notes[i].Onset
	if i > 0 && ref.Notes[i-1].Onset == onset {
		return false
	}
	return slices.ContainsFunc(s.Flow.Hesitations, func(h scoring.Hesitation) bool { return h.Onset == onset.Float() })
}
