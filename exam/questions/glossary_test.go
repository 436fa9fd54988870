package questions

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestGlossaryIsWellFormed(t *testing.T) {
	all := Glossary()
	if len(all) < 150 {
		t.Errorf("only %d terms", len(all))
	}
	seen := map[string]string{}
	for _, e := range all {
		if e.Term == "" || e.Meaning == "" || e.Class == "" || e.Language == "" || !utf8.ValidString(e.Meaning) {
			t.Errorf("incomplete: %+v", e)
		}
		if seen[key(e.Term)] != "" {
			t.Errorf("%s is there twice", e.Term)
		}
		seen[key(e.Term)] = e.Term
		if got, ok := Look(strings.ToUpper(e.Term)); !ok || got.Term != e.Term {
			t.Errorf("%s is not found: %v", e.Term, got)
		}
		for _, a := range e.Also {
			if got, ok := Look(a); !ok || got.Group != e.Group {
				t.Errorf("%s, for %s, is taken for %s", a, e.Term, got.Term)
			}
		}
	}
}

// No wrong choice for a term is right by any wording of it, and there are three of them for the terms
// that are asked.
func TestNoConfusionIsRight(t *testing.T) {
	for _, e := range Glossary() {
		c := candidate{Question: Question{Answer: e.Meaning, Accepted: e.Accepted}, wrong: e.confusions()}
		wrong := c.choices()
		if len(wrong) < 3 {
			t.Errorf("%s: only %q", e.Term, wrong)
		}
		for _, w := range wrong {
			for _, o := range Glossary() {
				if o.Group == e.Group && o.Meaning == w {
					t.Errorf("%s: %q is a meaning of %s, of the same group", e.Term, w, o.Term)
				}
			}
		}
	}
}

// Common practice, as in any handbook of terms.
func TestKnownTerms(t *testing.T) {
	for term, want := range map[string]string{
		"ritardando": "gradually slower", "rall.": "gradually slower", "accel.": "gradually faster", "cresc.": "gradually louder", "dim.": "gradually quieter",
		"decresc.": "gradually quieter", "Adagio": "slow", "Andante": "at a walking pace", "Allegretto": "rather fast, not as fast as allegro", "Presto": "very fast",
		"D.C. al Fine": "from the beginning as far as the word Fine", "dolce": "sweetly", "cantabile": "in a singing style", "leggiero": "lightly", "DC": "from the beginning", "m.d.": "with the right hand",
		"m.s.": "with the left hand", "una corda": "with the left (soft) pedal", "più mosso": "faster at once", "piu mosso": "faster at once", "Langsam": "slow", "très": "very",
		"ma non troppo": "not too much", "sotto voce": "in an undertone", "poco a poco": "little by little", "sempre": "always", "fine": "the end",
	} {
		e, ok := Look(term)
		if !ok || e.Meaning != want {
			t.Errorf("%s: %q, want %q", term, e.Meaning, want)
		}
	}
	for _, none := range []string{"", "Menuetto III", "Gracefully", "38", "M.S. 3"} {
		if e, ok := Look(none); ok {
			t.Errorf("%q is taken for %s", none, e.Term)
		}
	}
}

// A direction gives the longest terms in it, and none where a word turns another round.
func TestTermsInDirections(t *testing.T) {
	for text, want := range map[string]string{
		"Lento, ma non troppo": "lento, non troppo", "Moderato e grazioso": "moderato, grazioso", "poco rit.": "poco, ritardando", "Allegro molto": "allegro, molto",
		"senza rit.": "", "meno allegro": "", "meno mosso": "meno mosso", "Attacca subito il Rondo:": "attacca, rondo", "(cresc.)": "crescendo",
		"Walking along": "", "Neatly, in time": "", "poco a poco cresc.": "poco a poco, crescendo", "molto espressivo": "molto, espressivo", "38": "",
	} {
		var got []string
		for _, f := range inWords(text) {
			got = append(got, f.entry.Term)
		}
		if strings.Join(got, ", ") != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

func TestNearest(t *testing.T) {
	if got := Near("ritardndo", 3); !slices.Contains(got, "ritardando") {
		t.Error(got)
	}
}
