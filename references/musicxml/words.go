package musicxml

import (
	"strings"

	"evenhand/references"
)

// markWords are the beginnings of words that ask for a change, in the languages scores are written
// in; the first that fits counts. Common practice, as in any handbook of musical terms.
var markWords = []struct {
	start string
	mark  references.MarkKind
}{
	{"ritard", references.Ritardando},
	{"rit", references.Ritardando},
	{"rall", references.Ritardando},
	{"allarg", references.Ritardando},
	{"slentando", references.Ritardando},
	{"lentando", references.Ritardando},
	{"calando", references.Ritardando},
	{"morendo", references.Ritardando},
	{"smorz", references.Ritardando},
	{"largando", references.Ritardando},
	{"slower", references.Ritardando},
	{"slowing", references.Ritardando},
	{"cédez", references.Ritardando},
	{"langsamer", references.Ritardando},
	{"zurückhalt", references.Ritardando},
	{"accel", references.Accelerando},
	{"string", references.Accelerando},
	{"affrett", references.Accelerando},
	{"faster", references.Accelerando},
	{"schneller", references.Accelerando},
	{"pressez", references.Accelerando},
	{"cresc", references.Crescendo},
	{"decresc", references.Diminuendo},
	{"dim", references.Diminuendo},
}

// tempoWords begin the usual headings of tempo.
var tempoWords = []string{
	"grave", "largo", "larghetto", "lento", "adagi", "andant", "moderato", "allegr", "vivac", "vivo", "presto",
	"prestissimo", "maestoso", "comodo", "sostenuto", "tempo di", "tempo giusto", "langsam", "mässig", "mäßig",
	"ruhig", "lebhaft", "schnell", "rasch", "bewegt", "lent", "modéré", "vif", "slow", "moderate", "lively",
	"fast", "quick", "gently", "più mosso", "meno mosso", "più lento", "più allegro",
}

func isTempoWord(words string) bool {
	low := strings.ToLower(words)
	for _, w := range tempoWords {
		if strings.HasPrefix(low, w) {
			return true
		}
	}
	return false
}

// words reads a direction in words, and reports whether it was understood: then it is no heading
// of tempo.
func (s *state) words(g sign) bool {
	low := strings.ToLower(g.words)
	if s.wayWords(low, g) {
		return true
	}
	g.mild = strings.Contains(low, "poco")
	switch {
	case strings.Contains(low, "a tempo"), strings.Contains(low, "in tempo"), strings.Contains(low, "tempo primo"),
		strings.HasPrefix(low, "tempo i"), strings.HasPrefix(low, "tempo 1"), strings.HasPrefix(low, "im tempo"):
		g.kind, g.mark, g.mild = signWords, references.ATempo, false
		s.add(g)
		return true
	}
	known := false
	for _, w := range strings.FieldsFunc(low, func(r rune) bool { return strings.ContainsRune(" .,;:()[]/–-", r) }) {
		known = s.word(w, g) || known
	}
	return known
}

// word reads one word of a direction.
func (s *state) word(w string, g sign) bool {
	switch w {
	case "legato", "staccato", "portato", "tenuto":
		g.kind = signTouch
		g.touch = map[string]references.Touch{
			"legato": references.Legato, "staccato": references.Staccato, "portato": references.Portato, "tenuto": references.Tenuto,
		}[w]
		s.add(g)
		return true
	case "piano":
		return s.level("p", g)
	case "forte":
		return s.level("f", g)
	case "swing", "inégal", "inégales", "shuffle":
		g.kind = signSwing
		s.add(g)
		return true
	}
	if len(w) <= 4 && s.level(w, g) {
		return true
	}
	for _, m := range markWords {
		if strings.HasPrefix(w, m.start) && !strings.HasPrefix(w, "ritmi") && w != "strings" {
			g.kind, g.mark = signWords, m.mark
			s.add(g)
			return true
		}
	}
	return false
}

// wayWords reads the words that send the player back or on: "D.C. al Fine", "To Coda".
func (s *state) wayWords(low string, g sign) bool {
	close := strings.NewReplacer(".", "", " ", "", "(", "", ")", "").Replace(low)
	nav := &s.bar.nav
	switch {
	case strings.HasPrefix(close, "dc") && wayRest(close[2:]), strings.HasPrefix(close, "dacapo"):
		if nav.Back == references.NoBack {
			nav.Back = references.DaCapo
		}
	case strings.HasPrefix(close, "ds") && wayRest(close[2:]), strings.HasPrefix(close, "dalsegno"):
		if nav.Back == references.NoBack {
			nav.Back = references.DalSegno
		}
	case close == "fine":
		nav.Fine = true
	case strings.HasPrefix(close, "tocoda"), close == "alcoda", close == "allacoda", close == "to𝄌", close == "toø":
		if !nav.ToCoda {
			s.toCoda(g.at)
		}
	case close == "coda":
		nav.Coda = true
	default:
		return false
	}
	return true
}

// wayRest reports whether what follows "D.C." or "D.S." is nothing or a destination.
func wayRest(s string) bool {
	for _, w := range []string{"al", "e", "con", "senza"} {
		if strings.HasPrefix(s, w) {
			return true
		}
	}
	return s == ""
}
