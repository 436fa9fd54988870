package pupil

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/references"
)

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
