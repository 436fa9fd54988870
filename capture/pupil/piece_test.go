package pupil

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/references"
	"evenhand/references/repertoire"
)

// pieces are the built-in scores.
func pieces(t testing.TB) []*references.Reference {
	t.Helper()
	var out []*references.Reference
	for _, s := range repertoire.All() {
		ref, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, ref)
	}
	return out
}

func piece(t testing.TB, title string) *references.Reference {
	t.Helper()
	ref, _, err := repertoire.Open(title)
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// bars gives a reference bars of so many quarters.
func bars(ref *references.Reference, quarters, n int64) *references.Reference {
	for i := range n {
		ref.Bars = append(ref.Bars, references.Bar{
			Number: fmt.Sprint(i + 1), Written: int(i), Pass: 1, Onset: references.Q(i*quarters, 1), Length: references.Q(quarters, 1),
			Meter: references.Meter{Beats: int(quarters), Unit: 4},
		})
	}
	return ref
}

func q(n int64) references.Quarters { return references.Q(n, 1) }

// onsetsIn are the seconds from the first stroke at which the right notes of each onset are struck, one
// for each onset of a piece for one hand.
func onsetsIn(take *capture.Take, truth *Truth) []float64 {
	var out []float64
	for _, e := range truth.Expected {
		if e.Played >= 0 {
			out = append(out, (take.Notes[e.Played].On - take.Notes[0].On).Seconds())
		}
	}
	return out
}

const eight = "C4 D4 E4 F4 G4 F4 E4 D4 C4"

// At 30 half beats are a second; four seconds of rit. with w = 0.5. The tempo at the quarters of the
// curve is 0.921, 0.825, 0.701 (worked by hand: the cube root of 1 - 7x/8), and the time from a to b is
// the integral of its inverse, 12/7 ((1-7a/8)^(2/3) - (1-7b/8)^(2/3)) of the four seconds.
func TestRitIsACubeRoot(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, 0.25: 0.921, 0.5: 0.825, 0.75: 0.701, 1: 0.5} {
		near(t, "tempo", 1/slowing(3, 7, 0.5)(3+4*x), want, 0.0005)
	}
	ref := &references.Reference{}
	part(t, ref, references.Right, eight)
	ref.Marks = []references.Mark{{Kind: references.Ritardando, From: q(1), To: q(3), Hand: references.Both}}
	part := func(x float64) float64 { return 12.0 / 7 * (1 - math.Pow(1-7*x/8, 2.0/3)) * 4 }
	take, truth := Play(ref, Pupil{Exact: true, BPM: 30, Rit: 0.5})
	got := onsetsIn(take, &truth)
	for i, want := range []float64{0, 1, 2, 2 + part(0.25), 2 + part(0.5), 2 + part(0.75), 2 + part(1), 3 + part(1), 4 + part(1)} {
		near(t, fmt.Sprintf("onset %d", i), got[i], want, 1e-4)
	}
	ref.Marks[0].Mild = true
	poco, _ := Play(ref, Pupil{Exact: true, BPM: 30, Rit: 0.5})
	ref.Marks[0].Kind = references.Accelerando
	faster, _ := Play(ref, Pupil{Exact: true, BPM: 30, Rit: 0.5})
	plain, _ := Play(ref, Pupil{Exact: true, BPM: 30, Faults: []Fault{{Kind: PassedRit, At: 4}}})
	if a, b, c, d := faster.Notes[8].On, plain.Notes[8].On, poco.Notes[8].On, take.Notes[8].On; a >= b || b >= c || c >= d {
		t.Errorf("ends at %v hurried, %v plain, %v poco rit., %v rit.", a, b, c, d)
	}
	near(t, "passed over", (plain.Notes[8].On - plain.Notes[0].On).Seconds(), 8, 1e-4)
}

