package pupil

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenhand/capture"
	"evenhand/references"
)

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
