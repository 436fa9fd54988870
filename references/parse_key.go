package references

import (
	"errors"
	"regexp"
	"slices"
	"strings"
)

// keyMention is a letter that may name a key.
type keyMention struct {
	mention
	name  Name
	claim claim
	of    bool // "in the key of": of a dominant seventh, not its first note
	upper bool // written as a capital
}

// claim is how surely a letter names a key. The surest is the key; of the others f is forte and a an
// article, and any other is a contradiction.
type claim int8

const (
	loneLetter    claim = iota + 1 // f or a by itself
	articleOrMode                  // "a minor scale" may be any minor scale
	inF                            // "in f" may be loud
	letter                         // any other letter by itself
	namedKey                       // with an accidental, a mode or "key of"
)

// letterWord is a letter with what may be written on to it: an accidental, a mode, a seventh.
var letterWord = regexp.MustCompile(`^([a-gA-G])(##|bb|#|b|x|-?sharp|-?flat)?(m|M|min|maj|minor|major|7|dim7|o7|°7)?$`)

var alterOf = map[string]int8{"": 0, "##": 2, "x": 2, "#": 1, "sharp": 1, "b": -1, "flat": -1, "bb": -2}

// readKey reads the name of a key or of a first note.
func (rd *reader) readKey() (bool, error) {
	t := rd.tokens[rd.at]
	part := letterWord.FindStringSubmatch(t.text)
	if part == nil {
		part = letterWord.FindStringSubmatch(t.word)
	}
	if part == nil || rd.isPhrase() {
		return false, nil
	}
	step := strings.ToUpper(part[1])
	k := keyMention{name: Name{stepOf(step[0]), alterOf[part[2]]}, upper: part[1] == step}
	start := rd.at
	n := 1
	if part[2] == "" && part[3] == "" {
		alter, more := rd.accidental()
		k.name.Alter, n = alter, n+more
	}
	certain := part[2] != "" || part[3] != "" || n > 1
	if err := rd.take(n, meaning{}); err != nil {
		return true, err
	}
	var words []string
	for _, t := range rd.tokens[start:rd.at] {
		words = append(words, t.text)
	}
	k.mention = mention{words: strings.Join(words, " "), clause: t.clause, at: start}
	mode := rd.modeFollows()
	k.claim = rd.claimOf(start, strings.ToLower(step), certain, mode, k.upper)
	k.of = rd.before(start, "of", "in", "key")
	if rd.before(start, "on", "from", "starting", "starts", "beginning", "begins") && !mode {
		rd.starts = append(rd.starts, k)
	} else {
		rd.keys = append(rd.keys, k)
	}
	return true, rd.suffix(part[3], k.mention)
}

// accidental reads the accidental in words that follows a letter: its value and number of words.
func (rd *reader) accidental() (alter int8, words int) {
	double := int8(1)
	if rd.word(1) == "double" {
		double, words = 2, 1
	}
	switch rd.word(words + 1) {
	case "sharp", "#":
		return double, words + 1
	case "flat":
		return -double, words + 1
	case "natural":
		// "B natural" is the note, "B natural minor" the form.
		if next := rd.word(2); next != "minor" && next != "min" && rd.said[slotMode].value != float64(Minor) {
			return 0, 1
		}
	}
	return 0, 0
}

// modeFollows reports whether a mode or a form of one comes next.
func (rd *reader) modeFollows() bool {
	switch rd.word(0) {
	case "major", "minor", "maj", "min", "harmonic", "melodic", "natural", "harm", "mel", "raised", "mixed":
		return true
	}
	return false
}

func (rd *reader) claimOf(at int, step string, certain, mode, upper bool) claim {
	doubtful := step == "a" || step == "f"
	named := rd.before(at, "in", "of", "on", "from")
	switch {
	case certain || rd.before(at, "key") || at > 1 && rd.before(at, "of") && rd.before(at-1, "key"):
		return namedKey
	case mode && (step != "a" || upper):
		return namedKey
	case mode:
		return articleOrMode
	case !doubtful || step == "a" && named:
		return letter
	case named:
		return inF
	}
	return loneLetter
}

// before reports whether the word before token at is one of those given.
func (rd *reader) before(at int, words ...string) bool {
	if at == 0 {
		return false
	}
	for _, w := range words {
		if rd.tokens[at-1].word == w {
			return true
		}
	}
	return false
}

// suffix notes what is written on to a letter: "Bbm", "G7".
func (rd *reader) suffix(s string, say mention) error {
	switch s {
	case "":
		return nil
	case "m", "min", "minor":
		say.meaning = meaning{slotMode, float64(Minor)}
	case "7":
		say.meaning = meaning{slotSpecial, float64(DominantSeventh)}
	case "dim7", "o7", "°7":
		say.meaning = meaning{slotSpecial, float64(DiminishedSeventh)}
	default:
		say.meaning = meaning{slotMode, float64(Major)}
	}
	return rd.set(say)
}

var errNoKey = errors.New(`no key is named: say for example "D major scale"`)

// key settles which letter is the key.
func (rd *reader) key() (keyMention, error) {
	sure := func(k keyMention) bool { return k.claim > inF }
	if !slices.ContainsFunc(rd.keys, sure) {
		// "Chromatic scale on D, f": the first note is the key.
		for _, k := range rd.starts {
			k.claim = max(k.claim, letter)
			rd.keys = append(rd.keys, k)
		}
		rd.starts = nil
	}
	var best keyMention
	for _, k := range rd.keys {
		// Of two lone letters alike a capital is the key, else the first.
		if k.claim > best.claim || k.claim == best.claim && k.claim == loneLetter && k.upper && !best.upper {
			best = k
		}
	}
	for _, k := range rd.keys {
		if k.of && k.claim == namedKey && rd.said[slotSpecial].value == float64(DominantSeventh) {
			best = k // "G dominant seventh in the key of C"
		}
	}
	dominant := Pitch{best.name, 4}.Up(4, 7).Name
	for _, k := range rd.keys {
		forte := k.name == Name{F, 0} && k.claim <= inF
		switch {
		case k.at == best.at:
		case forte && k.claim <= best.claim:
			k.meaning = meaning{slotDynamic, float64(Forte)}
			rd.hands = append(rd.hands, k.mention)
		case k.name == best.name:
		case best.of && k.name == dominant && rd.said[slotSpecial].value == float64(DominantSeventh):
		case k.name == Name{A, 0} && k.claim <= articleOrMode:
		default:
			return best, contradiction(best.words, k.words)
		}
	}
	if best.claim == 0 {
		return best, errNoKey
	}
	return best, nil
}