func TestTempoMarksFermatasAndBreaths(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, eight)
	ref.Tempos = []references.TempoMark{
		{Tempo: references.Tempo{BPM: 60, Beat: q(1)}, Printed: true},
		{Onset: q(1), Tempo: references.Tempo{BPM: 80, Beat: q(1)}},                // for playback
		{Onset: q(2), Tempo: references.Tempo{BPM: 60, Beat: q(2)}, Printed: true}, // twice as fast
		{Onset: q(3), Tempo: references.Tempo{BPM: 60, Beat: q(1)}, Printed: true}, // and back
	}
	ref.Marks = []references.Mark{
		{Kind: references.Fermata, From: q(1), To: references.Q(3, 2)}, {Kind: references.Caesura, From: q(3), To: q(3)}, {Kind: references.Breath, From: q(4), To: q(4)},
	}
	take, truth := Play(ref, Pupil{Exact: true, BPM: 60, Fermata: 2})
	// Halves of a second, but for the fermata on the third note (once more), the fast beat (half), the
	// caesura before the seventh (0.5 s) and the breath before the last (0.15 s).
	for i, want := range []float64{0, 0.5, 1, 2, 2.5, 2.75, 3.5, 4, 4.65} {
		near(t, fmt.Sprintf("onset %d", i), onsetsIn(take, &truth)[i], want, 1e-4)
	}
	near(t, "held under the fermata", take.Notes[2].Length().Seconds(), 0.97, 1e-3)
	near(t, "held before the caesura", take.Notes[5].Length().Seconds(), 0.97*0.25, 1e-3)
	take, truth = Play(ref, Pupil{Exact: true, BPM: 60, Fermata: 2, Faults: []Fault{{Kind: PassedFermata, At: 2}}})
	near(t, "after a fermata passed over", onsetsIn(take, &truth)[3], 1.5, 1e-4)
}

func TestPhrasesSwellAndKeepTheirTime(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, cUpDown)
	bars(ref, 2, 8)
	take, truth := Play(ref, Pupil{Exact: true, BPM: 60, Rubato: 20})
	got := onsetsIn(take, &truth)
	near(t, "the second phrase", got[16], 8, 1e-4)
	if first, middle := got[1]-got[0], got[8]-got[7]; first < 1.15*middle {
		t.Errorf("a phrase begins with %.3f s and has %.3f s in its middle", first, middle)
	}
}

func velocities(take *capture.Take) []int {
	var out []int
	for _, n := range take.Notes {
		out = append(out, int(n.Velocity))
	}
	return out
}

func TestHairpinsAndAccents(t *testing.T) {
	const p, f, pp = references.Piano, references.Forte, references.Pianissimo // 45, 84, 32
	for _, c := range []struct {
		name     string
		dynamics []references.Dynamic
		marks    []references.Mark
		want     []int
	}{
		{"none", []references.Dynamic{p, p, p, p, f, f, f, pp, pp}, nil, []int{45, 45, 45, 45, 84, 84, 84, 32, 32}},
		{"to the next dynamic", []references.Dynamic{p, p, p, p, f, f, f, f, f}, []references.Mark{{Kind: references.Crescendo, From: q(0), To: q(2)}}, []int{45, 55, 65, 74, 84, 84, 84, 84, 84}},
		{"to nowhere", []references.Dynamic{p, p, p, p, p, p, p, p, p}, []references.Mark{{Kind: references.Crescendo, From: q(0), To: q(2)}}, []int{45, 50, 54, 59, 63, 63, 63, 63, 63}},
		{"and back", []references.Dynamic{p, p, p, p, p, p, p, p, p}, []references.Mark{{Kind: references.Crescendo, From: q(0), To: q(1)}, {Kind: references.Diminuendo, From: q(1), To: q(2)}}, []int{45, 54, 63, 54, 45, 45, 45, 45, 45}},
		{"down to the next", []references.Dynamic{f, f, f, f, p, p, p, p, p}, []references.Mark{{Kind: references.Diminuendo, From: q(1), To: q(2)}}, []int{84, 84, 84, 65, 45, 45, 45, 45, 45}},
		{"against the next", []references.Dynamic{f, f, p, p, p, p, p, p, p}, []references.Mark{{Kind: references.Crescendo, From: q(0), To: q(1)}}, []int{84, 93, 45, 45, 45, 45, 45, 45, 45}},
		{"poco", []references.Dynamic{p, p, p, p, p, p, p, p, p}, []references.Mark{{Kind: references.Crescendo, From: q(0), To: q(1), Mild: true}}, []int{45, 50, 54, 54, 54, 54, 54, 54, 54}},
		{"to nothing", []references.Dynamic{p, p, p, p, p, p, p, p, p}, []references.Mark{{Kind: references.Diminuendo, From: q(3), To: references.Q(9, 2), Niente: true}}, []int{45, 45, 45, 45, 45, 45, 45, 35, 24}},
	} {
		ref := &references.Reference{Marks: c.marks}
		part(t, ref, references.Right, eight)
		for i := range ref.Marks {
			ref.Marks[i].Hand = references.Both
		}
		for i := range ref.Notes {
			ref.Notes[i].Dynamic = c.dynamics[i]
		}
		take, _ := Play(ref, Pupil{Exact: true})
		if d := cmp.Diff(c.want, velocities(take)); d != "" {
			t.Errorf("%s: %s", c.name, d)
		}
		ref.Notes[4].Accent = true
		if loud, _ := Play(ref, Pupil{Exact: true}); loud.Notes[4].Velocity != take.Notes[4].Velocity+accentBy {
			t.Errorf("%s: an accent has velocity %d", c.name, loud.Notes[4].Velocity)
		}
		flat, truth := Play(ref, Pupil{Exact: true, Faults: []Fault{{Kind: FlatDynamics, At: Anywhere}}})
		if v := velocities(flat); slices.Min(v) != slices.Max(v) || len(truth.Events) != 1 || len(truth.Events[0].Notes) != 9 {
			t.Errorf("%s: flat dynamics are %v", c.name, v)
		}
	}
}

