package references_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenhand/references"
	"evenhand/references/repertoire"
)

func score(t testing.TB, name string) *references.Reference {
	t.Helper()
	ref, _, err := repertoire.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// barsAsPlayed are the printed numbers in the order they are played.
func barsAsPlayed(r *references.Reference) string {
	var numbers []string
	for _, b := range r.Bars {
		numbers = append(numbers, b.Number)
	}
	return strings.Join(numbers, " ")
}

// Which bars a teacher means is common practice: the ones named, straight through, with the repeat that
// lies among them, and the ending that leads on.
func TestPartBars(t *testing.T) {
	for _, tt := range []struct{ score, first, last, want string }{
		{"the ferryman", "9", "12", "9 10 11 12"},
		{"the ferryman", "20", "", "20 21 22"},
		{"the ferryman", "", "2", "1 2"},
		{"the ferryman", "7", "7", "7"},
		// An upbeat is bar 0; the waltz goes back from bar 8 and has bar 9 for 7 the second time.
		{"harbour waltz", "0", "2", "0 1 2"},
		{"harbour waltz", "5", "8", "5 6 7 8"},
		{"harbour waltz", "5", "10", "5 6 9 10"},
		{"harbour waltz", "1", "10", "1 2 3 4 5 6 7 8 1 2 3 4 5 6 9 10"},
		{"clockmaker's dance", "1", "8", "1 2 3 4 5 6 7 8"},
		{"clockmaker's dance", "7", "10", "7 8 9 10"},
		{"clockmaker's dance", "9", "16", "9 10 11 12 13 14 15 16"},
	} {
		ref, err := score(t, tt.score).Part(references.Part{First: tt.first, Last: tt.last})
		if err != nil {
			t.Errorf("%s, %s to %s: %v", tt.score, tt.first, tt.last, err)
			continue
		}
		if got := barsAsPlayed(ref); got != tt.want {
			t.Errorf("%s, %s to %s: bars %s, want %s", tt.score, tt.first, tt.last, got, tt.want)
		}
		if ref.Bars[0].Onset != (references.Quarters{}) || ref.Notes[0].Onset.Less(references.Quarters{}) {
			t.Errorf("%s, %s to %s begins at %v", tt.score, tt.first, tt.last, ref.Bars[0].Onset)
		}
	}
}

func TestPartKeepsSigns(t *testing.T) {
	whole := score(t, "the ferryman")
	ref, err := whole.Part(references.Part{First: "10", Last: "14"})
	if err != nil {
		t.Fatal(err)
	}
	type mark struct {
		kind     references.MarkKind
		from, to string
	}
	var got []mark
	for _, m := range ref.Marks {
		got = append(got, mark{m.Kind, m.From.String(), m.To.String()})
	}
	// Bar 10 begins at quarter 27: a hairpin from there; a rit. with a diminuendo and a fermata at 36 to
	// 42; the "a tempo" of bar 15 is outside.
	want := []mark{
		{references.Crescendo, "0", "6"},
		{references.Ritardando, "9", "15"},
		{references.Diminuendo, "9", "12"},
		{references.Fermata, "12", "15"},
	}
	if !slices.Equal(got, want) {
		t.Errorf("marks %v, want %v", got, want)
	}
	if ref.Tempo != whole.Tempo || ref.Fifths != 1 || ref.BarLength != references.Q(3, 1) {
		t.Errorf("tempo %v, %d sharps, bars of %v", ref.Tempo, ref.Fifths, ref.BarLength)
	}
	waltz, err := score(t, "harbour waltz").Part(references.Part{First: "1", Last: "10"})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(waltz.Jumps, []references.Jump{{From: 6, To: 14}}) {
		t.Errorf("the repeat in the part can be left out by %v, want from 6 to 14", waltz.Jumps)
	}
}

// A note that sounds on into the part may be struck; one that sounds on after it ends with it.
func TestPartTies(t *testing.T) {
	q := func(n int64) references.Quarters { return references.Q(n, 1) }
	bar := func(number string, i int) references.Bar {
		return references.Bar{Number: number, Written: i, Pass: 1, Onset: q(4 * int64(i)), Length: q(4), Meter: references.Meter{Beats: 4, Unit: 4}}
	}
	note := func(id, pitch string, on, length int64) references.Note {
		p := references.Pitch{Name: references.Name{Step: references.Step(strings.Index("CDEFGAB", pitch))}, Octave: 4}
		return references.Note{ID: id, Pitch: p, Onset: q(on), Length: q(length), Measure: int(on / 4), Hand: references.Right}
	}
	r := &references.Reference{
		Bars:  []references.Bar{bar("1", 0), bar("2", 1), bar("3", 2)},
		Notes: []references.Note{note("a", "C", 0, 6), note("b", "E", 2, 2), note("c", "G", 6, 4), note("d", "A", 8, 2)},
	}
	ref, err := r.Part(references.Part{First: "2", Last: "2"})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, n := range ref.Notes {
		optional := ""
		if n.Optional {
			optional = " optional"
		}
		got = append(got, n.ID+" "+n.Onset.String()+" "+n.Length.String()+optional)
	}
	if want := []string{"a 0 2 optional", "c 2 2"}; !slices.Equal(got, want) {
		t.Errorf("notes %q, want %q", got, want)
	}
}

func TestPartTempo(t *testing.T) {
	r := score(t, "raindrops")
	ref, err := r.Part(references.Part{BPM: 48})
	if err != nil {
		t.Fatal(err)
	}
	if ref.Tempo.BPM != 48 || len(ref.Tempos) != len(r.Tempos) || ref.Tempos[1].Tempo.BPM != 48 || r.Tempos[0].Tempo.BPM != 96 {
		t.Errorf("tempo %v, marks %v; before %v", ref.Tempo, ref.Tempos, r.Tempos)
	}
}

// Whatever part is cut, its notes are those of the whole in their order, with their ids and bars, and
// what can be indexed by them is there.
func TestPartIsOfTheWhole(t *testing.T) {
	all := repertoire.All()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(all).Draw(t, "score")
		whole, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		bar := rapid.Custom(func(t *rapid.T) string { return rapid.SampledFrom(whole.Bars).Draw(t, "bar").Number })
		p := references.Part{First: bar.Draw(t, "first"), Last: bar.Draw(t, "last"), Hand: rapid.SampledFrom([]references.Hand{references.NoHand, references.Right, references.Left}).Draw(t, "hand")}
		ref, err := whole.Part(p)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Fatalf("more than a line: %v", err)
			}
			return
		}
		i := 0
		for _, n := range ref.Notes {
			b := ref.Bars[n.Measure]
			if b.Number != n.Bar || b.Pass != n.Pass || n.Onset.Less(b.Onset) || !n.Onset.Less(b.Onset.Add(b.Length)) && n.Grace == references.NoGrace {
				t.Fatalf("note %+v in bar %+v", n, b)
			}
			if n.Optional {
				continue
			}
			for i < len(whole.Notes) && (whole.Notes[i].ID != n.ID || whole.Notes[i].Pass != n.Pass) {
				i++
			}
			if i == len(whole.Notes) || whole.Notes[i].Key() != n.Key() || p.Hand != references.NoHand && n.Hand != p.Hand {
				t.Fatalf("note %+v is not one of the whole in its order", n)
			}
		}
		for k, s := range ref.Sections {
			if k == 0 && s.First != 0 || s.End > len(ref.Bars) || k > 0 && s.First != ref.Sections[k-1].End {
				t.Fatalf("sections %v of %d bars", ref.Sections, len(ref.Bars))
			}
		}
		if words, again := references.ParsePart("piece, " + p.String()); words != "piece" || again != p {
			t.Fatalf("%q is read as %q, %+v", p, words, again)
		}
	})
}

