package questions

import (
	_ "embed"
	"slices"
	"strings"
	"unicode"

	"evenhand/references"
)

// Entry is one term of the glossary.
type Entry struct {
	Term     string   `json:"term"`
	Also     []string `json:"also,omitempty"` // abbreviations and other forms
	Language string   `json:"language"`       // "Italian", "French", "German", "Latin"
	Class    string   `json:"class"`          // what it speaks of: "tempo", "speed", "loudness", "touch" and so on
	Group    string   `json:"-"`              // the terms of one group mean so much the same that none is a wrong answer for another
	Meaning  string   `json:"meaning"`
	Accepted []string `json:"accepted,omitempty"` // other wordings of the meaning
}

//go:embed terms.txt
var termsText string

// glossary is read once from terms.txt, whose first lines say how it is laid out.
var glossary = readTerms(termsText)

// readTerms reads a table of terms: lines of fields between bars.
func readTerms(text string) []Entry {
	var out []Entry
	class := ""
	for _, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "" || strings.HasPrefix(line, "#"):
			continue
		case strings.HasPrefix(line, "["):
			class = strings.Trim(line, "[]")
			continue
		}
		f := strings.Split(line, "|")
		for i := range f {
			f[i] = strings.TrimSpace(f[i])
		}
		f = append(f, "", "", "", "", "")
		e := Entry{Term: f[0], Also: list(f[1]), Language: languages[f[2]], Class: class, Group: f[3], Meaning: f[4], Accepted: list(f[5])}
		if e.Group == "" {
			e.Group = e.Term
		}
		out = append(out, e)
	}
	return out
}

var languages = map[string]string{"": "Italian", "F": "French", "G": "German", "L": "Latin"}

// list reads a field of several values.
func list(field string) []string {
	var out []string
	for _, v := range strings.Split(field, ";") {
		if v = strings.TrimSpace(v); v != "" {
			out = append(out, v)
		}
	}
	return out
}

// Glossary is all terms, by class and in the order of a teacher: the first ones first.
func Glossary() []Entry { return slices.Clone(glossary) }

// Look finds a term as it may stand in a score: "rit." for ritardando, "Allegro" for allegro. The second
// result is false for a word that the glossary does not have.
func Look(word string) (Entry, bool) {
	k := key(word)
	i, ok := index[k]
	if !ok {
		i, ok = index[strings.ReplaceAll(k, " ", "")]
	}
	if !ok {
		return Entry{}, false
	}
	return glossary[i], true
}

// index is the place in the glossary of each term and each other form, with and without spaces: D.C. and
// DC.
var index = func() map[string]int {
	m := map[string]int{}
	add := func(form string, i int) {
		for _, k := range []string{key(form), strings.ReplaceAll(key(form), " ", "")} {
			if _, taken := m[k]; !taken {
				m[k] = i
			}
		}
	}
	for i, e := range glossary {
		add(e.Term, i)
	}
	for i, e := range glossary {
		for _, a := range e.Also {
			add(a, i)
		}
	}
	return m
}()

// key is a term without case, points and accents.
func key(word string) string {
	return strings.Join(wordsOf(word), " ")
}

var unaccent = strings.NewReplacer("à", "a", "á", "a", "â", "a", "è", "e", "é", "e", "ê", "e", "ì", "i", "í", "i", "î", "i", "ò", "o", "ó", "o", "ô", "o", "ù", "u", "ú", "u", "û", "u", "ç", "c", "ä", "a", "ö", "o", "ü", "u", "ß", "ss")