// Ways of playing an ornament on C5 with neighbours D5 and B4, over two seconds.
func TestOrnamentsAreAmongTheUsualWays(t *testing.T) {
	for _, c := range []struct {
		ornament references.Ornament
		ways     []string
	}{
		{references.Mordent, []string{"72 71 72"}},
		{references.InvertedMordent, []string{"72 74 72"}},
		{references.Turn, []string{"74 72 71 72"}},
		{references.InvertedTurn, []string{"71 72 74 72"}},
		{references.DelayedTurn, []string{"72 74 72 71 72"}},
		{references.DelayedInvertedTurn, []string{"72 71 72 74 72"}},
		{references.Schleifer, []string{"72"}},
		{references.Glissando, []string{"72"}},
	} {
		ref := &references.Reference{Beat: q(1)}
		ref.Notes = []references.Note{
			{Length: q(2), Pitch: references.Pitch{Octave: 5}, Hand: references.Right, Ornament: c.ornament, Above: 2, Below: 1},
			{Onset: q(2), Length: q(2), Pitch: references.Pitch{Name: references.Name{Step: references.G}, Octave: 4}, Hand: references.Right},
		}
		take, truth := Play(ref, Pupil{Exact: true, BPM: 60})
		if got := keysOf(take); !slices.Contains(c.ways, strings.TrimSuffix(got, " 67")) {
			t.Errorf("%s: %s", c.ornament, got)
		}
		if truth.Count(Correct) != 2 || truth.Count(Ornament) != len(take.Notes)-2 {
			t.Errorf("%s: %s", c.ornament, letters(truth))
		}
		near(t, c.ornament.String()+" is held until", take.Notes[len(take.Notes)-2].Off.Seconds(), 2.5, 0.1)
		if plain, truth := Play(ref, Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: OrnamentLeftOut, At: 0}}}); len(plain.Notes) != 2 || len(truth.Events) != 1 {
			t.Errorf("%s left out: %s", c.ornament, keysOf(plain))
		}
	}
}

func TestTrills(t *testing.T) {
	starts := map[uint8]int{}
	for seed := range uint64(40) {
		ref := &references.Reference{Beat: q(1), Notes: []references.Note{
			{Length: q(2), Pitch: references.Pitch{Octave: 5}, Hand: references.Right, Ornament: references.Trill, Above: 2, Below: 1},
		}}
		take, truth := Play(ref, Pupil{Seed: seed, Exact: true, BPM: 60})
		n := len(take.Notes)
		// 8 to 11 strokes a second over most of two seconds.
		if n < 13 || n > 22 || take.Notes[n-1].Key != 72 || truth.Count(Correct) != 1 || truth.Count(Ornament) != n-1 {
			t.Fatalf("seed %d: %s", seed, truth.Text(ref, take))
		}
		for i := 1; i < n; i++ {
			if take.Notes[i].Key+take.Notes[i-1].Key != 72+74 {
				t.Fatalf("seed %d: %s", seed, keysOf(take))
			}
		}
		starts[take.Notes[0].Key]++
	}
	if starts[72] < 8 || starts[74] < 8 {
		t.Errorf("trills start on %v", starts)
	}
}

