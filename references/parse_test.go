package references

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// parseTests are requests as people write them, and the formal wording of what is meant.
var parseTests = []struct{ in, want string }{
	{"B flat major scale, hands together, contrary motion, two octaves, legato, piano", "B flat major scale, hands together, contrary motion, 2 octaves, legato, piano"},
	{"Bb major contrary 2 oct p", "B flat major scale, hands together, contrary motion, 2 octaves, legato, piano"},
	{"b♭ MAJOR contrary, P", "B flat major scale, hands together, contrary motion, 2 octaves, legato, piano"},
	{"B ♭ major, HT", "B flat major scale, hands together, similar motion, 2 octaves, legato"},
	{"b-flat Major Scale RH 3octaves mf", "B flat major scale, right hand, 3 octaves, legato, mezzo forte"},
	{"E major scale. Hands together. Two octaves. Forte!", "E major scale, hands together, similar motion, 2 octaves, legato, forte"},
	{"play a C major scale with the left hand alone, please", "C major scale, left hand, 2 octaves, legato"},
	{"D melodic minor, R.H., stacc., 1 octave, mp", "D melodic minor scale, right hand, 1 octave, staccato, mezzo piano"},

	// f is forte or the key; a is an article or the key.
	{"f, C major", "C major scale, hands together, similar motion, 2 octaves, legato, forte"},
	{"C in f", "C major scale, hands together, similar motion, 2 octaves, legato, forte"},
	{"f minor", "F minor scale, hands together, similar motion, 2 octaves, legato"},
	{"F f", "F major scale, hands together, similar motion, 2 octaves, legato, forte"},
	{"f F", "F major scale, hands together, similar motion, 2 octaves, legato, forte"},
	{"F", "F major scale, hands together, similar motion, 2 octaves, legato"},
	{"F ff", "F major scale, hands together, similar motion, 2 octaves, legato, fortissimo"},
	{"scale in f", "F major scale, hands together, similar motion, 2 octaves, legato"},
	{"a scale in f", "F major scale, hands together, similar motion, 2 octaves, legato"},
	{"a minor scale in D", "D minor scale, hands together, similar motion, 2 octaves, legato"},
	{"a D major scale", "D major scale, hands together, similar motion, 2 octaves, legato"},
	{"A minor", "A minor scale, hands together, similar motion, 2 octaves, legato"},
	{"a minor, f", "A minor scale, hands together, similar motion, 2 octaves, legato, forte"},

	// Keys and forms.
	{"F#m", "F sharp minor scale, hands together, similar motion, 2 octaves, legato"},
	{"f♯m harmonic", "F sharp harmonic minor scale, hands together, similar motion, 2 octaves, legato"},
	{"F sharp minor melodic", "F sharp melodic minor scale, hands together, similar motion, 2 octaves, legato"},
	{"C harmonic", "C harmonic minor scale, hands together, similar motion, 2 octaves, legato"},
	{"A natural minor", "A natural minor scale, hands together, similar motion, 2 octaves, legato"},
	{"A minor natural", "A natural minor scale, hands together, similar motion, 2 octaves, legato"},
	{"B natural major", "B major scale, hands together, similar motion, 2 octaves, legato"},
	{"Cb major", "C flat major scale, hands together, similar motion, 2 octaves, legato"},
	{"chromatic scale on D", "chromatic scale on D, hands together, similar motion, 2 octaves, legato"},
	{"D chromatic, a minor third apart", "chromatic scale on D, hands together, similar motion, a third apart, 2 octaves, legato"},
	{"whole tone, e flat", "whole-tone scale on E flat, hands together, similar motion, 2 octaves, legato"},
	{"chromatic contrary motion starting a minor third apart on C", "chromatic scale on C, hands together, contrary motion, starting a minor third apart, 2 octaves, legato"},
	{"A major contrary from a unison", "A major scale, hands together, contrary motion, starting on a unison, 2 octaves, legato"},

	// Chords.
	{"dominant seventh in the key of C", "dominant seventh arpeggio in the key of C, hands together, similar motion, 2 octaves, legato"},
	{"dominant seventh on G", "dominant seventh arpeggio on G, hands together, similar motion, 2 octaves, legato"},
	{"dom 7 in c minor", "dominant seventh arpeggio in the key of C, hands together, similar motion, 2 octaves, legato"},
	{"dominant seventh in G sharp minor", "dominant seventh arpeggio in the key of G sharp, hands together, similar motion, 2 octaves, legato"},
	{"G dominant seventh in the key of C", "dominant seventh arpeggio in the key of C, hands together, similar motion, 2 octaves, legato"},
	{"diminished seventh on B", "diminished seventh arpeggio on B, hands together, similar motion, 2 octaves, legato"},
	{"first inversion of C", "C major arpeggio, first inversion, hands together, similar motion, 2 octaves, legato"},
	{"C minor arpeggio, 2nd inversion, LH", "C minor arpeggio, second inversion, left hand, 2 octaves, legato"},
	{"C major arpeggio starting on E", "C major arpeggio, first inversion, hands together, similar motion, 2 octaves, legato"},
	{"D broken chord in fours rh", "D major broken chord, four-note pattern, right hand, 2 octaves, legato"},
	{"C major alberti bass lh", "C major broken chord, Alberti pattern, left hand, 2 octaves, legato"},
	{"five-finger pattern in g", "G major five-finger pattern, hands together, legato"},
	{"D minor triads with inversions 1 octave", "D minor triads with inversions, hands together, 1 octave, legato"},
	{"A minor cadence chords", "A minor cadence chords, hands together, legato"},
	{"I-IV-V7-I in G", "G major cadence chords, I IV V7 I, hands together, legato"},

	// Distances and double notes.
	{"C major, hands a third apart", "C major scale, hands together, similar motion, a third apart, 2 octaves, legato"},
	{"hands in contrary motion, C major", "C major scale, hands together, contrary motion, 2 octaves, legato"},
	{"C major a third apart", "C major scale, hands together, similar motion, a third apart, 2 octaves, legato"},
	{"C major in thirds", "C major scale, in thirds, hands together, similar motion, 2 octaves, legato"},
	{"C major, double sixths, RH", "C major scale, in sixths, right hand, 2 octaves, legato"},
	{"E♭ major two octaves, two octaves apart", "E flat major scale, hands together, similar motion, two octaves apart, 2 octaves, legato"},

	// Each hand its own.
	{"C major, legato right hand, staccato left hand", "C major scale, hands together, similar motion, 2 octaves, right hand legato, left hand staccato"},
	{"C major right hand forte left hand piano", "C major scale, hands together, similar motion, 2 octaves, legato, right hand forte, left hand piano"},
	{"C major, right hand, f, left hand, p", "C major scale, hands together, similar motion, 2 octaves, legato, right hand forte, left hand piano"},
	{"C major hands together, right hand staccato", "C major scale, hands together, similar motion, 2 octaves, right hand staccato, left hand legato"},
	{"C major, right hand, staccato", "C major scale, right hand, 2 octaves, staccato"},

	// Shape and tempo.
	{"C, crescendo up, diminuendo down", "C major scale, hands together, similar motion, 2 octaves, legato, crescendo up and diminuendo down"},
	{"C, dim. going up", "C major scale, hands together, similar motion, 2 octaves, legato, diminuendo up and crescendo down"},
	{"C, ♩=72", "C major scale, hands together, similar motion, 2 octaves, legato, crotchet = 72"},
	{"C, ♩. = 60, three notes to the beat", "C major scale, hands together, similar motion, 2 octaves, legato, dotted crotchet = 60, 3 notes to the beat"},
	{"C crotchet = 72", "C major scale, hands together, similar motion, 2 octaves, legato, crotchet = 72"},
	{"C quarter note = 72.5", "C major scale, hands together, similar motion, 2 octaves, legato, crotchet = 72.5"},
	{"C half = 60 in quavers", "C major scale, hands together, similar motion, 2 octaves, legato, minim = 60, 4 notes to the beat"},
	{"C 72bpm 4 notes per beat", "C major scale, hands together, similar motion, 2 octaves, legato, 72 beats a minute, 4 notes to the beat"},
}

