package pupil

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenhand/capture"
	"evenhand/references"
)

// everyKind is one or more requests of every kind, form, motion and distance.
func everyKind(t testing.TB) []*references.Reference {
	t.Helper()
	name := func(s references.Step, alter int8) references.Name { return references.Name{Step: s, Alter: alter} }
	f, p := references.Each(references.Forte), references.Each(references.Piano)
	stacc := references.Each(references.Staccato)
	var refs []*references.Reference
	for _, r := range []references.Request{
		{Tonic: name(references.C, 0), Octaves: 1},
		{Tonic: name(references.B, -1), Octaves: 2, Motion: references.Contrary, Dynamic: p},
		{Tonic: name(references.F, 1), Octaves: 4, Dynamic: f, Touch: stacc, NotesPerBeat: 4},
		{Tonic: name(references.E, -1), Octaves: 2, Hands: references.RightAlone, Dynamic: f},
		{Tonic: name(references.A, 0), Octaves: 2, Form: references.HarmonicMinor, Hands: references.LeftAlone, Dynamic: p},
		{Tonic: name(references.G, 1), Octaves: 2, Form: references.MelodicMinor, BPM: 66},
		{Tonic: name(references.D, 0), Octaves: 3, Apart: references.ThirdApart, Shape: references.SwellUp},
		{Tonic: name(references.G, 0), Octaves: 2, Apart: references.SixthApart},
		{Tonic: name(references.D, 0), Octaves: 2, Form: references.Chromatic, Motion: references.Contrary, Start: references.AnyStart},
		{Tonic: name(references.C, 0), Octaves: 2, Form: references.WholeTone},
		{Tonic: name(references.C, 0), Octaves: 2, Double: references.InThirds, Hands: references.RightAlone},
		{Kind: references.Arpeggio, Tonic: name(references.E, -1), Octaves: 2, Dynamic: f},
		{Kind: references.Arpeggio, Tonic: name(references.G, 0), Form: references.DominantSeventh, Octaves: 3, Inversion: 1},
		{Kind: references.Arpeggio, Tonic: name(references.B, 0), Form: references.DiminishedSeventh, Octaves: 2},
		{Kind: references.BrokenChord, Tonic: name(references.G, 0), Octaves: 1, Hands: references.RightAlone},
		{Kind: references.BrokenChord, Tonic: name(references.G, 0), Octaves: 1, Pattern: references.Alberti, Hands: references.LeftAlone},
		{Kind: references.FiveFinger, Tonic: name(references.D, 0), Octaves: 1},
		{Kind: references.Triads, Tonic: name(references.F, 0), Octaves: 1, Hands: references.LeftAlone},
		{Kind: references.Cadence, Tonic: name(references.C, 0), Form: references.Minor, Octaves: 1},
	} {
		ref, err := r.Reference()
		if err != nil {
			t.Fatal(err)
		}
		refs = append(refs, ref)
	}
	return refs
}

// Every class says of itself what a listener would: the figures are taken from the takes.
func TestClassesAreWhatTheySay(t *testing.T) {
	seen := map[Class]int{}
	used := map[string]bool{}
	for _, c := range Cases(7, 400, everyKind(t)) {
		take, truth := Play(c.Reference, c.Pupil)
		seen[c.Label.Class]++
		used[c.Reference.Title] = true
		if !asLabelled(c, take, &truth) {
			t.Errorf("%s, %s:\n%s", c.Reference.Title, c.Label, truth.Text(c.Reference, take))
		}
		if len(truth.Events) != len(c.Pupil.Faults) {
			t.Errorf("%s, %s: %d faults drawn, %d done", c.Reference.Title, c.Label, len(c.Pupil.Faults), len(truth.Events))
		}
	}
	for _, c := range Classes() {
		if seen[c] < 18 { // 400 in turn over 22 classes
			t.Errorf("%s was drawn %d times of 400", c, seen[c])
		}
	}
	if len(used) < 15 {
		t.Errorf("only %d references were used", len(used))
	}
}