func TestPartThatIsNone(t *testing.T) {
	for _, tt := range []struct {
		score string
		part  references.Part
		want  string
	}{
		{"the ferryman", references.Part{First: "40"}, `there is no bar "40": they go from 1 to 22`},
		{"the ferryman", references.Part{First: "9", Last: "3"}, "bar 3 comes before bar 9: name the earlier one first"},
		{"the ferryman", references.Part{BPM: 2}, "2 beats a minute cannot be played to: say 10 to 400"},
	} {
		if _, err := score(t, tt.score).Part(tt.part); err == nil || err.Error() != tt.want {
			t.Errorf("%+v: %v, want %s", tt.part, err, tt.want)
		}
	}
	unhanded := &references.Reference{Notes: []references.Note{{Length: references.Q(1, 1)}}}
	if _, err := unhanded.Part(references.Part{Hand: references.Left}); err == nil {
		t.Error("a hand is cut out of a score that names none")
	}
	if _, err := unhanded.Part(references.Part{First: "1"}); err == nil {
		t.Error("a bar is cut out of music that has none")
	}
}

func TestRequestPart(t *testing.T) {
	for _, tt := range []struct {
		words string
		part  references.Part
		want  string
	}{
		{"D major scale, left hand staccato, right hand legato", references.Part{Hand: references.Left}, "D major scale, left hand, 2 octaves, staccato"},
		{"D major scale", references.Part{Hand: references.Right, BPM: 60}, "D major scale, right hand, 2 octaves, legato, 60 beats a minute"},
		{"D major scale, contrary motion", references.Part{Hand: references.Left}, "error: contrary motion needs both hands: ask for hands together, or for similar motion"},
		{"D major scale", references.Part{First: "9"}, "error: scales have no bars to choose: ask for fewer octaves"},
		{"D major scale", references.Part{BPM: 2}, "error: 2 beats a minute cannot be played to: say 10 to 400"},
	} {
		r, err := references.Parse(tt.words)
		if err != nil {
			t.Fatal(err)
		}
		r, err = r.Part(tt.part)
		got := r.String()
		if err != nil {
			got = "error: " + err.Error()
		}
		if got != tt.want {
			t.Errorf("%s, %s: got %s, want %s", tt.words, tt.part, got, tt.want)
		}
	}
}