func TestGraceNotes(t *testing.T) {
	for _, c := range []struct {
		grace  references.Grace
		before bool // always before the beat
		long   bool // may take half the note
	}{{references.Acciaccatura, false, false}, {references.AfterGrace, true, false}, {references.Appoggiatura, false, true}} {
		ref := &references.Reference{}
		part(t, ref, references.Right, "C4 E4 G4 C5")
		main := ref.Notes[2]
		grace := main
		grace.Pitch, grace.Grace, grace.GraceOrder, grace.Length = ref.Notes[3].Pitch.Up(-1, -1), c.grace, 1, references.Quarters{}
		ref.Notes = append(ref.Notes, grace)
		ref.Sort()
		before, half := 0, 0
		for seed := range uint64(60) {
			take, truth := Play(ref, Pupil{Seed: seed, Exact: true, BPM: 60})
			if truth.Count(Correct) != 5 || keysOf(take) != "60 64 71 67 72" {
				t.Fatalf("%s: %s", c.grace, truth.Text(ref, take))
			}
			on, to := take.Notes[2].On.Seconds(), take.Notes[3].On.Seconds()
			switch {
			case on < 1.499 && math.Abs(to-1.5) < 1e-3:
				before++
			case math.Abs(on-1.5) > 1e-3:
				t.Errorf("%s at %.3f, its note at %.3f", c.grace, on, to)
			case to-on > 0.2:
				half++
			}
		}
		if c.before != (before == 60) || before < 10 || c.long != (half > 20) && half != 0 {
			t.Errorf("%s: %d before the beat, %d of half the note", c.grace, before, half)
		}
	}
}

func TestRolledChords(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, "E4+G4+C5 D4")
	part(t, ref, references.Left, "C3+G3 D3")
	for i := range ref.Notes[:5] {
		ref.Notes[i].Rolled = true
	}
	together := 0
	for seed := range uint64(40) {
		take, truth := Play(ref, Pupil{Seed: seed, Exact: true, BPM: 40})
		if truth.Count(Correct) != 7 {
			t.Fatal(truth.Text(ref, take))
		}
		on := map[uint8]time.Duration{}
		for _, n := range take.Notes {
			on[n.Key] = n.On
		}
		if on[48] >= on[55] || on[64] >= on[67] || on[67] >= on[72] {
			t.Fatalf("seed %d is not rolled upwards: %s", seed, truth.Text(ref, take))
		}
		if on[64] < on[55] {
			together++
		}
	}
	if together == 0 || together == 40 {
		t.Errorf("hands roll together in %d of 40", together)
	}
}

func TestPedalIsChangedWhereMarked(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, cUpDown)
	ref.Pedals = []references.Pedalling{{From: q(0), To: q(2)}, {From: q(2), To: q(4)}, {From: q(6), To: q(7)}, {From: q(13), To: q(16)}}
	take, _ := Play(ref, Pupil{Exact: true, BPM: 60, Lead: time.Second})
	var got []string
	for _, p := range take.Pedals {
		got = append(got, fmt.Sprintf("%.2f:%d", p.At.Seconds(), p.Value))
	}
	// Down just after the note; up with the next harmony and down once it sounds. The last one goes up
	// with the last note.
	want := "1.05:127 3.00:0 3.12:127 5.00:0 7.05:127 8.00:0 14.05:127 " + fmt.Sprintf("%.2f:0", take.End().Seconds())
	if d := cmp.Diff(want, strings.Join(got, " ")); d != "" {
		t.Error(d)
	}
	if without, _ := Play(ref, Pupil{Exact: true, BPM: 60, Pedal: PedalLeftOut}); len(without.Pedals) > 0 {
		t.Error("pedal left out is pressed")
	}
	back, _ := Play(ref, Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: Restart, At: 6, To: 0, Pause: time.Second}}})
	if n := len(back.Pedals); n != len(take.Pedals)+4 {
		t.Errorf("%d pedals with a fresh start, %d without", n, len(take.Pedals))
	}
}

