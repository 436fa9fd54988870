package ear

import (
	"slices"
	"strings"
	"unicode"
)

// part is one part of an answer that is worth half of the mark by itself.
type part struct {
	right string
	all   []string // what could be said in its place, the right one among them
}

// Right reports whether an answer in words is right: the full answer or an accepted wording of it, in
// any order of its words, in upper or lower case, with numbers in figures or words. It is false where the
// pupil is to tap or play.
func (it Item) Right(answer string) bool {
	said := tokens(answer)
	if len(said) == 0 || it.Answer == "" {
		return false
	}
	return slices.ContainsFunc(append([]string{it.Answer}, it.Accepted...), func(a string) bool {
		return slices.Equal(said, tokens(a))
	})
}

// JudgeAnswer marks an answer in words: all for the right one, half where one of its two parts is right.
func (it Item) JudgeAnswer(answer string) Verdict {
	full, half, none := 100, 50, 0
	if strings.TrimSpace(answer) == "" {
		return Verdict{Mark: &none, Reason: "No answer was given; it was " + it.Answer + ".", Losses: answerLoss(100, "No answer was given.")}
	}
	if it.Right(answer) {
		return Verdict{Mark: &full, Reason: "Right: " + it.Answer + "."}
	}
	var right []string
	for _, p := range it.parts {
		if p.in(tokens(answer)) {
			right = append(right, p.right)
		}
	}
	if len(right) == 1 {
		reason := "Half right: " + right[0] + " is right; it was " + it.Answer + "."
		return Verdict{Mark: &half, Reason: reason, Losses: answerLoss(50, reason)}
	}
	reason := "It was " + it.Answer + "."
	return Verdict{Mark: &none, Reason: reason, Losses: answerLoss(100, reason)}
}

// answerLoss is what a wrong answer loses; half for one of two parts is our choice.
func answerLoss(points float64, text string) []Loss {
	return []Loss{{Points: points, Text: text, Measured: points / 100, Unit: "share of the answer that is wrong", Source: "half of the mark for each part; chosen by us"}}
}

// in says whether a part was said, and nothing else in its place.
func (p part) in(said []string) bool {
	has := func(words string) bool {
		for _, w := range tokens(words) {
			if !slices.Contains(said, w) {
				return false
			}
		}
		return true
	}
	if !has(p.right) {
		return false
	}
	for _, other := range p.all {
		if other != p.right && has(other) {
			return false
		}
	}
	return true
}

// same are words that mean the same in an answer; those that map to nothing do not matter.
var same = map[string]string{
	"measure": "bar", "bars": "bar", "notes": "pitch", "note": "pitch", "pitches": "pitch", "timing": "rhythm",
	"maj": "major", "min": "minor", "dim": "diminished", "aug": "augmented", "dom": "dominant",
	"one": "1", "first": "1", "1st": "1", "two": "2", "second": "2", "2nd": "2", "three": "3", "third": "3", "3rd": "3",
	"four": "4", "fourth": "4", "4th": "4", "five": "5", "fifth": "5", "5th": "5", "six": "6", "sixth": "6", "6th": "6",
	"seven": "7", "seventh": "7", "7th": "7", "eight": "8", "eighth": "8", "8th": "8", "octave": "8", "8ve": "8",
	"a": "", "an": "", "the": "", "in": "", "of": "", "to": "", "it": "", "is": "", "was": "", "its": "", "and": "",
	"change": "", "changed": "", "chord": "", "triad": "", "interval": "", "cadence": "", "close": "", "position": "",
	"key": "", "number": "", "no": "",
}

// tokens are the words of an answer that matter, sorted.
func tokens(s string) []string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	var out []string
	for _, w := range words {
		if to, ok := same[w]; ok {
			w = to
		}
		if w != "" {
			out = append(out, w)
		}
	}
	slices.Sort(out)
	return out
}
