package pupil

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenhand/internal/outside"
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
	if truth.Count(OffRoute) != 0 || truth.Count(Missing) != 0 || len(truth.Jumps) != 0 {
		t.Errorf("%d off the route, %d missing, though the repeat was played after a fresh start", truth.Count(OffRoute), truth.Count(Missing))
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

// The scores of the open data, whatever is in them, are played: all notes but for the few that one stroke
// cannot tell apart, and in a time that a test can wait for.
func TestOpenScoresArePlayed(t *testing.T) {
	if testing.Short() {
		t.Skip("reads long scores")
	}
	root := outside.Data(t)
	n := 0
	for _, pattern := range []string{"nasap/*/*.musicxml", "vienna4x22/*/*.musicxml", "pupils/*/*.mxl"} {
		paths, _ := filepath.Glob(filepath.Join(root, pattern))
		for _, path := range paths {
			ref, _, err := repertoire.Open(path)
			if err != nil {
				t.Error(err)
				continue
			}
			n++
			take, truth := Play(ref, Pupil{Seed: 1})
			if got := truth.Count(Correct); float64(got) < 0.99*float64(len(ref.Notes)) || truth.Count(Wrong) > 0 {
				t.Errorf("%s: %d of %d notes, %d strokes", path, got, len(ref.Notes), len(take.Notes))
			}
			_, truth = Play(ref, Pupil{Seed: 2, Faults: []Fault{{Kind: RepeatLeftOut, At: Anywhere}, {Kind: Leap, At: Anywhere, To: Anywhere}, {Kind: BarAgain, At: Anywhere}, {Kind: Restart, At: Anywhere, To: Anywhere}}})
			if sum := truth.Count(Correct) + truth.Count(Missing) + truth.Count(OffRoute); sum != len(ref.Notes) {
				t.Errorf("%s: %d of %d notes are told", path, sum, len(ref.Notes))
			}
		}
	}
	t.Logf("%d scores played", n)
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