func TestFaultsOfPieces(t *testing.T) {
	repeat := func() *references.Reference { // bars of two notes; the first two are repeated
		ref := &references.Reference{}
		part(t, ref, references.Right, "C4 D4 E4 F4 C4 D4 E4 F4 G4 A4 B4 C5 D5 E5")
		bars(ref, 1, 7)
		ref.Jumps = []references.Jump{{From: 2, To: 4}}
		return ref
	}
	for _, c := range []struct {
		fault Fault
		roles string
		keys  string
	}{
		{Fault{Kind: RepeatLeftOut, At: Anywhere}, "..........~~~~", "60 62 64 65 67 69 71 72 74 76"},
		{Fault{Kind: RepeatLeftOut, At: 3}, "..........~~~~", "60 62 64 65 67 69 71 72 74 76"},
		{Fault{Kind: RepeatLeftOut, At: 4}, "..............", "60 62 64 65 60 62 64 65 67 69 71 72 74 76"},
		{Fault{Kind: Leap, At: 5, To: 10}, "..........----", "60 62 64 65 60 62 71 72 74 76"},
		{Fault{Kind: Leap, At: 5, To: 3}, "..............", "60 62 64 65 60 62 64 65 67 69 71 72 74 76"},
		{Fault{Kind: BarAgain, At: 8}, "........rr......", "60 62 64 65 60 62 64 65 67 69 67 69 71 72 74 76"},
		{Fault{Kind: Restart, At: 9, To: 6}, "......xxxx........", "60 62 64 65 60 62 64 65 67 69 64 65 67 69 71 72 74 76"},
	} {
		ref := repeat()
		take, truth := Play(ref, Pupil{Exact: true, Faults: []Fault{c.fault}})
		roles := letters(truth) + strings.Repeat("~", truth.Count(OffRoute))
		if roles != c.roles || keysOf(take) != c.keys {
			t.Errorf("%s at %d: %s %s, want %s %s", c.fault.Kind, c.fault.At, roles, keysOf(take), c.roles, c.keys)
		}
		if left := c.fault.Kind == RepeatLeftOut && truth.Count(OffRoute) > 0; left != (len(truth.Jumps) == 1) {
			t.Errorf("%s: jumps %v", c.fault.Kind, truth.Jumps)
		}
		if len(truth.Events) == 1 && c.fault.Kind.leaps() {
			gap := take.Notes[truth.Events[0].From+1].On - take.Notes[truth.Events[0].From].On
			near(t, "time over the leap", gap.Seconds(), 60.0/72/2, 1e-4)
		}
	}
	// A fresh start before a repeat that was left out: the truth is what was played at last.
	_, truth := Play(repeat(), Pupil{Exact: true, Faults: []Fault{{Kind: RepeatLeftOut, At: 3}, {Kind: Restart, At: 10, To: 2}}})
	if truth.Count(OffRoute) != 0 || truth.Count(Missing) != 0 {
		t.Errorf("%d off the route, %d missing, though the repeat was played after a fresh start", truth.Count(OffRoute), truth.Count(Missing))
	}
}