func asLabelled(c Case, take *capture.Take, truth *Truth) bool {
	roles := map[Class]Role{
		WrongNotes: Wrong, ForgotAccidental: Wrong, OctaveSlip: Wrong, MissingNotes: Missing, OneHandAhead: Missing, GaveUp: Missing,
		Grazes: Graze, Corrections: Corrected, Repetition: Repeat, WentBack: Repeat, StartedAgain: GivenUp, FirstTries: Before, OnceMore: After,
	}
	amount := int(c.Label.Amount)
	if c.Label.Class == Mixed {
		return len(truth.Events) >= 1 && truth.Complete
	}
	for _, r := range []Role{Wrong, Missing, Graze, Corrected, Repeat, GivenUp, Before, After} {
		n := truth.Count(r)
		if mine, ok := roles[c.Label.Class]; !ok || mine != r {
			if n != 0 {
				return false
			}
			continue
		}
		if n < amount || slices.Contains([]Class{WrongNotes, Grazes, Corrections, Repetition}, c.Label.Class) && n != amount {
			return false
		}
	}
	if truth.Complete == (c.Label.Class == GaveUp) {
		return false
	}
	apart := slices.Sorted(slices.Values(truth.Apart))
	if got := len(apart) > 0 && apart[len(apart)/2].Abs() > 45*time.Millisecond; got != (c.Label.Class == HandsApart) {
		return false
	}
	switch c.Label.Class {
	case Hurried, Dragged:
		return math.Abs(c.Pupil.Drift) >= 14 && (c.Pupil.Drift > 0) == (c.Label.Class == Hurried)
	case TooSoft, TooLoud:
		return twoLevelsOff(c, take)
	}
	return true
}

// twoLevelsOff reports whether the median velocity is more than two dynamics (13 each) from the one
// asked.
func twoLevelsOff(c Case, take *capture.Take) bool {
	var v []int
	for _, n := range take.Notes {
		v = append(v, int(n.Velocity))
	}
	slices.Sort(v)
	off := float64(v[len(v)/2]) - levels[c.Reference.Notes[0].Dynamic]
	return off < -26 && c.Label.Class == TooSoft || off > 26 && c.Label.Class == TooLoud
}

// The rules for drawn faults, looked up in the score afresh.
func TestDrawnFaultsAreClear(t *testing.T) {
	drawn := 0
	for _, c := range Cases(11, 600, everyKind(t)) {
		ref := c.Reference
		s := read(ref)
		_, truth := Play(ref, c.Pupil)
		shift := 12 * c.Pupil.Octaves.Right
		for i, f := range c.Pupil.Faults {
			e := s.onset[f.At]
			if f.Kind.wholeTake() {
				continue
			}
			drawn++
			if e < 2 || e > s.onsets()-3 {
				t.Errorf("%s, %s: fault at onset %d of %d", ref.Title, c.Label, e, s.onsets())
			}
			for _, g := range c.Pupil.Faults[:i] {
				if d := s.onset[g.At] - e; d > -apartOnsets && d < apartOnsets {
					t.Errorf("%s, %s: faults %d onsets apart", ref.Title, c.Label, d)
				}
			}
			if slices.Contains([]Kind{SemitoneOff, LetterOff, PutRight, GrazedKey}, f.Kind) {
				key := truth.Expected[f.At].Key + f.By
				for n := range ref.Notes {
					if d := s.onset[n] - e; d >= -1 && d <= 1 && ref.Notes[n].Key()+shift == key {
						t.Errorf("%s, %s: key %d hit for note %d is due beside it", ref.Title, c.Label, key, f.At)
					}
				}
				if f.By < -3 || f.By > 3 || f.By == 0 || key < 21 || key > 108 {
					t.Errorf("%s, %s: %d semitones off", ref.Title, c.Label, f.By)
				}
			}
		}
	}
	if drawn < 300 {
		t.Errorf("only %d faults drawn", drawn)
	}
}

