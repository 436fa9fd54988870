package references

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// maxWords bounds the length of a request, in bytes.
const maxWords = 1000

// Parse reads a request in words: "B flat major scale, hands together, contrary motion, two octaves,
// legato, piano". Upper and lower case, commas, the order of the words and the usual abbreviations
// and signs (Bb, B♭, RH, LH, HT, 2 oct, mf, ♩ = 72) do not matter. What is unsaid is hands together,
// similar motion, two octaves, legato, with no set tempo or dynamic; a key with no mode is major.
//
// A letter is a key before sharp, flat, major or minor, or where no other key is named; else f is
// forte and a is an article. "In thirds" asks for double notes, "a third apart" for the distance of
// the hands. A dominant seventh "in the key of C" begins on G, one "on C" on C.
//
// An error is one line: an unknown word with the nearest known ones, two words that contradict each
// other, no key, or something that cannot be played (see Request.Check).
func Parse(words string) (Request, error) {
	if len(words) > maxWords {
		return Request{}, fmt.Errorf("the request is %d bytes long: say it in at most %d", len(words), maxWords)
	}
	if n := belowZero.FindString(words); n != "" {
		return Request{}, fmt.Errorf("the number %q is below zero: leave out the minus", strings.TrimLeft(n, " ,\t\n"))
	}
	rd := reader{tokens: tokens(strings.ToValidUTF8(words, "\uFFFD")), lexicon: lexiconOf()}
	if len(rd.tokens) == 0 {
		return Request{}, errors.New(`the request is empty: say for example "D major scale, hands together"`)
	}
	for rd.at < len(rd.tokens) {
		if err := rd.next(); err != nil {
			return Request{}, err
		}
	}
	r, err := rd.resolve()
	if err != nil {
		return Request{}, err
	}
	if err := r.Check(); err != nil {
		return Request{}, err
	}
	return r, nil
}

// belowZero finds a minus before a number; a dash between words and numbers is only a space.
var belowZero = regexp.MustCompile(`(?:^|[\s,])[-−]\d+`)

// reader goes through the tokens of a request and notes what is said.
type reader struct {
	*lexicon
	tokens []token
	at     int

	said   [slotCount]mention
	hands  []mention // hands, touches and dynamics in the order said
	keys   []keyMention
	starts []keyMention // notes named after "on"
}

// mention is something said: a slot, its value, and the words for it. No words: not said.
type mention struct {
	meaning
	words  string
	clause int // commas before it
	at     int // tokens before it
}

// next reads the words at hand.
func (rd *reader) next() error {
	for _, read := range []func() (bool, error){rd.readNumber, rd.readBeat, rd.readKey, rd.readPhrase, rd.readHands} {
		if ok, err := read(); ok || err != nil {
			return err
		}
	}
	return rd.unknown()
}

// word is the word n places on, or "".
func (rd *reader) word(n int) string {
	if i := rd.at + n; i >= 0 && i < len(rd.tokens) {
		return rd.tokens[i].word
	}
	return ""
}

// take notes that the next n words mean m, and goes on.
func (rd *reader) take(n int, m meaning) error {
	var words []string
	for _, t := range rd.tokens[rd.at : rd.at+n] {
		words = append(words, t.text)
	}
	say := mention{m, strings.Join(words, " "), rd.tokens[rd.at].clause, rd.at}
	rd.at += n
	switch m.slot {
	case slotFiller:
		return nil
	case slotHand, slotTouch, slotDynamic:
		rd.hands = append(rd.hands, say)
		return nil
	}
	return rd.set(say)
}

// set notes a mention, or names the two that contradict each other.
func (rd *reader) set(say mention) error {
	before := &rd.said[say.slot]
	if before.words != "" && before.value != say.value {
		return contradiction(before.words, say.words)
	}
	*before = say
	return nil
}

func contradiction(a, b string) error {
	return fmt.Errorf("%q and %q contradict each other: say one of them", a, b)
}

// readPhrase reads the longest phrase of the vocabulary that begins here.
func (rd *reader) readPhrase() (bool, error) {
	for n := min(rd.longest, len(rd.tokens)-rd.at); n > 0; n-- {
		if m, ok := rd.phrases[rd.phrase(n)]; ok {
			return true, rd.take(n, m)
		}
	}
	return false, nil
}

// readHands passes over the word "hands" before what says how they go, as in "hands a third apart" and
// "hands in contrary motion".
func (rd *reader) readHands() (bool, error) {
	if rd.word(0) != "hands" {
		return false, nil
	}
	for skip := 1; skip <= 2; skip++ {
		for n := min(rd.longest, len(rd.tokens)-rd.at-skip); n > 0; n-- {
			later := reader{lexicon: rd.lexicon, tokens: rd.tokens, at: rd.at + skip}
			if m, ok := rd.phrases[later.phrase(n)]; ok && (m.slot == slotApart || m.slot == slotMotion) {
				rd.at++
				return true, nil
			}
		}
		if w := rd.word(skip); w != "in" && w != "moving" {
			break
		}
	}
	return false, nil
}

func (rd *reader) phrase(n int) string {
	if n == 1 {
		return rd.tokens[rd.at].word
	}
	words := make([]string, n)
	for i := range words {
		words[i] = rd.tokens[rd.at+i].word
	}
	return strings.Join(words, " ")
}