func TestRhythmMisplayed(t *testing.T) {
	even := &references.Reference{}
	part(t, even, references.Right, eight)
	for i := range even.Notes {
		even.Notes[i].Beat = 1 + float64(i)/2
	}
	take, truth := Play(even, Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: EvenSwung, At: Anywhere, Ratio: 2}}})
	got := onsetsIn(take, &truth)
	for i, on := range got {
		want := float64(i) / 2
		if i%2 == 1 {
			want += 1.0 / 6
		}
		near(t, fmt.Sprintf("swung onset %d", i), on, want, 1e-4)
	}
	if len(truth.Events) != 1 || len(truth.Events[0].Notes) != 4 {
		t.Errorf("events %+v", truth.Events)
	}
	dotted := &references.Reference{}
	part(t, dotted, references.Right, "C4 - - D4 E4 - - F4 G4")
	for i := range dotted.Notes {
		n := &dotted.Notes[i]
		n.Onset = n.Onset.Times(1, 2) // in quarters: 0, 3/4, 1, 7/4, 2
		n.Length = references.Q(1, 4)
		n.Beat = 1 + n.Onset.Float()
	}
	take, truth = Play(dotted, Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: DottedSlack, At: Anywhere}}})
	for i, want := range []float64{0, 2.0 / 3, 1, 5.0 / 3, 2} {
		near(t, fmt.Sprintf("slack onset %d", i), onsetsIn(take, &truth)[i], want, 1e-4)
	}
	if _, truth := Play(even, Pupil{Faults: []Fault{{Kind: DottedSlack, At: Anywhere}}}); len(truth.Events) > 0 {
		t.Error("there is no dotted rhythm to play slack")
	}
	even.Marks = []references.Mark{{Kind: references.Swing}}
	take, truth = Play(even, Pupil{Exact: true, BPM: 60})
	near(t, "swung as the score has it", onsetsIn(take, &truth)[1], usualSwing/(1+usualSwing), 1e-4)
}

func TestLengthsAndLateHands(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, "C4 - D4 E4 F4 G4 A4 B4 C5")
	part(t, ref, references.Left, "C3 D3 E3 F3 G3 A3 B3 C4 D4")
	play := func(f Fault) (*capture.Take, Truth, *capture.Take, Truth) {
		clean, was := Play(ref, Pupil{Exact: true, BPM: 60})
		take, truth := Play(ref, Pupil{Exact: true, BPM: 60, Faults: []Fault{f}})
		return clean, was, take, truth
	}
	right := slices.IndexFunc(ref.Notes, func(n references.Note) bool { return n.Hand == references.Right })
	clean, was, take, truth := play(Fault{Kind: RestFilled, At: right})
	near(t, "a note held through a rest", take.Notes[truth.Expected[right].Played].Length().Seconds(), 0.97, 1e-3)
	near(t, "the note as written", clean.Notes[was.Expected[right].Played].Length().Seconds(), 0.97/2, 1e-3)
	if _, _, _, truth := play(Fault{Kind: RestFilled, At: len(ref.Notes) - 3}); len(truth.Events) > 0 {
		t.Error("a rest is filled where there is none")
	}
	left := ref.Events()[2]
	for _, f := range []Fault{{Kind: HandLate, At: left, Count: 3, Pause: 100 * time.Millisecond}, {Kind: CutShort, At: left, Count: 3, Ratio: 0.3}} {
		clean, was, take, truth := play(f)
		changed := 0
		for n := range ref.Notes {
			a, b := clean.Notes[was.Expected[n].Played], take.Notes[truth.Expected[n].Played]
			switch late := b.On - a.On; {
			case late != 0 && (f.Kind != HandLate || late != f.Pause):
				t.Errorf("%s: note %d is late by %v", f.Kind, n, late)
			case late != 0, f.Kind == CutShort && b.Length().Seconds() < 0.31*a.Length().Seconds():
				changed++
			}
		}
		if changed != 3 || len(truth.Events) != 1 || len(truth.Events[0].Notes) != 3 {
			t.Errorf("%s: %d notes changed, %+v", f.Kind, changed, truth.Events)
		}
	}
}

// Every fault that a piece has room for is done where the seed puts it, and told.
func TestEveryFaultOfPiecesFindsAPlace(t *testing.T) {
	done := map[Kind]int{}
	for _, ref := range pieces(t) {
		for k := range Kind(kinds) {
			for seed := range uint64(5) {
				take, truth := Play(ref, Pupil{Seed: seed, Faults: []Fault{{Kind: k, At: Anywhere, To: Anywhere}}})
				done[k] += len(truth.Events)
				if len(truth.Events) > 1 || len(truth.Events) == 1 && truth.Events[0].Kind != k {
					t.Errorf("%s, %s: %+v", ref.Title, k, truth.Events)
				}
				if k == RepeatLeftOut && len(ref.Jumps) > 0 && (len(truth.Jumps) != 1 || truth.Count(OffRoute) == 0) {
					t.Errorf("%s: no repeat is left out of %d notes", ref.Title, len(take.Notes))
				}
			}
		}
	}
	for k := range Kind(kinds) {
		if done[k] == 0 {
			t.Errorf("%s was never done", k)
		}
	}
}

