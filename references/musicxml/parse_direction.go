package musicxml

import (
	"fmt"
	"strconv"
	"strings"

	"evenhand/references"
)

// direction reads one <direction>: its signs take the place of the cursor, moved by <offset>.
func (s *state) direction(e *element) {
	g := sign{at: s.at, part: s.index, line: e.line}
	if st, ok := whole(e.textOf("staff")); ok && st > 0 && st <= maxStaves {
		g.staff = st - 1
	}
	g.above, g.below = e.attr("placement") == "above", e.attr("placement") == "below"
	if off := strings.TrimSpace(e.textOf("offset")); off != "" {
		d, _ := s.length(strings.TrimPrefix(off, "-"))
		if strings.HasPrefix(off, "-") {
			d = references.Quarters{}.Sub(d)
		}
		if g.at = tame(g.at.Add(d)); g.at.Less(references.Quarters{}) {
			g.at = references.Quarters{}
		}
	}
	sound := e.child("sound")
	var words []string
	dashes := ""
	for dt := e.first; dt != nil; dt = dt.next {
		if dt.name != "direction-type" {
			continue
		}
		for c := dt.first; c != nil; c = c.next {
			if c.name == "words" {
				words = append(words, c.text)
				continue
			}
			if c.name == "dashes" && c.attr("type") == "start" {
				dashes = c.attr("number") + "dashes"
			}
			s.directionType(c, g, sound)
			s.printDirection(c, g)
		}
	}
	g.words, g.number = tidy(strings.Join(words, " ")), dashes
	if g.words != "" {
		s.direct("words", g.words, g)
	}
	if sound != nil {
		s.sound(sound, &g)
	}
	s.wordsAndTempo(e, g)
}

// directionType reads one child of <direction-type> but <words>.
func (s *state) directionType(c *element, g sign, sound *element) {
	g.line = c.line
	g.number = c.attr("number")
	switch c.name {
	case "dynamics":
		s.dynamics(c, g)
	case "wedge":
		s.wedge(c, g)
	case "dashes":
		if c.attr("type") == "stop" {
			g.kind, g.number = signDashesEnd, g.number+"dashes"
			s.add(g)
		}
	case "pedal":
		s.pedal(c, g)
	case "segno":
		s.bar.nav.Segno = true
	case "coda":
		if sound == nil || sound.attr("coda") == "" && sound.attr("tocoda") == "" {
			s.bar.codas = append(s.bar.codas, g.at)
		}
	}
}

func (s *state) wedge(c *element, g sign) {
	g.niente = c.attr("niente") == "yes"
	switch c.attr("type") {
	case "crescendo":
		g.kind, g.mark = signHairpin, references.Crescendo
	case "diminuendo":
		g.kind, g.mark = signHairpin, references.Diminuendo
	case "stop":
		g.kind = signHairEnd
	default:
		return
	}
	s.add(g)
}

func (s *state) pedal(c *element, g sign) {
	switch c.attr("type") {
	case "start", "resume":
		g.kind = signPedalDown
	case "stop", "discontinue":
		g.kind = signPedalUp
	case "change":
		g.kind = signPedalChange
	default:
		return
	}
	s.add(g)
}

// levels are the children of <dynamics>: what holds from the sign on, whether the note at the sign
// is struck harder, and what holds after it.
var levels = map[string]struct {
	level  references.Dynamic
	accent bool
	after  references.Dynamic
}{
	"pppppp": {level: references.Pianississimo}, "ppppp": {level: references.Pianississimo},
	"pppp": {level: references.Pianississimo}, "ppp": {level: references.Pianississimo},
	"pp": {level: references.Pianissimo}, "p": {level: references.Piano}, "mp": {level: references.MezzoPiano},
	"mf": {level: references.MezzoForte}, "f": {level: references.Forte}, "ff": {level: references.Fortissimo},
	"fff": {level: references.Fortississimo}, "ffff": {level: references.Fortississimo},
	"fffff": {level: references.Fortississimo}, "ffffff": {level: references.Fortississimo},
	"n":  {level: references.Pianississimo},
	"sf": {accent: true}, "sfz": {accent: true}, "sffz": {accent: true}, "fz": {accent: true}, "rf": {accent: true}, "rfz": {accent: true},
	"sfp": {accent: true, after: references.Piano}, "sfpp": {accent: true, after: references.Pianissimo},
	"sfzp": {accent: true, after: references.Piano},
	"fp":   {level: references.Forte, after: references.Piano}, "pf": {level: references.Piano, after: references.Forte},
}