// number reads the word n places on as a number, in figures or in letters.
func (rd *reader) number(n int) (float64, bool) {
	w := rd.word(n)
	if v, ok := numberWords[w]; ok {
		return v, true
	}
	if w == "" || w[0] < '0' || w[0] > '9' {
		return 0, false
	}
	v, err := strconv.ParseFloat(w, 64)
	return v, err == nil
}

// numberPhrases are what may follow a number, the longer first.
var numberPhrases = []struct {
	slot  slot
	words string
}{
	{slotTempo, "beats per minute|beats a minute|beats in a minute|bpm"},
	{slotNotesPerBeat, "notes to the beat|notes to a beat|notes per beat|notes a beat|notes each beat|note to the beat|note per beat|" +
		"to the beat|per beat|to a beat"},
	{slotOctaves, "octaves|octave|octs|oct|8ves|8ve"},
}

// readNumber reads "2 octaves", "72 bpm", "4 notes to the beat", "tempo 72".
func (rd *reader) readNumber() (bool, error) {
	switch rd.word(0) {
	case "tempo", "metronome", "mm", "at", "speed":
		if v, ok := rd.number(1); ok && rd.follows(2, slotTempo) == 0 && rd.follows(2, slotOctaves) == 0 {
			return true, rd.take(2, meaning{slotTempo, v})
		}
		return false, nil
	}
	v, ok := rd.number(0)
	if !ok || rd.isPhrase() {
		return false, nil
	}
	for _, p := range numberPhrases {
		if n := rd.follows(1, p.slot); n > 0 {
			return true, rd.take(n+1, meaning{p.slot, v})
		}
	}
	return true, fmt.Errorf("the number %q stands alone: say what it counts, as in 2 octaves, crotchet = 72 or 4 notes to the beat", rd.tokens[rd.at].text)
}

// isPhrase reports whether a phrase with a number in it, such as "two octaves apart", begins here.
func (rd *reader) isPhrase() bool {
	for n := min(rd.longest, len(rd.tokens)-rd.at); n > 1; n-- {
		if _, ok := rd.phrases[rd.phrase(n)]; ok {
			return true
		}
	}
	return false
}

// follows is how many words of a number phrase of the slot stand n places on.
func (rd *reader) follows(n int, s slot) int {
	for _, p := range numberPhrases {
		if p.slot != s {
			continue
		}
	phrases:
		for _, phrase := range strings.Split(p.words, "|") {
			words := strings.Fields(phrase)
			for i, w := range words {
				if rd.word(n+i) != w {
					continue phrases
				}
			}
			return len(words)
		}
	}
	return 0
}

// readBeat reads a metronome mark, "dotted crotchet = 72", or the note values asked for, "in quavers".
func (rd *reader) readBeat() (bool, error) {
	n := 0
	dotted := rd.word(n) == "dotted"
	if dotted {
		n++
	}
	name := rd.word(n)
	value, ok := noteNames[name]
	if !ok {
		value, ok = noteNames[strings.TrimSuffix(name, "s")]
	}
	if !ok || name == "whole" && strings.HasPrefix(rd.word(n+1), "tone") {
		return rd.readTriplets()
	}
	n++
	if w := rd.word(n); w == "note" || w == "notes" {
		n++
	}
	if dotted {
		value = value.Times(3, 2)
	}
	mark := n
	if w := rd.word(n); w == "=" || w == "equals" || w == "at" || w == "is" {
		n++
	}
	if bpm, ok := rd.number(n); ok {
		if err := rd.take(mark, meaning{slotBeat, value.Float()}); err != nil {
			return true, err
		}
		return true, rd.take(n-mark+1, meaning{slotTempo, bpm})
	}
	if n > mark || !strings.HasSuffix(rd.word(mark-1), "s") {
		return false, nil
	}
	return true, rd.take(mark, meaning{slotNoteLength, value.Float()})
}

func (rd *reader) readTriplets() (bool, error) {
	if rd.word(0) == "triplets" {
		return true, rd.take(1, meaning{slotNotesPerBeat, 3})
	}
	return false, nil
}

var dynamicLetters = regexp.MustCompile(`^[mpf]{2,}$`)

// unknown says that a word is not understood, and which ones are near.
func (rd *reader) unknown() error {
	t := rd.tokens[rd.at]
	if example := rd.example[t.word]; example != "" {
		n := 1
		if rd.word(n) == "=" {
			n++
		}
		if rd.word(n) != "" && !rd.knows(n) {
			rd.at += n // the word before waits for one that is not understood
			return rd.unknown()
		}
		return fmt.Errorf("%q is not understood here: say for example %q", t.text, example)
	}
	if dynamicLetters.MatchString(t.word) {
		return fmt.Errorf("%q is no dynamic: say ppp, pp, p, mp, mf, f, ff or fff", t.text)
	}
	return fmt.Errorf("unknown word %q: did you mean %s?", clipped(t.text), quoted(Nearest(t.word, rd.words, 3)))
}

// knows reports whether the word n places on is one of the vocabulary, a number, or might name a key.
func (rd *reader) knows(n int) bool {
	w := rd.word(n)
	_, number := rd.number(n)
	_, found := slices.BinarySearch(rd.words, w)
	return number || found || len([]rune(w)) <= 2
}

// clipped keeps a very long word from filling the screen.
func clipped(word string) string {
	const longest = 30
	if r := []rune(word); len(r) > longest {
		return string(r[:longest]) + "…"
	}
	return word
}

// quoted lists words: "a", "b" or "c".
func quoted(words []string) string {
	var b strings.Builder
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			b.WriteString(" or ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(strconv.Quote(w))
	}
	return b.String()
}