func TestPieceCasesAreAsLabelled(t *testing.T) {
	refs := pieces(t)
	n := len(Classes()) + len(PieceClasses())
	drawn := map[Class]int{}
	for _, c := range PieceCases(1, 4*n, refs) {
		drawn[c.Label.Class]++
		take, truth := Play(c.Reference, c.Pupil)
		if c.Label.Class < classes {
			if !asLabelled(c, take, &truth) {
				t.Errorf("%s, %s:\n%s", c.Reference.Title, c.Label, truth.Text(c.Reference, take))
			}
			continue
		}
		kind := oneOf[c.Label.Class]
		if many := manyOf[c.Label.Class]; len(many) > 0 {
			kind = many[0]
		}
		if len(truth.Events) != int(c.Label.Amount) || truth.Count(Wrong) > 0 || !truth.Complete {
			t.Errorf("%s, %s: %+v", c.Reference.Title, c.Label, truth.Events)
		}
		for _, e := range truth.Events {
			if e.Kind != kind || len(e.Notes) == 0 {
				t.Errorf("%s, %s: %s of %d notes", c.Reference.Title, c.Label, e.Kind, len(e.Notes))
			}
		}
		for role, class := range map[Role]Class{Missing: LeaptOver, OffRoute: RepeatNotPlayed, Repeat: OverABarAgain} {
			if (truth.Count(role) > 0) != (c.Label.Class == class) {
				t.Errorf("%s, %s: %d are %s", c.Reference.Title, c.Label, truth.Count(role), role)
			}
		}
	}
	for c := range allClasses {
		// Too soft and too loud need one dynamic throughout, which these scores do not have.
		if drawn[c] == 0 && c != TooSoft && c != TooLoud {
			t.Errorf("%s was never drawn", c)
		}
	}
}

// Whatever a pupil is told to do with a piece, the take is one a piano could send and the truth covers
// it; and the same pupil plays the same take.
func TestTruthCoversPieces(t *testing.T) {
	refs := pieces(t)
	rapid.Check(t, func(t *rapid.T) {
		ref := refs[rapid.IntRange(0, len(refs)-1).Draw(t, "ref")]
		p := drawnPupil(t, ref)
		p.Rubato, p.Rit, p.Fermata = rapid.Float64Range(-100, 100).Draw(t, "rubato"), rapid.Float64Range(-1, 2).Draw(t, "rit"), rapid.Float64Range(0, 5).Draw(t, "fermata")
		for i := range p.Faults {
			p.Faults[i].Ratio = rapid.Float64Range(-1, 30).Draw(t, "ratio")
		}
		take, truth := Play(ref, p)
		checkTake(t, take)
		checkTruth(t, ref, take, &truth)
		again, _ := Play(ref, p)
		if d := cmp.Diff(take, again); d != "" {
			t.Fatal(d)
		}
	})
}

// Played with no fault, nothing is wrong, missing or extra but for ornaments, and what the score asks for
// can be heard.
func TestPiecesAsWritten(t *testing.T) {
	for _, ref := range pieces(t) {
		for seed := range uint64(10) {
			take, truth := Play(ref, Pupil{Seed: seed})
			if truth.Count(Correct) != len(ref.Notes) || len(take.Notes) != len(ref.Notes)+truth.Count(Ornament) || !truth.Complete || len(truth.Events) > 0 {
				t.Errorf("%s: %d of %d correct", ref.Title, truth.Count(Correct), len(ref.Notes))
			}
		}
	}
}

func TestGoldenPiece(t *testing.T) {
	ref := piece(t, "Clockmaker's Dance")
	p := Pupil{Seed: 4, Faults: []Fault{
		{Kind: RepeatLeftOut, At: Anywhere}, {Kind: SemitoneOff, At: Anywhere}, {Kind: BarAgain, At: Anywhere}, {Kind: OrnamentLeftOut, At: Anywhere},
	}}
	take, truth := Play(ref, p)
	file := filepath.Join("testdata", "dance.txt")
	got := truth.Text(ref, take)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Error(d)
	}
}