func TestMissesNeverMakeAnotherForm(t *testing.T) {
	ref := minor(t)
	pf := prepare(ref, Pupil{})
	for n := range ref.Notes {
		degree := (ref.Notes[n].Key() - 57) % 12
		if by := pf.misses(SemitoneOff, n); degree >= 8 && len(by) > 0 {
			t.Errorf("degree %d of A minor may be missed by %v", degree, by)
		}
	}
	arpeggio, err := references.Request{Kind: references.Arpeggio, Octaves: 2}.Reference()
	if err != nil {
		t.Fatal(err)
	}
	pf = prepare(arpeggio, Pupil{})
	for n := range arpeggio.Notes {
		by := pf.misses(SemitoneOff, n)
		if pc := arpeggio.Notes[n].Pitch.PitchClass(); pc != 0 && (slices.Contains(by, 1) || slices.Contains(by, -1)) {
			t.Errorf("pitch class %d of C major may be missed by %v", pc, by)
		}
		if len(by) == 0 {
			t.Errorf("note %d cannot be missed", n)
		}
	}
}

// Letters beside a note take the key signature: worked out by hand for D major (F sharp, C sharp).
func TestLettersHaveTheKeySignature(t *testing.T) {
	pf := prepare(dMajor(t), Pupil{})
	for n, want := range [][]int{{-1, 2}, {-2, 2}, {-2, 1}, {-1, 2}, {-2, 2}, {-2, 2}, {-2, 1}, {-1, 2}} { // D E F♯ G A B C♯ D
		if d := cmp.Diff(want, pf.letterDistances(n)); d != "" {
			t.Errorf("%s: %s", pf.s.ref.Notes[n].Pitch, d)
		}
	}
}

func TestDrawIsReproducible(t *testing.T) {
	refs := everyKind(t)
	a, b := rand.New(rand.NewPCG(1, 2)), rand.New(rand.NewPCG(1, 2))
	for range 50 {
		ra, pa, la := Draw(a, refs)
		rb, pb, lb := Draw(b, refs)
		if ra != rb || la != lb || !cmp.Equal(pa, pb) {
			t.Fatalf("%s and %s from one seed", la, lb)
		}
		settled := pa.Settled(ra)
		if d := cmp.Diff(pa, settled); d != "" {
			t.Fatalf("%s: a drawn pupil is not settled: %s", la, d)
		}
	}
	if !reflect.DeepEqual(Cases(5, 30, refs), Cases(5, 30, refs)) {
		t.Error("one seed gives two sets of cases")
	}
}

func TestNothingToDrawFrom(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, refs := range [][]*references.Reference{nil, {nil}, {{}}} {
		if ref, _, _ := Draw(rng, refs); ref != nil {
			t.Error("a case without notes")
		}
		if cases := Cases(1, 10, refs); len(cases) != 0 {
			t.Error("cases without notes")
		}
	}
	one := &references.Reference{}
	part(t, one, references.Right, "C4")
	for _, c := range Cases(1, 20, []*references.Reference{one}) {
		if take, _ := Play(one, c.Pupil); len(take.Notes) == 0 || take.End() > time.Minute {
			t.Errorf("%s: %+v", c.Label, take)
		}
	}
}

func TestFreshStartsGoFurtherBackToo(t *testing.T) {
	ref := rightHand(t)
	middle := 0
	for seed := range uint64(60) {
		_, truth := Play(ref, Pupil{Seed: seed, Faults: []Fault{{Kind: Restart, At: Anywhere, To: Anywhere}}})
		for _, e := range truth.Events {
			if e.To > 0 {
				middle++
				if e.From-e.To < 7 {
					t.Errorf("a fresh start %d notes back", e.From-e.To)
				}
			}
		}
	}
	if middle < 5 || middle > 40 {
		t.Errorf("%d of 60 start in the middle", middle)
	}
}