func TestParse(t *testing.T) {
	for _, tt := range parseTests {
		r, err := Parse(tt.in)
		if err != nil {
			t.Errorf("%s: %v", tt.in, err)
			continue
		}
		if r.String() != tt.want {
			t.Errorf("%s:\n got %s\nwant %s", tt.in, r, tt.want)
		}
	}
}

func TestParseSaysWhatIsWrong(t *testing.T) {
	tests := []struct{ in, want string }{
		{"", `the request is empty`},
		{"C majro scale", `unknown word "majro": did you mean "major"`},
		{"D contary", `unknown word "contary": did you mean "contrary"`},
		{"Bes major", `unknown word "Bes"`},
		{"C " + strings.Repeat("q", 200), `unknown word "qqqqqqqqqqqqqqqqqqqqqqqqqqqqqq…": did you mean`},
		{"C major mff", `"mff" is no dynamic`},
		{"C major \xff", `unknown word "�"`},
		{"major scale", `no key is named: say for example "D major scale"`},
		{"C major D major", `"C" and "D" contradict each other`},
		{"C major minor", `"major" and "minor" contradict each other`},
		{"C major harmonic", `"major" and "harmonic" contradict each other`},
		{"C legato staccato", `"legato" and "staccato" contradict each other`},
		{"C p f", `"p" and "f" contradict each other`},
		{"C 2 octaves 3 octaves", `"2 octaves" and "3 octaves" contradict each other`},
		{"C hands together right hand alone", `"hands together" and "right hand alone" contradict each other`},
		{"C similar contrary", `"similar" and "contrary" contradict each other`},
		{"C HS", `"HS" is two requests`},
		{"C 72", `the number "72" stands alone`},
		{"C motion", `"motion" is not understood here: say for example "similar motion"`},
		{"C chromatic minor", `"chromatic" and "minor" contradict each other`},
		{"diminished seventh in C minor", `a diminished seventh is named by the note it begins on`},
		{"diminished seventh in the key of C", `a diminished seventh is named by the note it begins on`},
		{"C major scale, first inversion", `scales have no inversions`},
		{"C arpeggio, third inversion", `a chord of 3 notes has no third inversion`},
		{"C contrary RH", `contrary motion needs both hands`},
		{"C major hands togehter", `unknown word "togehter"`},
		{"C major ♩=fast", `unknown word "fast"`},
		{"C major, -2 octaves", `the number "-2" is below zero`},
		{"C RH a third apart", `"a third apart" needs both hands`},
		{"C arpeggio a third apart", `only scales are played a third apart`},
		{"C in thirds a third apart", `cannot be asked together`},
		{"C contrary 4 octaves", `wider than the 88 keys`},
		{"C 5 octaves", `5 octaves cannot be asked for: say 1 to 4`},
		{"C five octaves", `5 octaves cannot be asked for: say 1 to 4`},
		{"C 0 octaves", `0 octaves cannot be asked for`},
		{"C 1.5 octaves", `"1.5 octaves" cannot be asked for`},
		{"C ♩=9000", `9000 beats a minute cannot be played to`},
		{"C ♩=0", `cannot be played to`},
		{"C 99 notes to the beat", `99 notes to the beat cannot be asked for`},
		{"G sharp major", `G sharp major has no key signature: ask for A flat major`},
		{"dominant seventh in F flat", `there is no key of F flat to be in: ask for the dominant seventh in the key of E`},
		{"diminished seventh on F flat", `a diminished seventh on F flat cannot be written: ask for it on E`},
		{"C broken chord chromatic", `there is no chromatic broken chord`},
		{"C arpeggio starting on D", `"D" is no note of the chord on C`},
		{strings.Repeat("C ", 600), `the request is 1200 bytes long`},
	}
	for _, tt := range tests {
		r, err := Parse(tt.in)
		if err == nil {
			t.Errorf("%q: read as %s, want an error", tt.in, r)
			continue
		}
		if !strings.Contains(err.Error(), tt.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q:\n got %s\nwant one line with %s", tt.in, err, tt.want)
		}
	}
}

