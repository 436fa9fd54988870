package pupil

import (
	"slices"
	"testing"

	"evenhand/references"
)

// places are the onsets at which the seed may put a fault.
func places(ref *references.Reference, f Fault) []int {
	p := prepare(ref, Pupil{})
	free := make([]bool, p.s.onsets())
	var out []int
	for n := range ref.Notes {
		if e := p.s.onset[n]; p.allowed(f, n) && p.free(free, f, n) && !slices.Contains(out, e) {
			out = append(out, e)
		}
	}
	return out
}

// Where each fault may be, thought out by hand: onsets are counted from 0.
func TestPlacesOfFaults(t *testing.T) {
	line := func(words string) *references.Reference {
		ref := &references.Reference{}
		part(t, ref, references.Right, words)
		return ref
	}
	const (
		up    = "C4 D4 E4 F4 G4 A4 B4 C5 D5"
		turn  = "C4 D4 E4 F4 G4 F4 E4 D4 C4"
		bass  = "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 D4 C4 B3 A3 G3"
		waltz = "C3 E3 G3 E3 C3 E3 G3 E3 C3"
	)
	for _, c := range []struct {
		name string
		ref  *references.Reference
		f    Fault
		want []int
	}{
		{"any inner note can be missed by a semitone or more", line(up), Fault{Kind: SemitoneOff}, []int{2, 3, 4, 5, 6}},
		{"a wait is at any inner onset", line(turn), Fault{Kind: Wait}, []int{2, 3, 4, 5, 6}},
		{"the top is not left out: F F would be a repeated note", line(turn), Fault{Kind: LeftOut}, []int{2, 3, 5, 6}},
		{"nor struck twice", line(turn), Fault{Kind: StruckTwice}, []int{2, 3, 5, 6}},
		{"all but E are between two of one key", line(waltz), Fault{Kind: LeftOut}, []int{3, 5}},
		{"two gone back over, before the turn", line(turn), Fault{Kind: GoBack, Count: 2}, []int{2, 3, 6}},
		{"a fresh start not where C comes next anyway", line("C4 D4 E4 F4 G4 C4 E4 G4 C5 E5"), Fault{Kind: Restart}, []int{5, 6}},
		{"given up with three notes to come, not on C", line("C4 D4 E4 F4 G4 C4 E4 G4 C5 E5"), Fault{Kind: GiveUp}, []int{4, 6}},
		{"nothing to forget", line(up), Fault{Kind: ForgottenAccidental}, nil},
		{"F sharp and C sharp", dMajor(t), Fault{Kind: ForgottenAccidental}, []int{2, 6, 8, 12}},
		{"one hand has none to be ahead of", line(up), Fault{Kind: HandAhead, Count: 1}, nil},
		{"nor an octave to slip from", line(up), Fault{Kind: WrongOctave}, nil},
		{"the other hand is not there", line(up), Fault{Kind: LeftOut, Hand: references.Left}, nil},
	} {
		if got := places(c.ref, c.f); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}

	two := &references.Reference{}
	part(t, two, references.Right, "C5 D5 E5 F5 G5 A5 B5 C6 D6 E6 D6 C6 B5 A5 G5")
	part(t, two, references.Left, bass)
	if got, want := places(two, Fault{Kind: HandAhead, Count: 3}), []int{2, 3, 4, 5, 6, 9, 10}; !slices.Equal(got, want) {
		t.Errorf("a hand gets ahead at %v, want %v", got, want)
	}
	if got, want := places(two, Fault{Kind: WrongOctave, Hand: references.Left}), []int{7, 8, 9, 10}; !slices.Equal(got, want) {
		t.Errorf("the left hand leaves its octave at %v, want %v", got, want)
	}
	for n := range two.Notes { // two octaves lower there is no piano left below the left hand
		two.Notes[n].Pitch.Octave -= 2
	}
	if got := places(two, Fault{Kind: WrongOctave, Hand: references.Left}); got != nil {
		t.Errorf("the left hand leaves the piano at %v", got)
	}
}

// In a chord the other notes say where the one left out was due.
func TestNoteOfAChordLeftOut(t *testing.T) {
	if got, want := places(triads(t), Fault{Kind: LeftOut}), []int{2, 3, 4}; !slices.Equal(got, want) {
		t.Errorf("left out at %v, want %v", got, want)
	}
	if got := places(triads(t), Fault{Kind: Skipped}); got != nil {
		t.Errorf("skipped at %v, between chords that share its notes", got)
	}
}

func TestSettledFaultsKeepTheirDistance(t *testing.T) {
	ref := rightHand(t)
	for seed := range uint64(50) {
		p := Pupil{Seed: seed, Faults: []Fault{{Kind: Wait, At: 14}}}
		for range 8 {
			p.Faults = append(p.Faults, Fault{Kind: SemitoneOff, At: Anywhere})
		}
		var at []int
		for _, f := range p.Settled(ref).Faults {
			at = append(at, f.At)
		}
		if at[0] != 14 {
			t.Errorf("a fault with a place was moved to %d", at[0])
		}
		slices.Sort(at)
		for i := 1; i < len(at); i++ {
			if at[i]-at[i-1] < apartOnsets {
				t.Errorf("faults at %v", at)
			}
		}
		if len(at) < 4 {
			t.Errorf("only %d faults of 9 found room among 29 notes", len(at))
		}
	}
}