func TestParsePart(t *testing.T) {
	for _, tt := range []struct {
		words, rest string
		part        references.Part
	}{
		{"Evening Tide, bars 9-16", "Evening Tide", references.Part{First: "9", Last: "16"}},
		{"Evening Tide, Bars 9 – 16, Left hand, at 60", "Evening Tide", references.Part{First: "9", Last: "16", Hand: references.Left, BPM: 60}},
		{"evening tide, at 60.5, bar 4a", "evening tide", references.Part{First: "4a", Last: "4a", BPM: 60.5}},
		{"evening tide, bar X1", "evening tide", references.Part{First: "X1", Last: "X1"}}, // of a bar that is not counted
		{"evening tide, from bar 9, right hand", "evening tide", references.Part{First: "9", Hand: references.Right}},
		{"evening tide, to bar 9", "evening tide", references.Part{Last: "9"}},
		{"Evening, Tide", "Evening, Tide", references.Part{}},
		{"left hand", "left hand", references.Part{}},
		{"tide, bar 4, bar 5", "tide, bar 4", references.Part{First: "5", Last: "5"}},
	} {
		if rest, p := references.ParsePart(tt.words); rest != tt.rest || p != tt.part {
			t.Errorf("%q: %q, %+v, want %q, %+v", tt.words, rest, p, tt.rest, tt.part)
		}
	}
}

func TestBarsNamed(t *testing.T) {
	for words, want := range map[string][2]string{
		"9-16": {"9", "16"}, " 9 ": {"9", "9"}, "9-": {"9", ""}, "-16": {"", "16"}, "9–16": {"9", "16"},
	} {
		if first, last, ok := references.BarsNamed(words); !ok || [2]string{first, last} != want {
			t.Errorf("%q: %q %q %v", words, first, last, ok)
		}
	}
	for _, words := range []string{"", "-", "9 to 16 or so"} {
		if _, _, ok := references.BarsNamed(words); ok {
			t.Errorf("%q is read", words)
		}
	}
}