func TestDominantSeventhBeginsOn(t *testing.T) {
	for in, want := range map[string]string{
		"dominant seventh in the key of C":                  "G",
		"dominant seventh in E flat major, third inversion": "A♭",
		"dominant seventh on G":                             "G",
		"C major arpeggio, first inversion":                 "E",
	} {
		r, err := Parse(in + ", right hand")
		if err != nil {
			t.Fatal(err)
		}
		if got := build(t, r).Notes[0].Pitch.Name.String(); got != want {
			t.Errorf("%s begins on %s, want %s", in, got, want)
		}
	}
}

func TestSpoken(t *testing.T) {
	for in, want := range map[string]string{
		"B flat major, contrary, p":                               "B flat major, hands together, contrary motion, two octaves. Piano.",
		"c minor arpeggio rh staccato 3 octaves ♩=60 in triplets": "C minor arpeggio, right hand, three octaves. Staccato. Crotchet equals 60, three notes to the beat.",
		"chromatic on D, one octave, right hand f, left hand p":   "Chromatic scale on D, hands together, one octave. Right hand forte, left hand piano.",
	} {
		r, err := Parse(in)
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Spoken(); got != want {
			t.Errorf("%s:\n got %s\nwant %s", in, got, want)
		}
	}
}

// anyRequest draws any request that can be asked for.
func anyRequest() *rapid.Generator[Request] {
	var beats []Quarters
	for eighths := int64(1); eighths <= 48; eighths++ {
		if beatWords[Q(eighths, 8)] != "" {
			beats = append(beats, Q(eighths, 8))
		}
	}
	return rapid.Custom(func(t *rapid.T) Request {
		pick := func(name string, low, high int) int { return rapid.IntRange(low, high).Draw(t, name) }
		r := Request{
			Kind:   Kind(pick("kind", int(Scale), int(Cadence))),
			Tonic:  Name{Step(pick("step", 0, 6)), int8(pick("alter", -1, 1))},
			Hands:  Hands(pick("hands", 0, 2)),
			Motion: Motion(pick("motion", 0, 1)),
			Apart:  Apart(pick("apart", 0, 4) * pick("set apart", 0, 1)),
			Double: Double(pick("double", 0, 3) * pick("set double", 0, 1)),
			Start:  Start(pick("start", 0, 5) * pick("set start", 0, 1)),
			Shape:  Shape(pick("shape", 0, 2)), Octaves: pick("octaves", 1, 4),
			Inversion: pick("inversion", 0, 3) * pick("set inversion", 0, 1),
			Touch: PerHand[Touch]{
				rapid.SampledFrom([]Touch{Legato, Staccato}).Draw(t, "right touch"),
				rapid.SampledFrom([]Touch{Legato, Staccato}).Draw(t, "left touch"),
			},
			Dynamic: PerHand[Dynamic]{Dynamic(pick("right dynamic", 0, 8)), Dynamic(pick("left dynamic", 0, 8))},

			NotesPerBeat: pick("notes to the beat", 0, 12),
		}
		r.Form = rapid.SampledFrom(formsOf[r.Kind]).Draw(t, "form")
		if r.Hands != Together {
			r.Touch.Left, r.Dynamic.Left = r.Touch.Right, r.Dynamic.Right
		}
		switch r.Kind {
		case BrokenChord:
			r.Pattern = Pattern(pick("pattern", 0, 2))
		case Cadence:
			r.Progression = Progression(pick("progression", 0, 3))
		}
		if r.Form == DominantSeventh {
			r.InKeyOf = rapid.Bool().Draw(t, "in the key of")
		}
		if rapid.Bool().Draw(t, "tempo") {
			r.BPM = float64(pick("bpm", 40, 1600)) / 4
			if rapid.Bool().Draw(t, "beat") {
				r.BeatLength = rapid.SampledFrom(beats).Draw(t, "beat length")
			}
		}
		return r
	}).Filter(func(r Request) bool { return r.Check() == nil })
}