// dynamics reads <dynamics>.
func (s *state) dynamics(e *element, g sign) {
	g.line = e.line
	for c := e.first; c != nil; c = c.next {
		name := c.name
		if name == "other-dynamics" {
			name = c.text
		}
		s.level(name, g)
	}
}

// level adds the signs that one dynamic stands for, and reports whether it is known.
func (s *state) level(name string, g sign) bool {
	l, ok := levels[name]
	if l.accent {
		g.kind = signAccent
		s.add(g)
	}
	g.kind = signDynamic
	if l.level != references.NoDynamic {
		g.dynamic = l.level
		s.add(g)
	}
	if l.after != references.NoDynamic {
		g.dynamic, g.after = l.after, true
		s.add(g)
	}
	return ok
}

// wordsAndTempo reads the words and the tempo of a direction together: "Allegro" with a figure is
// one tempo mark, "rit." with a figure is a ritardando whose figure is a suggestion.
func (s *state) wordsAndTempo(e *element, g sign) {
	known := g.words == "" || s.words(g)
	t, printed := s.metronome(e)
	if sound := e.child("sound"); sound != nil && t.BPM == 0 {
		t = soundTempo(sound)
	}
	switch {
	case t.BPM > 0 && !known:
		g.printed = printed || strings.Contains(g.words, "=")
	case t.BPM > 0:
		g.words, g.printed = "", printed
	case known || !isTempoWord(g.words):
		return
	}
	g.kind, g.tempo = signTempo, t
	s.add(g)
}

// soundTempo is the tempo of a <sound>, in quarter notes a minute.
func soundTempo(e *element) references.Tempo {
	bpm, err := strconv.ParseFloat(strings.TrimSpace(e.attr("tempo")), 64)
	if err != nil || !(bpm > 0 && bpm < 2000) {
		return references.Tempo{}
	}
	return references.Tempo{BPM: bpm, Beat: references.Q(1, 1)}
}

// metronome reads <metronome> where it gives a note value and a figure. Of "60-72" and "c. 60" the
// first number counts. The second result is whether it is printed.
func (s *state) metronome(e *element) (references.Tempo, bool) {
	for dt := e.first; dt != nil; dt = dt.next {
		m := dt.child("metronome")
		if dt.name != "direction-type" || m == nil {
			continue
		}
		unit, ok := typeNames[m.textOf("beat-unit")]
		bpm := firstNumber(m.textOf("per-minute"))
		if !ok || !(bpm > 0 && bpm < 2000) {
			s.warn(m.line, "a metronome mark without a note value and a figure was passed over")
			continue
		}
		beat := references.Q(unit[0], unit[1])
		if m.has("beat-unit-dot") {
			beat = beat.Times(3, 2)
		}
		return references.Tempo{BPM: bpm, Beat: beat}, m.attr("print-object") != "no"
	}
	return references.Tempo{}, false
}

// firstNumber is the first number in a text, 0 where there is none.
func firstNumber(text string) float64 {
	i := strings.IndexAny(text, "0123456789")
	if i < 0 {
		return 0
	}
	end := i
	for end < len(text) && (text[end] == '.' || text[end] >= '0' && text[end] <= '9') {
		end++
	}
	f, _ := strconv.ParseFloat(strings.TrimSuffix(text[i:end], "."), 64)
	return f
}

