package questions

import (
	"strings"
	"unicode"
)

// maxAnswer bounds what is read of an answer, in bytes: nobody's answer is longer.
const maxAnswer = 500

// signs are written as words.
var signs = strings.NewReplacer(
	"♯", " sharp ", "##", " double sharp ", "#", " sharp ", "♭", " flat ", "♮", " natural ", "𝄪", " double sharp ", "𝄫", " double flat ",
	"♩", " crotchet ", "♪", " quaver ", "½", " half ", "’", "", "'", "",
)

// american are the words of American usage by the British ones of the same meaning.
var american = strings.NewReplacer(
	" double whole ", " breve ", " whole note ", " semibreve ", " half note ", " minim ", " quarter note ", " crotchet ", " eighth note ", " quaver ",
	" sixteenth note ", " semiquaver ", " thirty second note ", " demisemiquaver ", " sixty fourth note ", " hemidemisemiquaver ",
	" whole rest ", " semibreve rest ", " half rest ", " minim rest ", " quarter rest ", " crotchet rest ", " eighth rest ", " quaver rest ",
	" sixteenth rest ", " semiquaver rest ", " thirty second rest ", " demisemiquaver rest ",
	" measure ", " bar ", " half step ", " semitone ", " whole step ", " tone ", " authentic cadence ", " perfect cadence ",
	" half cadence ", " imperfect cadence ", " deceptive cadence ", " interrupted cadence ", " octave sign ", " 8va ",
	" pick up ", " upbeat ", " pickup ", " upbeat ", " gotten ", " got ",
)

// small are the words of one meaning, by the one that stands for all.
var small = map[string]string{
	"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
	"ten": "10", "eleven": "11", "twelve": "12",
	"2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth", "6th": "sixth", "7th": "seventh", "8th": "eighth",
	"16th": "sixteenth", "32nd": "thirty second", "64th": "sixty fourth", "8ve": "octave",
	"maj": "major", "min": "minor", "aug": "augmented",
	"softer": "quieter", "soft": "quiet", "softly": "quietly", "quicker": "faster", "quick": "fast", "quickly": "fast",
	"slowly": "slow", "loudly": "loud", "quietly": "quiet",
}

// filler are words at the start of an answer that say nothing.
var filler = map[string]bool{
	"it": true, "its": true, "is": true, "means": true, "to": true, "play": true, "get": true, "gets": true, "getting": true, "becoming": true, "become": true,
	"becomes": true, "i": true, "think": true, "you": true, "there": true, "are": true,
}

// plain brings an answer to the form in which answers are compared.
func plain(answer string) string {
	if len(answer) > maxAnswer {
		answer = answer[:maxAnswer]
	}
	fields := strings.FieldsFunc(signs.Replace(strings.ToLower(answer)), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	var words []string
	for i, w := range fields {
		if w == "an" || w == "the" || w == "and" || w == "then" || w == "a" && isArticle(fields[i+1:]) {
			continue
		}
		words = append(words, word(w)...)
	}
	for len(words) > 1 && filler[words[0]] {
		words = words[1:]
	}
	s := american.Replace(" " + strings.Join(words, " ") + " ")
	return strings.TrimSpace(american.Replace(s))
}

// isArticle tells the article from the note A by what follows it.
func isArticle(next []string) bool {
	if len(next) == 0 || len(next[0]) == 1 {
		return false
	}
	switch next[0] {
	case "sharp", "flat", "natural", "double", "major", "minor", "and", "in", "clef":
		return false
	}
	return true
}

// word is one word in the form in which it is compared: a note with its accidental in two, a plural as
// its singular.
func word(w string) []string {
	if w[0] >= 'a' && w[0] <= 'g' {
		switch w[1:] {
		case "b":
			return []string{w[:1], "flat"}
		case "bb":
			return []string{w[:1], "double", "flat"}
		}
	}
	if s, ok := small[w]; ok {
		return strings.Fields(s)
	}
	for _, plural := range plurals {
		if w == plural {
			return []string{strings.TrimSuffix(w, "s")}
		}
	}
	return []string{w}
}

// plurals are the words whose singular is as good.
var plurals = []string{
	"crotchets", "quavers", "minims", "semiquavers", "semibreves", "demisemiquavers", "notes", "beats", "bars", "measures", "quarters", "rests",
	"sharps", "flats", "naturals", "octaves", "seconds", "thirds", "fourths", "fifths", "sixths", "sevenths", "times", "ties", "slurs",
}