func TestParseReadsWhatStringWrites(t *testing.T) {
	requests := anyRequest()
	rapid.Check(t, func(t *rapid.T) {
		r := requests.Draw(t, "request")
		got, err := Parse(r.String())
		if err != nil {
			t.Fatalf("%s: %v", r, err)
		}
		if got != r {
			t.Fatalf("%s\nread as %s:\n got %+v\nwant %+v", r, got, got, r)
		}
		if lower, err := Parse(strings.ToLower(strings.ReplaceAll(r.String(), ",", ""))); r.Touch.Same() && r.Dynamic.Same() && (err != nil || lower != r) {
			t.Fatalf("%s in lower case without commas: %s, %v", r, lower, err)
		}
		if strings.Contains(r.Spoken(), "\n") || !strings.HasSuffix(r.Spoken(), ".") {
			t.Fatalf("spoken: %q", r.Spoken())
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, tt := range parseTests {
		f.Add(tt.in)
	}
	f.Fuzz(func(t *testing.T, words string) {
		r, err := Parse(words)
		switch {
		case err == nil:
			if again, err := Parse(r.String()); err != nil || again != r {
				t.Errorf("%q reads as %s, and that as %s, %v", words, r, again, err)
			}
			if len(r.Candidates()) == 0 {
				t.Errorf("%q reads as %s, which has no candidate", words, r)
			}
		case r != Request{}:
			t.Errorf("%q: a request beside the error %v", words, err)
		case err.Error() == "" || strings.ContainsAny(err.Error(), "\n\r"):
			t.Errorf("%q: error %q is not one line", words, err)
		}
	})
}