func wordsOf(text string) []string {
	return strings.FieldsFunc(unaccent.Replace(strings.ToLower(text)), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// found is a term in a direction, as it is written there.
type found struct {
	text  string
	entry Entry
}

// inWords finds the terms in a direction: the whole of it, else the longest phrases in it; none where a
// word turns round the meaning of another (non, meno) and the two are no term together.
func inWords(text string) []found {
	if e, ok := Look(text); ok {
		return []found{{strings.TrimSpace(text), e}}
	}
	fields := strings.Fields(text)
	var out []found
	for i := 0; i < len(fields); {
		f, n := phrase(fields[i:])
		switch {
		case n < 2 && turning[key(fields[i])]:
			return nil
		case n > 0:
			out = append(out, f)
		}
		i += max(n, 1)
	}
	return out
}

// phrase is the longest term at the start of some words, and of how many it is.
func phrase(fields []string) (found, int) {
	for n := min(4, len(fields)); n > 0; n-- {
		text := strings.Join(fields[:n], " ")
		if e, ok := Look(text); ok {
			return found{strings.Trim(text, ",;:()[]"), e}, n
		}
	}
	return found{}, 0
}

// turning are the words that turn round the meaning of the one after them.
var turning = map[string]bool{
	"non": true, "meno": true, "senza": true, "quasi": true, "nicht": true, "ohne": true, "sans": true, "moins": true, "weniger": true, "piu": true,
	"plus": true, "mehr": true, "tempo": true, "in": true, "im": true,
}

// easy are the terms that come at the first levels.
var easy = map[string]bool{
	"slow": true, "walking": true, "fast": true, "moderate": true, "slower": true, "faster": true, "louder": true, "quieter": true, "a tempo": true,
	"smooth": true, "short": true, "da capo": true, "fine": true, "sweet": true, "singing": true, "lively": true, "very fast": true, "poco": true,
}

// level is the level from which a term is asked.
func (e Entry) level() int {
	switch {
	case easy[e.Group]:
		return 1
	case e.Language != "Italian":
		return 4
	}
	return 2
}

// confused are meanings that are often taken for those of a group, over and above the others of its
// class.
var confused = map[string][]string{
	"slower":             {"gradually quieter", "gradually faster", "at the same speed as before"},
	"faster":             {"gradually louder", "gradually slower", "at the same speed as before"},
	"louder":             {"gradually faster", "gradually quieter", "suddenly loud"},
	"quieter":            {"gradually slower", "gradually louder", "suddenly quiet"},
	"a tempo":            {"gradually slower", "in free time", "a little faster"},
	"first tempo":        {"gradually slower", "the first time only", "in free time"},
	"smooth":             {"short and detached", "slow", "very quiet"},
	"short":              {"smoothly joined", "fast", "with an accent"},
	"slow":               {"quiet", "fast", "gradually slower"},
	"fast":               {"loud", "slow", "gradually faster"},
	"lively":             {"slow", "sad", "smoothly joined"},
	"very fast":          {"very slow", "at a moderate speed", "very loud"},
	"walking":            {"as fast as possible", "very slow", "with spirit"},
	"moderate":           {"very slow", "very fast", "moderately loud"},
	"da capo":            {"play the ending again", "stop here", "gradually slower"},
	"fine":               {"play with a fine touch", "play from the beginning", "go on at once"},
	"slower and quieter": {"gradually louder", "gradually faster", "suddenly loud"},
}

// confusions are wrong meanings for a term, the likeliest first: those often taken for it, then others
// of its class.
func (e Entry) confusions() []string {
	out := slices.Clone(confused[e.Group])
	at := slices.IndexFunc(glossary, func(o Entry) bool { return o.Term == e.Term })
	var groups []string
	for d := 1; d < len(glossary) && len(groups) < 5; d++ {
		for _, i := range []int{at + d, at - d} {
			if i < 0 || i >= len(glossary) {
				continue
			}
			o := glossary[i]
			if o.Class == e.Class && o.Group != e.Group && !slices.Contains(groups, o.Group) && !near(o.Group, e.Group) {
				groups = append(groups, o.Group)
				out = append(out, o.Meaning)
			}
		}
	}
	return out
}

// near reports whether two groups are so near one another that neither is a wrong answer for the
// other.
func near(a, b string) bool {
	for _, set := range nearGroups {
		if slices.Contains(set, a) && slices.Contains(set, b) {
			return true
		}
	}
	return false
}

var nearGroups = [][]string{
	{"slow", "very slow", "broad", "rather slow", "solemn"},
	{"fast", "lively", "very fast", "rather fast"},
	{"moderate", "walking", "rather slow", "rather fast", "comfortable"},
	{"slower", "held back", "slower and quieter", "slower and louder", "less moved", "broadening"},
	{"faster", "more moved"},
	{"a tempo", "first tempo", "same beat", "strict"},
	{"quieter", "slower and quieter", "dying"},
	{"louder", "slower and louder"},
	{"sudden accent", "accented", "strong"},
	{"sweet", "tender", "graceful", "singing", "gentle", "expressive", "love", "calm"},
	{"fiery", "spirited", "lively", "agitated", "passionate", "energetic", "brilliant", "furious", "resolute", "vigorous"},
	{"majestic", "solemn", "noble", "grave", "pompous", "march"},
	{"sad", "mournful", "plaintive"},
	{"playful", "merry", "light", "humorous"},
	{"smooth", "singing"},
	{"short", "very short", "half detached", "plucked"},
	{"simple", "calm", "gentle"},
	{"held", "sustained", "emphasis"},
	{"free", "rubato", "recitative"},
	{"very", "rather", "more", "much"},
	{"poco", "less", "almost"},
	{"sustaining pedal", "with pedal"},
	{"without", "not"},
}

// Near is at most n terms that look most like a word, for one that the glossary does not have.
func Near(word string, n int) []string {
	var words []string
	for _, e := range glossary {
		words = append(words, e.Term)
	}
	return references.Nearest(key(word), words, n)
}
