package references

import (
	"strings"
	"testing"
)

// handbook are fingerings over two octaves from low to high, right hand and left: common practice,
// as the handbooks print them. The rows of the majors in flats, of B major, of ten of the harmonic
// minors and of C sharp melodic minor were compared with published teaching tables; the others are
// from memory.
var handbook = []struct{ requests, right, left string }{
	{"C major, G major, D major, A major, E major", "123123412312345", "543213214321321"},
	{"A, E, D, G, C: harmonic minor", "123123412312345", "543213214321321"},
	{"A, E, D, G, C: natural minor", "123123412312345", "543213214321321"},
	{"B major, C flat major, B harmonic minor, B melodic minor", "123123412312345", "432143213214321"},
	{"F sharp major, G flat major", "234123123412312", "432132143213214"},
	{"D flat major, C sharp major", "231234123123412", "321432132143213"},
	{"A flat major", "341231234123123", "321432132143213"},
	{"E flat major", "312341231234123", "321432132143213"},
	{"B flat major", "412312341231234", "321432132143213"},
	{"F major, F harmonic minor, F melodic minor, F natural minor", "123412312341234", "543213214321321"},
	{"F sharp harmonic minor, F sharp natural minor", "341231234123123", "432132143213214"},
	{"F sharp melodic minor", "231234123123413", "432132143213214"},
	{"C sharp harmonic minor, C sharp natural minor", "341231234123123", "321432132143213"},
	{"C sharp melodic minor", "231234123123413", "321432132143213"},
	{"G sharp harmonic minor, A flat harmonic minor, G sharp melodic minor", "341231234123123", "321432132143213"},
	{"G sharp natural minor, A flat natural minor", "341231234123123", "321321432132143"},
	{"E flat harmonic minor, D sharp harmonic minor, E flat melodic minor", "312341231234123", "214321321432132"},
	{"B flat harmonic minor, A sharp melodic minor, B flat natural minor", "412312341231234", "213214321321432"},

	{"C major arpeggio, G major arpeggio, F major arpeggio", "1231235", "5421421"},
	{"D major arpeggio, A major arpeggio, E major arpeggio, B major arpeggio", "1231235", "5321321"},
	{"F sharp major arpeggio, G flat major arpeggio", "1231235", "5321321"},
	{"B flat major arpeggio", "2124124", "3213213"},
	{"E flat major arpeggio, A flat major arpeggio, D flat major arpeggio", "2124124", "2142142"},
	{"A, E, D, G, C, F, B: minor arpeggio", "1231235", "5421421"},
	{"E flat minor arpeggio, D sharp minor arpeggio", "1231235", "5421421"},
	{"B flat minor arpeggio", "2312312", "3213213"},
	{"F sharp minor arpeggio, C sharp minor arpeggio, G sharp minor arpeggio", "2124124", "2142142"},

	// From memory.
	{"dominant seventh on G, dominant seventh on C, diminished seventh on B", "123412345", "543214321"},
	{"dominant seventh on B flat", "212341234", "321432143"},
	{"C major arpeggio first inversion", "1241245", "5421421"},
	{"C major arpeggio second inversion", "1241245", "5321321"},
	{"D major arpeggio first inversion", "2124124", "3213213"},
	{"E flat major arpeggio second inversion", "2412412", "4214214"},
}

// spread turns "A, E: minor" into "A minor", "E minor".
func spread(requests string) []string {
	tonics, rest, ok := strings.Cut(requests, ": ")
	if !ok {
		return strings.Split(requests, ", ")
	}
	var all []string
	for _, t := range strings.Split(tonics, ", ") {
		all = append(all, t+" "+rest)
	}
	return all
}

