package scoring

import (
	"fmt"
	"strconv"
	"strings"

	"evenhand/references"
)

var numberWords = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

var ordinals = [...]string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh"}

// number gives small numbers as words.
func number(n int) string {
	if n >= 0 && n < len(numberWords) {
		return numberWords[n]
	}
	return strconv.Itoa(n)
}

// times gives "once", "twice", "three times".
func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return number(n) + " times"
}

// capital makes the first letter a capital.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// list joins words with commas and a last "and".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// some joins at most three details with semicolons and counts the rest.
func some(details []string) string {
	const most = 3
	if len(details) <= most {
		return strings.Join(details, "; ")
	}
	return strings.Join(details[:most], "; ") + fmt.Sprintf("; and %s more", number(len(details)-most))
}

// handWords gives "right hand", "both hands", "".
func handWords(h references.Hand) string {
	switch h {
	case references.Right, references.Left:
		return h.String() + " hand"
	case references.Both:
		return "both hands"
	}
	return ""
}

// handTitle names a hand's part at the start of a sentence.
func handTitle(h references.Hand) string {
	if w := handWords(h); w != "" {
		return capital(w)
	}
	return "The notes"
}

// wayWords gives "going up", "going down", "".
func wayWords(d references.Direction) string {
	if d == references.NoDirection {
		return ""
	}
	return "going " + d.String()
}

// pitch is expected note i after the octave shift of its hand.
func (p *performance) pitch(i int) references.Pitch {
	q := p.Reference.Notes[i].Pitch
	q.Octave += int8((p.Key(i) - q.Key()) / 12)
	return q
}

// noteWords is the name of expected note i: "E flat".
func (p *performance) noteWords(i int) string { return p.Reference.Notes[i].Pitch.Words() }

// spell names a key that was struck where expected note i should have been: as the key of the music
// has it, else by the same letter, else by the sharps or flats of the key signature.
func (p *performance) spell(key, i int) references.Name {
	class := ((key % 12) + 12) % 12
	want := p.Reference.Notes[i].Pitch.Name
	if want.PitchClass() == class {
		return want
	}
	notes := p.Reference.Notes
	for k := range notes {
		if n := notes[k].Pitch.Name; n.PitchClass() == class && n.Step != want.Step {
			return n
		}
	}
	for _, alter := range []int8{0, 1, -1} {
		if n := (references.Name{Step: want.Step, Alter: alter}); n.PitchClass() == class {
			return n
		}
	}
	alters := []int8{0, 1}
	if p.Reference.Fifths < 0 {
		alters[1] = -1
	}
	for _, alter := range alters {
		for s := references.C; s <= references.B; s++ {
			if n := (references.Name{Step: s, Alter: alter}); n.PitchClass() == class {
				return n
			}
		}
	}
	return want
}

// struck names a struck key in words beside the note that was expected: "E natural" beside "E flat".
func (p *performance) struck(key, i int) string {
	want, got := p.Reference.Notes[i].Pitch.Name, p.spell(key, i)
	switch {
	case got == want && key != p.Key(i):
		return got.Words() + " in another octave"
	case got.Step == want.Step && got.Alter == 0 && want.Alter != 0:
		return got.Words() + " natural"
	}
	return got.Words()
}

// where tells the place of expected note i in words: of a request hand, way and octave ("left hand,
// going down, second octave"), of a score bar and beat.
func (p *performance) where(i int) string {
	n := &p.Reference.Notes[i]
	var words []string
	if p.Reference.Request == nil && n.Bar != "" {
		words = append(words, fmt.Sprintf("bar %s, beat %s", n.Bar, strconv.FormatFloat(tenths(n.Beat), 'f', -1, 64)))
	}
	for _, w := range []string{handWords(n.Hand), wayWords(n.Direction), p.octaveWords(i)} {
		if w != "" {
			words = append(words, w)
		}
	}
	if len(words) == 0 {
		return fmt.Sprintf("note %d", i+1)
	}
	return strings.Join(words, ", ")
}

// octaveWords tells which octave a note of a scale lies in, counted the way the hand is going; it is
// empty where the hand goes no further than one.
func (p *performance) octaveWords(i int) string {
	n := &p.Reference.Notes[i]
	if n.Direction == references.NoDirection {
		return ""
	}
	h := n.Hand
	if h == references.Both {
		h = references.Right
	}
	l := p.hand(h)
	if l == nil {
		return ""
	}
	key := func(k int) int { return p.Key(l.steps[k].notes[0]) }
	low, high, at := key(0), key(0), 0
	for k := range l.steps {
		low, high = min(low, key(k)), max(high, key(k))
		if l.steps[k].event == p.event[i] {
			at = k
		}
	}
	start := at
	for start > 0 && l.steps[start].direction == l.steps[at].direction {
		start--
	}
	far := max(p.Key(i)-key(start), key(start)-p.Key(i))
	octave := (max(far, 1)-1)/12 + 1
	if high-low <= 12 || octave >= len(ordinals) {
		return ""
	}
	return ordinals[octave] + " octave"
}