// sound reads what a <sound> says of the way through the score, of pedal and of swing; g is the
// place. Tempo is read with the words beside it, and here where the element stands alone.
func (s *state) sound(e *element, g *sign) {
	nav := &s.bar.nav
	if e.attr("dacapo") == "yes" {
		nav.Back = references.DaCapo
	}
	if v := e.attr("dalsegno"); v != "" {
		nav.Back, s.bar.toSegno = references.DalSegno, v
	}
	if v := e.attr("segno"); v != "" {
		nav.Segno, s.bar.segno = true, v
	}
	if e.attr("coda") != "" {
		nav.Coda = true
	}
	if e.attr("tocoda") != "" {
		s.toCoda(g.at)
	}
	if v := e.attr("fine"); v != "" && v != "no" {
		nav.Fine = true
	}
	if e.has("swing") && !e.child("swing").has("straight") {
		w := *g
		w.kind = signSwing
		s.add(w)
	}
	if g.staff < 0 {
		if t := soundTempo(e); t.BPM > 0 {
			w := *g
			w.kind, w.tempo = signTempo, t
			s.add(w)
		}
	}
}

// toCoda sets the place where a jump to the coda leaves: the end of this bar, or, where it stands
// at the start of a bar, the end of the one before.
func (s *state) toCoda(at references.Quarters) {
	if n := len(s.part.bars); at == (references.Quarters{}) && n > 1 {
		s.part.bars[n-2].nav.ToCoda = true
		return
	}
	s.bar.nav.ToCoda = true
}

// barline reads <barline>.
func (s *state) barline(e *element) {
	left := e.attr("location") == "left"
	nav := &s.bar.nav
	for c := e.first; c != nil; c = c.next {
		switch c.name {
		case "repeat":
			s.repeat(c)
		case "ending":
			s.ending(c)
		case "segno":
			nav.Segno = true
		case "coda":
			s.bar.codas = append(s.bar.codas, s.at)
		case "fermata":
			if !left {
				s.add(sign{kind: signFermata, at: s.bar.length, to: s.bar.length, staff: -1, line: c.line})
			}
		case "bar-style":
			if !left {
				nav.Double = nav.Double || c.text == "light-light" || c.text == "heavy-heavy"
				nav.Final = nav.Final || c.text == "light-heavy"
			}
		}
	}
	if v := e.attr("segno"); v != "" {
		nav.Segno, s.bar.segno = true, v
	}
	if e.attr("coda") != "" {
		nav.Coda = true
	}
}

// maxTimes bounds how often a repeat is played.
const maxTimes = 100

func (s *state) repeat(c *element) {
	if c.attr("direction") == "forward" {
		s.bar.nav.RepeatStart = true
		return
	}
	times := 2
	if v := c.attr("times"); v != "" {
		n, ok := whole(v)
		if !ok || n < 1 || n > maxTimes {
			s.warn(c.line, "a repeat of %.20q times was taken as one of two", v)
			n = 2
		}
		times = n
	}
	s.bar.nav.RepeatEnd = times
	s.bar.nav.AfterJump = c.attr("after-jump") == "yes"
}

func (s *state) ending(c *element) {
	if c.attr("type") == "start" {
		if s.bar.endStart = joinNumbers(numbers(c.attr("number"))); s.bar.endStart == "" {
			s.warn(c.line, "an ending without a number was passed over")
		}
		return
	}
	s.bar.endStop = true
}

// joinNumbers writes the number of an ending in the form that the format asks for: "1, 2".
func joinNumbers(n []int) string {
	return strings.Trim(strings.ReplaceAll(fmt.Sprint(n), " ", ", "), "[]")
}

// numbers reads the number of an ending, "1", "1, 2" or "1-3": each once, in order.
func numbers(text string) []int {
	var named [maxTimes + 1]bool
	for _, f := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == '.' }) {
		lo, hi, ranged := strings.Cut(f, "-")
		a, ok := whole(lo)
		b, ok2 := whole(hi)
		if !ranged {
			b, ok2 = a, ok
		}
		if !ok || !ok2 || a < 1 || b > maxTimes {
			continue
		}
		for ; a <= b; a++ {
			named[a] = true
		}
	}
	var out []int
	for n, is := range named {
		if is {
			out = append(out, n)
		}
	}
	return out
}