func parsed(t *testing.T, words string) Request {
	t.Helper()
	r, err := Parse(words)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestFingeringsOfTheHandbooks(t *testing.T) {
	for _, row := range handbook {
		for _, words := range spread(row.requests) {
			for hand, want := range map[string]string{"right hand": row.right, "left hand": row.left} {
				r := parsed(t, words+", "+hand)
				h := Right
				if r.Hands == LeftAlone {
					h = Left
				}
				if got := fingerLine(build(t, r), h)[:len(want)]; got != want {
					t.Errorf("%s, %s: %s, want %s", words, hand, got, want)
				}
			}
		}
	}
}

func TestFingeringsComeDownAndGoOn(t *testing.T) {
	tests := []struct {
		words string
		hand  Hand
		want  string
	}{
		{"C major rh 1 octave", Right, "123123454321321"},
		{"C major lh 3 octaves", Left, "5432132143213214321321" + "231234123123412312345"},
		{"B major rh 1 octave", Right, "123123454321321"},
		// Coming down, the melodic minor takes the fingers of the natural form.
		{"F sharp melodic minor rh 1 octave", Right, "231234132132143"},
		{"G sharp melodic minor lh 1 octave", Left, "32143213" + "4123123"},
		// In contrary motion each hand keeps the fingers of its row, outwards and back.
		{"C major contrary 1 octave", Left, "123123454321321"},
		{"B flat major contrary 1 octave", Left, "312341232143213"},
		// Chromatic: common practice, printed so on teaching pages; the left hand mirrors it about D.
		{"chromatic on C rh 1 octave", Right, "1313123131312" + "131313213131"},
		{"chromatic on C lh 1 octave", Left, "1313213131321" + "231313123131"},
		{"chromatic on D contrary 1 octave", Left, "1312313131231" + "321313132131"},
		{"chromatic on D contrary 1 octave", Right, "1312313131231" + "321313132131"},
		{"C major in octaves rh 1 octave", Right, strings.Repeat("15", 15)},
		{"D flat major in octaves lh 1 octave", Left, "4141514141415141" + "51414141514141"},
		{"C major five-finger lh", Left, "543212345"},
		{"C major triads rh 1 octave", Right, "135" + "125" + "135" + "135" + "135" + "125" + "135"},
		{"C whole-tone scale rh 1 octave", Right, "0000000000000"},
	}
	for _, tt := range tests {
		if got := fingerLine(build(t, parsed(t, tt.words)), tt.hand); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.words, got, tt.want)
		}
	}
}

// TestFingeringsCanBePlayed goes through the whole catalogue: in scales no thumb is on a black key, in
// arpeggios only where the chord has no white one, and each step goes to another finger, further
// from the thumb on the way out and nearer on the way back but for a crossing.
func TestFingeringsCanBePlayed(t *testing.T) {
	for _, e := range Catalogue() {
		if e.Request.Double != Single || e.Request.Kind != Scale && e.Request.Kind != Arpeggio {
			continue
		}
		ref := e.Reference()
		allBlack := e.Classes&0b101010110101 == 0 // no C D E F G A B
		for _, h := range []Hand{Right, Left} {
			var before *Note
			for i := range ref.Notes {
				n := &ref.Notes[i]
				if !n.Hand.Has(h) {
					continue
				}
				if n.Fingering(h) == 1 && black(n.Key()) && !allBlack {
					t.Fatalf("%s: thumb of the %s hand on %s", ref.Title, h, n.Pitch)
				}
				if before != nil && e.Request.Form != WholeTone {
					if fault := stepFault(before, n, h); fault != "" {
						t.Fatalf("%s, %s hand, %s %d to %s %d: %s", ref.Title, h,
							before.Pitch, before.Fingering(h), n.Pitch, n.Fingering(h), fault)
					}
				}
				before = n
			}
		}
	}
}

func stepFault(from, to *Note, h Hand) string {
	a, b := from.Fingering(h), to.Fingering(h)
	outwards := (to.Key() > from.Key()) == (h == Right)
	crossing := CrossingAt(from, to, h)
	switch {
	case a < 1 || a > 5 || b < 1 || b > 5:
		return "no finger"
	case a == b:
		return "the same finger"
	case outwards && b < a && crossing != ThumbUnder:
		return "a finger passes another that is not the thumb"
	case !outwards && b > a && crossing != FingerOver:
		return "a finger passes another that is not the thumb"
	case crossing != NoCrossing && max(a, b) == 5:
		return "the little finger at a crossing"
	}
	return ""
}

func TestCrossings(t *testing.T) {
	ref := build(t, parsed(t, "C major rh 1 octave"))
	want := map[int]Crossing{2: ThumbUnder, 11: FingerOver} // E to F going up, F to E coming down
	for i := 1; i < len(ref.Notes); i++ {
		if got := CrossingAt(&ref.Notes[i-1], &ref.Notes[i], Right); got != want[i-1] {
			t.Errorf("note %d to %d: %q, want %q", i, i+1, got, want[i-1])
		}
	}
	left := build(t, parsed(t, "C major lh 1 octave"))
	if got := CrossingAt(&left.Notes[4], &left.Notes[5], Left); got != FingerOver {
		t.Errorf("left hand G to A going up: %q, want %q", got, FingerOver)
	}
	if got := CrossingAt(&left.Notes[9], &left.Notes[10], Left); got.String() != "thumb passing under" {
		t.Errorf("left hand A to G coming down: %q, want %q", got, ThumbUnder)
	}
}
