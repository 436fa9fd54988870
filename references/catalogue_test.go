package references

import (
	"testing"

	"pgregory.net/rapid"
)

func TestCatalogueEntriesAreWhatTheySay(t *testing.T) {
	all := Catalogue()
	if len(all) < 5000 {
		t.Errorf("%d entries", len(all))
	}
	seen := map[Request]bool{}
	for _, e := range all {
		if seen[e.Request] {
			t.Errorf("%s is there twice", e.Request)
		}
		seen[e.Request] = true
	}
	rapid.Check(t, func(t *rapid.T) {
		e := all[rapid.IntRange(0, len(all)-1).Draw(t, "entry")]
		if err := e.Request.checkTonic(); err != nil {
			t.Fatalf("%s: %v", e.Request, err)
		}
		ref := e.Reference()
		if len(ref.Notes) != e.Strokes {
			t.Fatalf("%s: %d notes, the entry says %d", e.Request, len(ref.Notes), e.Strokes)
		}
		var classes uint16
		for i := range ref.Notes {
			classes |= 1 << (ref.Notes[i].Key() % 12)
		}
		if classes != e.Classes {
			t.Fatalf("%s: pitch classes %012b, the entry says %012b", e.Request, classes, e.Classes)
		}
	})
}

func TestNeighboursHoldTheLikelyMisreadings(t *testing.T) {
	asked, err := Parse("B flat major scale, contrary motion, staccato, forte")
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]int{}
	n := 0
	for e := range asked.Neighbours() {
		n++
		if asked.Accepts(e.Request) {
			t.Fatalf("%s is accepted, and is no neighbour", e.Request)
		}
		if e.Request.Touch != Each(Staccato) || e.Request.Dynamic != Each(Forte) {
			t.Fatalf("%s does not sound as the request does", e.Request)
		}
		if what := e.Request.Describe(); found[what] == 0 {
			found[what] = n
		}
	}
	for _, want := range []string{
		"B major scale, hands together, contrary motion, 2 octaves",
		"B flat harmonic minor scale, hands together, contrary motion, 2 octaves",
		"B flat major scale, hands together, similar motion, 2 octaves",
		"B flat major scale, hands together, contrary motion, 1 octave",
		"B flat major scale, right hand, 2 octaves",
		"B flat major arpeggio, hands together, similar motion, 2 octaves",
		"chromatic scale on B flat, hands together, contrary motion, 2 octaves",
		"B flat major scale, hands together, similar motion, a third apart, 2 octaves",
		"D major broken chord, four-note pattern, left hand, 1 octave",
	} {
		if found[want] == 0 {
			t.Errorf("no neighbour is %s", want)
		}
	}
	if near, far := found["B major scale, hands together, contrary motion, 2 octaves"], found["D major broken chord, four-note pattern, left hand, 1 octave"]; near > far {
		t.Errorf("B major comes as number %d, a broken chord as number %d", near, far)
	}
}

func TestMinorsOfNoFormAreLikelyOnlyForAMinor(t *testing.T) {
	for words, want := range map[string]bool{"B flat major scale": false, "B flat harmonic minor scale": true} {
		asked, err := Parse(words)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for e := range asked.Neighbours() {
			found = found || e.Request.Form == MixedMinor
		}
		if found != want {
			t.Errorf("%s: a mixed minor among its neighbours: %v, want %v", words, found, want)
		}
	}
}

func TestCandidatesAreTheAcceptedReadings(t *testing.T) {
	tests := []struct {
		words string
		want  []string // the first readings, in order
		n     int
	}{
		{"C minor rh", []string{
			"C harmonic minor scale, right hand, 2 octaves",
			"C melodic minor scale, right hand, 2 octaves",
			"C natural minor scale, right hand, 2 octaves",
		}, 3},
		{"C major", []string{
			"C major scale, hands together, similar motion, 2 octaves",
			"C major scale, hands together, similar motion, two octaves apart, 2 octaves",
		}, 2},
		{"C major a third apart", []string{
			"C major scale, hands together, similar motion, a third apart, 2 octaves",
			"C major scale, hands together, similar motion, a tenth apart, 2 octaves",
		}, 2},
		{"C minor contrary", []string{"C harmonic minor scale, hands together, contrary motion, 2 octaves"}, 9},
		{"chromatic on C contrary", []string{
			"chromatic scale on C, hands together, contrary motion, 2 octaves",
			"chromatic scale on C, hands together, contrary motion, starting a minor third apart, 2 octaves",
			"chromatic scale on C, hands together, contrary motion, starting a major third apart, 2 octaves",
		}, 5},
		{"C cadence chords lh", []string{"C major cadence chords, left hand"}, 4},
		{"C melodic minor rh", []string{"C melodic minor scale, right hand, 2 octaves"}, 1},
	}
	for _, tt := range tests {
		r, err := Parse(tt.words)
		if err != nil {
			t.Fatal(err)
		}
		all := r.Candidates()
		if len(all) != tt.n {
			t.Errorf("%s: %d candidates, want %d", tt.words, len(all), tt.n)
		}
		for i, want := range tt.want {
			if i < len(all) && all[i].Title != want {
				t.Errorf("%s: candidate %d is %s, want %s", tt.words, i, all[i].Title, want)
			}
		}
		for _, c := range all {
			if !r.Accepts(*c.Request) {
				t.Errorf("%s does not accept its own candidate %s", tt.words, c.Request)
			}
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	r, err := Parse("B flat major scale, contrary motion")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		r.build()
	}
}

func TestSameNotesUnderAnotherNameAreNoNeighbour(t *testing.T) {
	for _, words := range []string{
		"diminished seventh on C, first inversion", "C sharp major", "C major a tenth apart", "A flat minor",
		"E flat major, two octaves apart",
	} {
		asked, err := Parse(words)
		if err != nil {
			t.Fatal(err)
		}
		want := asked.Candidates()[0]
		for e := range asked.Neighbours() {
			if e.Strokes != len(want.Notes) || e.Request.Hands != asked.Hands {
				continue
			}
			got := e.Reference()
			same := true
			for i := range got.Notes {
				same = same && got.Notes[i].Key()%12 == want.Notes[i].Key()%12 && got.Notes[i].Hand == want.Notes[i].Hand
			}
			if same {
				t.Errorf("%s: the neighbour %s has the same notes", words, e.Request)
			}
		}
	}
}

func BenchmarkNeighbours(b *testing.B) {
	r, err := Parse("B flat major scale, contrary motion")
	if err != nil {
		b.Fatal(err)
	}
	Catalogue()
	for b.Loop() {
		n := 0
		for range r.Neighbours() {
			n++
		}
	}
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("B flat major scale, hands together, contrary motion, two octaves, legato, piano"); err != nil {
			b.Fatal(err)
		}
	}
}
